"""Bringing a database to the newest schema; a migration and the mark that it happened share one transaction."""

from __future__ import annotations

import sqlite3
from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, inspect, text
from sqlalchemy.exc import DatabaseError

from weftglass.errors import CabinetError

APPLICATION_ID = 0x57654731
"""Marks a SQLite file as a collection of ours ("WeG1")."""


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")))
    config.set_main_option("path_separator", "os")
    return config


@cache
def _revisions() -> tuple[str, ...]:
    """All schema revisions, the newest first."""
    return tuple(script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions())


def bring_up_to_date(engine: Engine, name: str) -> None:
    """
    Create the tables or migrate them to the newest schema.

    Raises
    ------
    CabinetError
        If the file is no collection, is damaged, or was made by a newer program.
    """
    try:
        stored = _stored_revision(engine, name)
        if stored == _revisions()[0]:
            return
        config = _config()
        with engine.execution_options(writes=True).connect() as connection:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
    except (DatabaseError, sqlite3.DatabaseError) as fault:
        reason = str(getattr(fault, "orig", fault))
        raise CabinetError(f"{name} cannot be opened as a collection: {reason}. Nothing was changed.") from fault


def _stored_revision(engine: Engine, name: str) -> str | None:
    with engine.connect() as connection:
        tables = set(inspect(connection).get_table_names())
        if not tables:
            return None
        if "alembic_version" not in tables or "piece" not in tables or not _is_ours(engine, connection):
            raise CabinetError(f"{name} is a database of another program, not a collection. Nothing was changed.")
        revision = str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one())
    if revision not in _revisions():
        raise CabinetError(
            f"{name} was made by a newer version of weftglass (schema {revision}, this one knows {_revisions()[0]}). "
            "Nothing was changed; open it with the newer version."
        )
    return revision


def _is_ours(engine: Engine, connection: object) -> bool:
    if engine.dialect.name != "sqlite":
        return True
    from_file = connection.exec_driver_sql("PRAGMA application_id").scalar_one()  # type: ignore[attr-defined]
    return bool(from_file == APPLICATION_ID)

"""Opening the database: settings of every connection, and transactions that begin where the code says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url

BUSY_MS = 10_000


def engine_of(place: Path | str) -> Engine:
    """
    An engine for a SQLite file, or for a database by its URL.

    Parameters
    ----------
    place : Path or str
        A path means SQLite; text is a SQLAlchemy URL (PostgreSQL needs the ``postgres`` extra).

    Notes
    -----
    SQLite: write-ahead log, foreign keys on, ``synchronous=FULL``, so that what was confirmed survives a killed
    process and a power cut. Python's driver would begin transactions by itself, late and not for schema changes;
    that is switched off and ``BEGIN`` sent where SQLAlchemy begins (immediate for writers, see `Cabinet`).
    """
    url = URL.create("sqlite", database=str(place)) if isinstance(place, Path) else make_url(place)
    engine = create_engine(url)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up)
        event.listen(engine, "begin", _begin)
    return engine


def _set_up(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for setting in ("busy_timeout=" + str(BUSY_MS), "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {setting}")


def _begin(connection: Connection) -> None:
    how = "BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN"
    connection.exec_driver_sql(how)

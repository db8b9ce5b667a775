"""The schema: made once, the same as the code's, and never forced on another program's file."""

from __future__ import annotations

import io
import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import create_engine, event
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from weftglass.cabinet import Cabinet
from weftglass.cabinet.cabinet import FILE_NAME
from weftglass.cabinet.engine import engine_of
from weftglass.cabinet.migrating import bring_up_to_date
from weftglass.cabinet.migrations.versions import v0001_first
from weftglass.cabinet.schema import Base
from weftglass.errors import CabinetError


def test_migrated_schema_is_the_one_the_code_uses(cabinet: Cabinet) -> None:
    """No table, column or index differs between the migrations and the row classes (the table of words aside)."""
    engine = create_engine(f"sqlite:///{cabinet.folder / FILE_NAME}")
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "include_name": _not_words})
        assert compare_metadata(context, Base.metadata) == []
    engine.dispose()


def _not_words(name: str | None, kind: str, _parents: object) -> bool:
    return kind != "table" or not str(name).startswith("piece_words")


def test_schema_compiles_for_postgresql() -> None:
    """Tables and the migration itself can be written for PostgreSQL."""
    for table in Base.metadata.tables.values():
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=postgresql.dialect()))  # type: ignore[no-untyped-call]
    written = io.StringIO()
    options = {"as_sql": True, "output_buffer": written}
    context = MigrationContext.configure(dialect_name="postgresql", opts=options)
    with Operations.context(context):
        v0001_first.upgrade()
    said = written.getvalue()
    assert "to_tsvector" in said
    assert "fts5" not in said
    assert "DEFERRABLE INITIALLY DEFERRED" in said


def test_migration_leaves_nothing_when_it_breaks_off(tmp_path: Path) -> None:
    """A migration and its mark share one transaction: after a failure the file is as empty as before."""
    engine = engine_of(tmp_path / "c.sqlite")
    run: list[str] = []

    def pull_the_plug(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        run.append(statement)
        if "CREATE TABLE latest_answer" in statement:
            raise ZeroDivisionError

    event.listen(engine, "before_cursor_execute", pull_the_plug)
    with pytest.raises(ZeroDivisionError):
        bring_up_to_date(engine, "c.sqlite")
    engine.dispose()
    assert sum("CREATE TABLE" in statement for statement in run) > 5
    assert sqlite3.connect(tmp_path / "c.sqlite").execute("SELECT name FROM sqlite_master").fetchall() == []


def test_opening_again_changes_nothing(tmp_path: Path) -> None:
    """A collection at the newest schema is left as it is."""
    Cabinet.open(tmp_path).close()
    before = (tmp_path / FILE_NAME).read_bytes()
    Cabinet.open(tmp_path).close()
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_newer_schema_is_refused(tmp_path: Path) -> None:
    """A collection from a newer program is not touched."""
    Cabinet.open(tmp_path).close()
    raw = sqlite3.connect(tmp_path / FILE_NAME)
    raw.execute("UPDATE alembic_version SET version_num = '9999'")
    raw.commit()
    raw.close()
    before = (tmp_path / FILE_NAME).read_bytes()
    with pytest.raises(CabinetError, match="newer version"):
        Cabinet.open(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == before


def test_database_of_another_program_is_refused_and_left_alone(tmp_path: Path) -> None:
    """A SQLite file with other tables keeps every byte."""
    raw = sqlite3.connect(tmp_path / FILE_NAME)
    raw.execute("CREATE TABLE piece (name TEXT)")
    raw.commit()
    raw.close()
    before = (tmp_path / FILE_NAME).read_bytes()
    with pytest.raises(CabinetError, match="another program"):
        Cabinet.open(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == before


@pytest.mark.parametrize("content", [b"not a database at all, only words " * 40, b"SQLite format 3\0" + b"\xff" * 2000])
def test_file_that_is_no_database_is_refused(tmp_path: Path, content: bytes) -> None:
    """One sentence, no traceback of the driver's, no change."""
    (tmp_path / FILE_NAME).write_bytes(content)
    with pytest.raises(CabinetError, match="cannot be opened as a collection"):
        Cabinet.open(tmp_path)
    assert (tmp_path / FILE_NAME).read_bytes() == content


def test_missing_collection_is_not_made_unasked(tmp_path: Path) -> None:
    """A mistyped path does not leave an empty collection behind."""
    with pytest.raises(CabinetError, match="holds no collection"):
        Cabinet.open(tmp_path / "typo", create=False)
    assert not (tmp_path / "typo").exists()


def test_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    """A path that cannot be a folder is said so."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(CabinetError, match="cannot be used"):
        Cabinet.open(tmp_path / "file")

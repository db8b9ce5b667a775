"""One collection's store: reading it, and changing it so that a change and its history entry share one transaction."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Engine, func, select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from weftglass.cabinet.engine import engine_of
from weftglass.cabinet.listing import LatestAnswer
from weftglass.cabinet.mapping import BY_KIND, BY_RECORD, piece_of
from weftglass.cabinet.migrating import bring_up_to_date
from weftglass.cabinet.photo_files import PhotoFiles
from weftglass.cabinet.schema import AnswerRow, ChangeRow, RecordRow
from weftglass.cabinet.search import index_piece, pieces_with
from weftglass.errors import CabinetError, ChangedMeanwhile, InputError
from weftglass.records import Change, Record

R = TypeVar("R", bound=Record)
FILE_NAME = "collection.sqlite"
NEXT_NUMBER = "SELECT setval(pg_get_serial_sequence('change', 'number'), (SELECT max(number) FROM change))"
Clock = Callable[[], datetime]


def now_utc() -> datetime:
    """The time of day, in UTC."""
    return datetime.now(UTC)


class Reader:
    """What is stored, seen at one moment."""

    def __init__(self, session: Session) -> None:
        self.session = session

    def find(self, kind: type[R], record_id: str) -> R | None:
        """A record by its id; None where there is none. Withdrawn ones are found too."""
        mapper = BY_RECORD[kind]
        row = self.session.get(mapper.row, record_id)
        return None if row is None else mapper.record_of(row)

    def get(self, kind: type[R], record_id: str) -> R:
        """A record by its id; an `InputError` where there is none."""
        record = self.find(kind, record_id)
        if record is None:
            raise InputError("collection", kind.KIND, record_id, f"the id of a {kind.KIND} in this collection")
        return record

    def all_of(self, kind: type[R], *, piece: str | None = None, withdrawn: bool = False) -> list[R]:
        """All records of a kind, of one piece or of all, oldest first; withdrawn ones only when asked for."""
        mapper = BY_RECORD[kind]
        query = select(mapper.row).order_by(mapper.row.created_at, mapper.row.id)
        if piece is not None:
            query = query.where(mapper.row.piece_id == piece)  # type: ignore[attr-defined]
        if not withdrawn:
            query = query.where(~mapper.row.withdrawn)
        return [mapper.record_of(row) for row in self.session.scalars(query)]

    def count(self, kind: type[Record]) -> int:
        """How many records of a kind stand."""
        row = BY_RECORD[kind].row
        return self.session.scalar(select(func.count()).select_from(row).where(~row.withdrawn)) or 0

    def ids_of(self, kind: type[Record]) -> list[str]:
        """Ids of all records of a kind, withdrawn ones too."""
        return list(self.session.scalars(select(BY_RECORD[kind].row.id).order_by(BY_RECORD[kind].row.id)))

    def history(self, *, piece: str | None = None, kind: str | None = None, record: str | None = None) -> list[Change]:
        """History entries, oldest first."""
        query = select(ChangeRow).order_by(ChangeRow.number)
        for column, value in ((ChangeRow.piece, piece), (ChangeRow.kind, kind), (ChangeRow.record, record)):
            if value is not None:
                query = query.where(column == value)
        return [_change_of(row) for row in self.session.scalars(query)]

    def change(self, number: int) -> Change:
        """One history entry."""
        row = self.session.get(ChangeRow, number)
        if row is None:
            raise InputError("history", "number", number, "the number of a change in this collection")
        return _change_of(row)

    def pieces_with(self, query: str) -> set[str]:
        """Ids of the pieces that have all words of a query."""
        return pieces_with(self.session, query)


class Draft(Reader):
    """Changes that are going to be saved together."""

    def __init__(self, session: Session, who: str, at: datetime) -> None:
        super().__init__(session)
        self.who = who
        self.at = at
        self._touched: set[str] = set()
        self._numbers_taken_over = False

    def put(self, record: R, deed: str = "") -> R:
        """
        Save a record and its history entry.

        Parameters
        ----------
        record : Record
            New (version 0), or as read, with some fields changed.
        deed : str
            For the history; default "added" or "changed".

        Returns
        -------
        Record
            As stored: with its new version and times.

        Raises
        ------
        ChangedMeanwhile
            If the stored version is not the one that was read.
        """
        mapper = BY_RECORD[type(record)]
        row = self.session.get(mapper.row, record.id, with_for_update=True)  # on a server: nobody else until saved
        stored_version = 0 if row is None else row.version
        if record.version != stored_version:
            raise ChangedMeanwhile(f"{record.KIND} {record.id}", record.version, stored_version)
        before = None if row is None else mapper.record_of(row)
        made = self.at if before is None else before.created_at
        if before is not None and replace(record, created_at=made, changed_at=before.changed_at) == before:
            return record
        stored = replace(record, version=stored_version + 1, created_at=made, changed_at=self.at)
        self._write(mapper.columns_of(stored), mapper.row, row)
        deed = deed or ("added" if before is None else "changed")
        piece = piece_of(stored)
        self.session.add(
            ChangeRow(
                at=self.at, who=self.who, deed=deed, kind=record.KIND, record=record.id, piece=piece,
                before=None if before is None else mapper.text_of(before), after=mapper.text_of(stored),
            )
        )  # fmt: skip
        self.session.flush()
        self._touched.add(piece)
        return stored

    def take_over(self, record: Record) -> None:
        """Store a record exactly as it is, its history coming from elsewhere (see `take_over_change`)."""
        mapper = BY_RECORD[type(record)]
        self._write(mapper.columns_of(record), mapper.row, None)
        self._touched.add(piece_of(record))

    def take_over_change(self, change: Change) -> None:
        """Store a history entry exactly as it is."""
        self.session.add(ChangeRow(**vars(change)))
        self._numbers_taken_over = True

    def next_id(self, kind: type[Record], base: str) -> str:
        """An id that no record of this kind has: the base itself if free, else with a number from 2."""
        free = self.session.get(BY_RECORD[kind].row, base) is None
        return base if free else self.numbered_id(kind, base, 2)

    def numbered_id(self, kind: type[Record], base: str, number: int = 1) -> str:
        """An id that no record of this kind has: the base with the first free number."""
        while self.session.get(BY_RECORD[kind].row, f"{base}-{number}") is not None:
            number += 1
        return f"{base}-{number}"

    def keep_answer(self, answer: LatestAnswer) -> None:
        """Keep the latest answer about a piece in brief."""
        self.session.merge(AnswerRow(**vars(answer)))

    def finish(self) -> None:
        """Bring the search up to date with what changed."""
        self.session.flush()
        for piece in sorted(self._touched - {""}):
            index_piece(self.session, piece)
        if self._numbers_taken_over and self.session.get_bind().dialect.name == "postgresql":
            self.session.execute(text(NEXT_NUMBER))

    def _write(self, columns: dict[str, Any], kind: type[RecordRow], row: RecordRow | None) -> None:
        if row is None:
            self.session.add(kind(**columns))
        else:
            for name, value in columns.items():
                setattr(row, name, value)
        self.session.flush()


class Cabinet:
    """
    The store of one collection; safe to use from several threads.

    Parameters
    ----------
    folder : Path
        The collection's folder.
    engine : Engine
    clock : callable
        Tells the time, in UTC.
    """

    def __init__(self, folder: Path, engine: Engine, clock: Clock = now_utc) -> None:
        self.folder = folder
        self.photos = PhotoFiles(folder)
        self._engine = engine
        self._writes = engine.execution_options(writes=True)
        self._clock = clock
        self._one_writer = threading.Lock()

    @classmethod
    def open(cls, folder: Path, *, create: bool = True, url: str | None = None, clock: Clock = now_utc) -> Cabinet:
        """
        Open a collection's folder, making it where asked, and bring its schema up to date.

        Parameters
        ----------
        folder : Path
        create : bool
            False: a folder without a collection is refused.
        url : str or None
            A database elsewhere (PostgreSQL); the photographs stay in the folder.

        Raises
        ------
        CabinetError
            If the folder cannot be used: no collection, another program's file, a newer schema, no right to write.
        """
        file = folder / FILE_NAME
        if not create and url is None and not file.is_file():
            raise CabinetError(f"{folder} holds no collection: there is no {FILE_NAME} in it.")
        try:
            for place in (folder, folder / "photos", folder / "derived"):
                place.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise CabinetError(f"{folder} cannot be used as a collection: {fault.strerror}.") from fault
        engine = engine_of(file if url is None else url)
        try:
            bring_up_to_date(engine, file.name if url is None else engine.url.render_as_string())
            if engine.dialect.name == "sqlite":
                _keep_write_ahead_log(engine)
        except BaseException:
            engine.dispose()
            raise
        return cls(folder, engine, clock)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Reader]:
        """Look at the collection as it is at this moment."""
        with _clear_errors(), Session(self._engine) as session:
            yield Reader(session)

    @contextmanager
    def writing(self, who: str) -> Iterator[Draft]:
        """
        Change the collection: all of it when the block ends well, nothing of it otherwise.

        When the block is left the changes are on the disk.
        """
        with _clear_errors(), self._one_writer, Session(self._writes) as session, session.begin():
            draft = Draft(session, who, self._clock())
            yield draft
            draft.finish()

    def faults(self) -> list[str]:
        """What the database itself finds wrong: damaged pages, references to nothing."""
        if self._engine.dialect.name != "sqlite":
            return []
        found = []
        with _clear_errors(), self._engine.connect() as connection:
            for (said,) in connection.exec_driver_sql("PRAGMA integrity_check"):
                if said != "ok":
                    found.append(f"The database is damaged: {said}.")
            for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check"):
                found.append(f"A row of {table} (number {row}) refers to a {parent} that is not there.")
        return found

    def back_up(self, target: Path) -> None:
        """
        Copy the whole collection into an empty or new folder while it is in use.

        The database goes by SQLite's own backup, which waits for no writer and takes in no half-written change.
        """
        if self._engine.dialect.name != "sqlite":
            raise CabinetError("A collection on a database server is backed up with the server's own tools.")
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise CabinetError(f"{target} is not an empty folder. Nothing was changed.")
        try:
            shutil.copytree(self.photos.originals, target / "photos", dirs_exist_ok=True)
            (target / "derived").mkdir(exist_ok=True)
            source, copy = sqlite3.connect(self.folder / FILE_NAME), sqlite3.connect(target / FILE_NAME)
            try:
                source.backup(copy)
            finally:
                source.close()
                copy.close()
        except (OSError, sqlite3.Error) as fault:
            raise CabinetError(f"The backup into {target} failed: {fault}.") from fault


def _keep_write_ahead_log(engine: Engine) -> None:
    raw = engine.raw_connection()
    try:
        raw.cursor().execute("PRAGMA journal_mode=WAL")
    finally:
        raw.close()


@contextmanager
def _clear_errors() -> Iterator[None]:
    try:
        yield
    except DatabaseError as fault:
        reason = str(fault.orig).partition("\n")[0].rstrip(".")
        raise CabinetError(f"The collection's database could not be used: {reason}. Nothing was changed.") from fault


def _change_of(row: ChangeRow) -> Change:
    names = ("number", "at", "who", "deed", "kind", "record", "piece", "before", "after")
    return Change(**{name: getattr(row, name) for name in names})


__all__ = ["BY_KIND", "FILE_NAME", "Cabinet", "Draft", "Reader", "now_utc"]

"""Saving: a change and its history entry share one transaction, and nobody overwrites what they have not seen."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text

from weftglass.cabinet import Cabinet
from weftglass.cabinet.cabinet import FILE_NAME
from weftglass.errors import CabinetError, ChangedMeanwhile, InputError
from weftglass.records import Piece, View


def test_saving_gives_version_times_and_history(cabinet: Cabinet) -> None:
    """A new record has version 1; its change is signed and holds what it was."""
    with cabinet.writing("Mira") as draft:
        first = draft.put(Piece(id="p-1", name="Round jar"))
    with cabinet.writing("Tove") as draft:
        second = draft.put(replace(first, name="Round jar with lid"))
    assert (first.version, second.version) == (1, 2)
    assert second.created_at == first.created_at == first.changed_at < second.changed_at
    with cabinet.reading() as reader:
        history = reader.history(piece="p-1")
        assert reader.get(Piece, "p-1") == second
    assert [(c.who, c.deed, c.before is None) for c in history] == [("Mira", "added", True), ("Tove", "changed", False)]
    assert history[1].before == history[0].after


def test_nothing_is_saved_when_the_block_fails(cabinet: Cabinet) -> None:
    """Neither record nor history entry of a transaction that broke off is there."""

    def break_off() -> None:
        with cabinet.writing("Mira") as draft:
            draft.put(Piece(id="p-1", name="Round jar"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    with cabinet.reading() as reader:
        assert reader.find(Piece, "p-1") is None
        assert reader.history() == []
        assert reader.pieces_with("jar") == set()


def test_saving_is_refused_when_the_record_changed_meanwhile(cabinet: Cabinet) -> None:
    """The second of two people who read the same version is told so, and the first one's work stays."""
    with cabinet.writing("Mira") as draft:
        read = draft.put(Piece(id="p-1", name="Round jar"))
    with cabinet.writing("Mira") as draft:
        draft.put(replace(read, maker="Oda"))
    with pytest.raises(ChangedMeanwhile) as caught, cabinet.writing("Tove") as draft:
        draft.put(replace(read, maker="Ilse"))
    assert (caught.value.read_version, caught.value.current_version) == (1, 2)
    with cabinet.reading() as reader:
        assert reader.get(Piece, "p-1").maker == "Oda"


def test_saving_without_a_change_leaves_no_trace(cabinet: Cabinet) -> None:
    """The history holds changes only."""
    with cabinet.writing("Mira") as draft:
        piece = draft.put(Piece(id="p-1", name="Round jar"))
    with cabinet.writing("Mira") as draft:
        assert draft.put(piece) == piece
    with cabinet.reading() as reader:
        assert len(reader.history()) == 1


def test_a_new_record_cannot_take_the_place_of_another(cabinet: Cabinet) -> None:
    """An id in use is a conflict."""
    with cabinet.writing("Mira") as draft:
        draft.put(Piece(id="p-1", name="Round jar"))
    with pytest.raises(ChangedMeanwhile), cabinet.writing("Mira") as draft:
        draft.put(Piece(id="p-1", name="Other jar"))


def test_threads_do_not_lose_each_others_changes(cabinet: Cabinet) -> None:
    """Many writers at once: every piece is there, and so is its history."""

    def write(number: int) -> None:
        for k in range(5):
            with cabinet.writing("Mira") as draft:
                draft.put(Piece(id=f"p-{number}-{k}", name=f"jar {number} {k}"))

    threads = [threading.Thread(target=write, args=(n,)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with cabinet.reading() as reader:
        assert len(reader.all_of(Piece)) == len(reader.history()) == 30


def test_reference_to_nothing_is_refused(cabinet: Cabinet) -> None:
    """Foreign keys are on."""
    with pytest.raises(CabinetError, match="FOREIGN KEY"), cabinet.writing("Mira") as draft:
        draft.put(View(id="v", piece="p-none", photo="f" * 64))


def test_full_disk_is_said_and_changes_nothing(cabinet: Cabinet) -> None:
    """The database refuses to grow: one clear sentence, and what was there stays readable."""
    with cabinet.writing("Mira") as draft:
        draft.put(Piece(id="p-1", name="Round jar"))

    def overfill() -> None:
        with cabinet.writing("Mira") as draft:
            pages = draft.session.execute(text("PRAGMA page_count")).scalar_one()
            draft.session.execute(text(f"PRAGMA max_page_count={pages}"))
            draft.put(Piece(id="p-2", name="Large jar", notes="x" * 100_000))

    with pytest.raises(CabinetError, match="full"):
        overfill()
    with cabinet.reading() as reader:
        assert [piece.id for piece in reader.all_of(Piece)] == ["p-1"]


def test_unknown_id_is_an_input_error(cabinet: Cabinet) -> None:
    """What is not there is the asker's fault, and named."""
    with cabinet.reading() as reader, pytest.raises(InputError, match="p-9"):
        reader.get(Piece, "p-9")


def test_settings_of_the_database(cabinet: Cabinet) -> None:
    """Write-ahead log, foreign keys, and full flushing, so that what was confirmed is on the disk."""
    with cabinet.reading() as reader:
        asked = {name: reader.session.execute(text(f"PRAGMA {name}")).scalar_one() for name in SETTINGS}
    assert asked == SETTINGS


SETTINGS = {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2}


def test_backup_is_a_collection_of_its_own(cabinet: Cabinet, tmp_path: Path) -> None:
    """The copy holds the same records, while the original is open."""
    with cabinet.writing("Mira") as draft:
        piece = draft.put(Piece(id="p-1", name="Round jar"))
    cabinet.back_up(tmp_path / "safe")
    copy = Cabinet.open(tmp_path / "safe", create=False)
    with copy.reading() as reader:
        assert reader.get(Piece, "p-1") == piece
    copy.close()
    with pytest.raises(CabinetError, match="not an empty folder"):
        cabinet.back_up(tmp_path / "safe")


def test_faults_of_the_database_are_named(cabinet: Cabinet) -> None:
    """A row that refers to nothing, put there by another program, is found."""
    assert cabinet.faults() == []
    raw = sqlite3.connect(cabinet.folder / FILE_NAME)
    raw.execute(
        "INSERT INTO latest_answer VALUES ('p-none', 1, 'l', 'e', 'c', NULL, 'n', 0.5, 0.5)",
    )
    raw.commit()
    raw.close()
    assert len(cabinet.faults()) == 1
    assert "latest_answer" in cabinet.faults()[0]

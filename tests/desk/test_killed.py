"""What was confirmed is there, whenever the program is killed."""

from __future__ import annotations

import signal
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from tests.desk.beside import at_work
from tests.desk.conftest import picture
from weftglass.cabinet import PhotoFiles
from weftglass.desk import (
    check_collection,
    create_piece,
    edit_piece,
    get_piece_dossier,
    list_pieces,
    load_new,
    open_collection,
    write_out,
)
from weftglass.errors import CabinetError
from weftglass.records import Photo

try:
    import resource
except ImportError:  # Windows
    resource = None  # type: ignore[assignment]


def write_for_ever(line: Connection, place: Path, photo: bytes) -> None:
    """Add piece after piece, each changed once, and tell the id of each that is there."""
    with open_collection(place) as collection:
        for number in range(10_000):
            # another ending makes another file of it, so that every piece writes a photograph too
            shown = [("a.jpg", photo + number.to_bytes(4))]
            piece = create_piece(collection, f"jar {number}", who="Mira", photos=shown)
            edit_piece(collection, piece.id, {"maker": "Oda"}, who="Mira")
            line.send(piece.id)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="the system has no kill -9")
@pytest.mark.parametrize("confirmed", [1, 7, 20])
def test_every_confirmed_piece_is_there_after_kill(tmp_path: Path, confirmed: int) -> None:
    """Pieces, their second version, their photographs and their history; and the collection is sound."""
    with at_work(write_for_ever, tmp_path / "coast", picture()) as writer:
        said = [writer.heard() for _ in range(confirmed)]
        said += writer.kill()
    assert len(set(said)) >= confirmed
    with open_collection(tmp_path / "coast", create=False) as collection:
        for piece_id in said:
            dossier = get_piece_dossier(collection, piece_id)
            assert (dossier.piece.maker, len(dossier.views), len(dossier.history)) == ("Oda", 1, 3)
        assert [oddity for oddity in check_collection(collection) if oddity.serious] == []


def load_photo_by_photo(line: Connection, place: Path, out: Path) -> None:
    """Load, and after each photograph tell that it is stored and wait to be told to go on."""
    keep = PhotoFiles.keep

    def told(files: PhotoFiles, photo: Photo, content: bytes) -> None:
        keep(files, photo, content)
        line.send("kept")
        line.recv()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(PhotoFiles, "keep", told)
        load_new(place, out)
    line.send("loaded")


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="the system has no kill -9")
@pytest.mark.parametrize("stands", [False, True], ids=["no collection yet", "an empty collection"])
def test_loading_killed_half_way_loads_nothing_and_can_be_done_again(tmp_path: Path, stands: bool) -> None:
    """Killed with one photograph of two stored: there is no piece, and the second time all of it is there."""
    place, out = tmp_path / "coast", tmp_path / "out"
    with open_collection(tmp_path / "old") as old:
        create_piece(old, "jar", who="Mira", photos=[("a.jpg", picture()), ("b.jpg", picture("red"))])
        write_out(old, out)
    if stands:
        open_collection(place).close()
    with at_work(load_photo_by_photo, place, out) as loader:
        assert loader.heard() == "kept"
        assert loader.kill() == []
    assert place.exists() is stands
    if stands:
        with open_collection(place, create=False) as collection:
            assert list_pieces(collection) == []
            assert [oddity for oddity in check_collection(collection) if oddity.serious] == []
    load_new(place, out)
    with open_collection(place, create=False) as collection:
        assert [row.views for row in list_pieces(collection)] == [2]
        assert check_collection(collection) == ()


def on_a_full_disk(line: Connection, task: str, place: Path, other: Path, limit: int) -> None:
    """Load or import where no file may grow beyond a limit, and tell what is said of it."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # a write beyond the limit then fails, as on a full disk
    collection = open_collection(place) if task == "import" else None
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    try:
        if collection is None:
            load_new(place, other)
        else:
            create_piece(collection, "jar", who="Mira", photos=[("a.jpg", other.read_bytes())])
    except CabinetError as fault:
        line.send(str(fault))


@pytest.mark.skipif(resource is None, reason="the system has no limit on the size of files")
@pytest.mark.parametrize("task", ["load", "import"])
def test_full_disk_is_told_in_one_sentence_and_changes_nothing(tmp_path: Path, task: str) -> None:
    """A file that cannot be written to its end is not there, nor is any record of it."""
    place, photo = tmp_path / "coast", tmp_path / "photo.jpg"
    photo.write_bytes(picture())
    with open_collection(tmp_path / "old") as old:
        create_piece(old, "jar", who="Mira", photos=[("a.jpg", photo.read_bytes())])
        write_out(old, tmp_path / "out")
    other = photo if task == "import" else tmp_path / "out"
    with at_work(on_a_full_disk, task, place, other, photo.stat().st_size // 2) as working:
        said = working.heard()
        working.process.join()
        assert working.process.exitcode == 0
    assert "\n" not in said
    assert "Nothing was changed." in said
    if task == "load":
        assert sorted(item.name for item in tmp_path.iterdir()) == ["old", "out", "photo.jpg"]
        return
    with open_collection(place, create=False) as collection:
        assert list_pieces(collection) == []
        assert check_collection(collection) == ()

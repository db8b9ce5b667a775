"""What was confirmed is there, whenever the program is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.desk.conftest import picture
from weftglass.desk import (
    check_collection,
    create_piece,
    get_piece_dossier,
    list_pieces,
    load_new,
    open_collection,
    write_out,
)

WRITER = """
import sys
from pathlib import Path
from weftglass.desk import create_piece, edit_piece, open_collection

photo = Path(sys.argv[2]).read_bytes()
with open_collection(sys.argv[1]) as collection:
    for number in range(10_000):
        # another ending makes another file of it, so that every piece writes a photograph too
        piece = create_piece(collection, f"jar {number}", who="Mira", photos=[("a.jpg", photo + number.to_bytes(4))])
        edit_piece(collection, piece.id, {"maker": "Oda"}, who="Mira")
        print(piece.id, flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="the system has no kill -9")
@pytest.mark.parametrize("confirmed", [1, 7, 20])
def test_every_confirmed_piece_is_there_after_kill(tmp_path: Path, confirmed: int) -> None:
    """Pieces, their second version, their photographs and their history; and the collection is sound."""
    (tmp_path / "photo.jpg").write_bytes(picture())
    command = [sys.executable, "-c", WRITER, str(tmp_path / "coast"), str(tmp_path / "photo.jpg")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        said = [writer.stdout.readline().strip() for _ in range(confirmed)]
        os.kill(writer.pid, signal.SIGKILL)
        said += writer.stdout.read().split()
        writer.wait()
    assert len(set(said)) >= confirmed
    with open_collection(tmp_path / "coast", create=False) as collection:
        for piece_id in said:
            dossier = get_piece_dossier(collection, piece_id)
            assert (dossier.piece.maker, len(dossier.views), len(dossier.history)) == ("Oda", 1, 3)
        assert [oddity for oddity in check_collection(collection) if oddity.serious] == []


LOADER = """
import sys
from weftglass.cabinet import PhotoFiles
from weftglass.desk import load_new

keep = PhotoFiles.keep
def told(files, photo, content):
    keep(files, photo, content)
    print("kept", flush=True)
    sys.stdin.readline()
PhotoFiles.keep = told
load_new(sys.argv[1], sys.argv[2])
print("loaded", flush=True)
"""


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
    command = [sys.executable, "-c", LOADER, str(place), str(out)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as loader:
        assert loader.stdout is not None
        assert loader.stdout.readline() == "kept\n"
        os.kill(loader.pid, signal.SIGKILL)
        loader.wait()
    assert place.exists() is stands
    if stands:
        with open_collection(place, create=False) as collection:
            assert list_pieces(collection) == []
            assert [oddity for oddity in check_collection(collection) if oddity.serious] == []
    load_new(place, out)
    with open_collection(place, create=False) as collection:
        assert [row.views for row in list_pieces(collection)] == [2]
        assert check_collection(collection) == ()


LIMITED = """
import resource, signal, sys
from pathlib import Path
from weftglass.desk import create_piece, load_new, open_collection
from weftglass.errors import CabinetError

task, place, other, limit = sys.argv[1:]
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # a write beyond the limit then fails, as on a full disk
collection = open_collection(place) if task == "import" else None
resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
try:
    if collection is None:
        load_new(place, other)
    else:
        create_piece(collection, "jar", who="Mira", photos=[("a.jpg", Path(other).read_bytes())])
except CabinetError as fault:
    print(fault)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no limit on the size of files")
@pytest.mark.parametrize("task", ["load", "import"])
def test_full_disk_is_told_in_one_sentence_and_changes_nothing(tmp_path: Path, task: str) -> None:
    """A file that cannot be written to its end is not there, nor is any record of it."""
    place, photo = tmp_path / "coast", tmp_path / "photo.jpg"
    photo.write_bytes(picture())
    with open_collection(tmp_path / "old") as old:
        create_piece(old, "jar", who="Mira", photos=[("a.jpg", photo.read_bytes())])
        write_out(old, tmp_path / "out")
    other = photo if task == "import" else tmp_path / "out"
    command = [sys.executable, "-c", LIMITED, task, str(place), str(other), str(photo.stat().st_size // 2)]
    said = subprocess.run(command, capture_output=True, text=True, check=True)
    assert said.stdout.count("\n") == 1
    assert "Nothing was changed." in said.stdout
    if task == "load":
        assert sorted(item.name for item in tmp_path.iterdir()) == ["old", "out", "photo.jpg"]
        return
    with open_collection(place, create=False) as collection:
        assert list_pieces(collection) == []
        assert check_collection(collection) == ()

"""What was confirmed is there, whenever the program is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.desk.conftest import picture
from weftglass.desk import check_collection, get_piece_dossier, open_collection

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

"""Every command that takes a file answers a file it cannot use in one clear sentence, and writes nothing."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from weftglass.cli.main import group, run

BAR = ("--scale-bar", "0,0,0,100,50")
FILES: dict[str, list[str]] = {
    "outline": ["outline", "GIVEN", "--height", "200"],
    "gauge": ["gauge", "GIVEN", *BAR],
    "gauge with a profile": ["gauge", "photo.png", "--edges", "1,5,60,5", "--profile", "GIVEN", "--at", "50"],
    "rollout": ["rollout", "GIVEN", "--height", "200"],
    "inside": ["inside", "GIVEN"],
    "inside with forms": ["inside", "evidence.json", "--forms", "GIVEN"],
    "date": ["date", "GIVEN"],
    "date with forms": ["date", "evidence.json", "--forms", "GIVEN"],
    "forms": ["forms", "--forms", "GIVEN"],
    "letters": ["letters", "H?R", "--forms", "GIVEN"],
    "behind": ["behind", "GIVEN", "--height", "200", "--heights", "60,100", "--out", "letters.png"],
    "tone": ["tone", "GIVEN"],
    "offer with a photograph": ["offer", "shelf", "--take-in", "Quay bottle", "--photo", "GIVEN"],
}
"""Commands with a file to read."""

COLLECTIONS: dict[str, list[str]] = {
    "check": ["check", "GIVEN"],
    "makers": ["makers", "GIVEN"],
    "holdings": ["holdings", "GIVEN"],
    "rarity": ["rarity", "GIVEN"],
    "whereabouts": ["whereabouts", "GIVEN"],
    "wants": ["wants", "GIVEN"],
    "offer": ["offer", "GIVEN", "p"],
    "offers": ["offers", "GIVEN"],
    "values": ["values", "GIVEN"],
    "pocket": ["pocket", "GIVEN", "pocket.html"],
    "catalogue": ["catalogue", "GIVEN"],
    "publish": ["publish", "GIVEN", "catalogue.html"],
    "write-out": ["write-out", "GIVEN", "out"],
    "gauge of a piece": [
        "gauge",
        "photo.png",
        "--edges",
        "1,5,60,5",
        "--collection",
        "GIVEN",
        "--piece",
        "p",
        "--at",
        "9",
    ],
    "rollout of a piece": ["rollout", "--collection", "GIVEN", "--piece", "p"],
    "behind of a piece": [
        "behind",
        "--collection",
        "GIVEN",
        "--piece",
        "p",
        "--heights",
        "6,9",
        "--out",
        "letters.png",
    ],
}
"""Commands with a collection that must be there."""

WRITTEN: dict[str, list[str]] = {
    "outline": ["outline", "photo.png", "--height", "200", "--mask", "GIVEN"],
    "rollout": ["rollout", "photo.png", "--height", "200", "--out", "GIVEN"],
    "rollout geometry": ["rollout", "photo.png", "--height", "200", "--geometry", "GIVEN"],
    "behind": ["behind", "photo.png", "--height", "200", "--heights", "60,100", "--out", "GIVEN"],
    "forms": ["forms", "--sheet", "GIVEN"],
    "holdings": ["holdings", "shelf", "--svg", "GIVEN"],
    "rarity": ["rarity", "shelf", "--svg", "GIVEN"],
    "whereabouts": ["whereabouts", "shelf", "--map", "GIVEN"],
    "whereabouts years": ["whereabouts", "shelf", "--years", "GIVEN"],
    "pocket": ["pocket", "shelf", "GIVEN"],
    "publish": ["publish", "shelf", "GIVEN"],
}
"""Commands that write a file."""


def no_photograph(place: Path) -> bytes:
    """A picture too plain to hold anything."""
    Image.new("RGB", (64, 64), "white").save(place)
    return place.read_bytes()


@pytest.fixture
def desk(tmp_path: Path, new_collection: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with an empty collection, an evidence file and a picture, and the working folder of the commands."""
    monkeypatch.chdir(tmp_path)
    new_collection("shelf")
    (tmp_path / "evidence.json").write_text(
        json.dumps({"piece": "p", "measurements": [{"what": "weight", "value": 620, "unit": "g", "sd": 10}]})
    )
    no_photograph(tmp_path / "photo.png")
    return tmp_path


def there(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, but what a database keeps beside itself while it is open."""
    return {
        str(place.relative_to(folder)): place.read_bytes()
        for place in sorted(folder.rglob("*"))
        if place.is_file() and not place.name.endswith(("-wal", "-shm"))
    }


def answer(desk: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], given: str) -> str:
    """What a command says of a file, having checked that it ends with 2, in one sentence, and leaves all as it was."""
    before = there(desk)
    assert run([given if one == "GIVEN" else one for one in arguments]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    said = captured.err.strip()
    assert len(said.splitlines()) == 1, said
    assert said.startswith(f"{Path(given).name}") or said.startswith(given), said
    assert re.search("; (it should be|what is needed is) ", said)
    assert said.endswith("Nothing was changed.")
    for bad in ("Errno", "None", "Traceback", "No such file or directory"):
        assert bad not in said
    assert there(desk) == before
    return said


def absent(place: Path) -> None:
    """Nothing there."""


def empty(place: Path) -> None:
    """A file without content."""
    place.touch()


def nonsense(place: Path) -> None:
    """Bytes that are no text, picture or sound."""
    place.write_bytes(bytes(range(255, 0, -1)) * 9)


def nonsense_text(place: Path) -> None:
    """Text that is none of the formats."""
    place.write_text("Dear seller,\nthank you for the pictures.\n")


SAID: list[tuple[Callable[[Path], Any], str]] = [
    (absent, "there is no such file"),
    (Path.mkdir, "that is a folder"),
    (empty, "the file is empty"),
    (nonsense, ""),
    (nonsense_text, ""),
]


@pytest.mark.parametrize(("make", "words"), SAID, ids=["missing", "folder", "empty", "nonsense", "nonsense text"])
@pytest.mark.parametrize("command", FILES)
def test_a_file_that_cannot_be_used_is_named_with_what_is_wrong(
    desk: Path, capsys: pytest.CaptureFixture[str], command: str, make: Callable[[Path], Any], words: str
) -> None:
    make(desk / "given")
    assert words in answer(desk, capsys, FILES[command], "given")


@pytest.mark.parametrize("command", FILES)
def test_a_file_without_the_right_to_read_it_is_named(
    desk: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """The system's refusal is played, for it refuses nothing to some who run the tests."""
    (desk / "given").write_text("x")
    whole = Path.read_bytes

    def refused(place: Path) -> bytes:
        if place.name == "given" and not refused.off:  # type: ignore[attr-defined]
            raise PermissionError(13, "Permission denied", str(place))
        return whole(place)

    refused.off = False  # type: ignore[attr-defined]
    monkeypatch.setattr(Path, "read_bytes", refused)
    monkeypatch.setitem(globals(), "there", lambda folder: sorted(map(str, folder.rglob("*"))))
    assert "no right to read it" in answer(desk, capsys, FILES[command], "given")


@pytest.mark.parametrize("command", COLLECTIONS)
@pytest.mark.parametrize("kind", ["missing", "file", "other folder", "nonsense", "empty"])
def test_a_folder_that_is_no_collection_is_named(
    desk: Path, capsys: pytest.CaptureFixture[str], command: str, kind: str
) -> None:
    place = desk / "given"
    if kind == "file":
        place.write_text("x")
    elif kind != "missing":
        place.mkdir()
    if kind in ("nonsense", "empty"):
        (place / "collection.sqlite").write_bytes(b"no database" * 200 if kind == "nonsense" else b"")
    answer(desk, capsys, COLLECTIONS[command], "given")


@pytest.mark.parametrize("command", WRITTEN)
def test_a_folder_is_no_file_to_write(desk: Path, capsys: pytest.CaptureFixture[str], command: str) -> None:
    (desk / "given.png").mkdir()
    assert "that is a folder" in answer(desk, capsys, WRITTEN[command], "given.png")


@pytest.mark.parametrize("kind", ["file", "nonsense"])
@pytest.mark.parametrize("command", ["serve", "demo"])
def test_serving_refuses_what_is_no_collection(
    desk: Path, capsys: pytest.CaptureFixture[str], command: str, kind: str
) -> None:
    """Both make a collection where there is none; what is there and is none stays as it is."""
    place = desk / "given"
    if kind == "file":
        place.write_text("x")
    else:
        place.mkdir()
        (place / "collection.sqlite").write_bytes(b"no database" * 200)
    answer(desk, capsys, [command, "GIVEN", "--no-open"], "given")


@pytest.mark.parametrize("kind", ["missing", "file", "empty folder"])
def test_loading_in_refuses_what_was_not_written_out(desk: Path, capsys: pytest.CaptureFixture[str], kind: str) -> None:
    place = desk / "given"
    if kind == "file":
        place.write_text("x")
    elif kind == "empty folder":
        place.mkdir()
    answer(desk, capsys, ["load-in", "fresh", "GIVEN"], "given")
    assert not (desk / "fresh").exists()


def test_every_command_that_takes_a_path_is_tried_here() -> None:
    tried = {arguments[0] for table in (FILES, COLLECTIONS, WRITTEN) for arguments in table.values()}
    tried |= {"serve", "demo", "load-in"}
    taking = {
        name for name, command in group.commands.items() if any(one.type.name == "path" for one in command.params)
    }
    assert taking == tried

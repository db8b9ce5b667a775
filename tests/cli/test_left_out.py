"""What is left out is said to be left out, by the name of the option, with what to give."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from weftglass.cli.main import run

ASKED: list[tuple[str, str]] = [
    ("outline photo.png", "--scale-bar is left out"),
    ("outline photo.png --height 200 --shape-only", "--shape-only"),
    ("gauge photo.png", "--scale-bar is left out; it should be given, or --mm-per-px or --edges instead"),
    ("gauge photo.png --mm-per-px 0.1 --edges 1,5,60,5", "--mm-per-px and --edges"),
    ("gauge photo.png --edges 1,5,60,5", "--at is left out"),
    ("gauge photo.png --mm-per-px 0.1 --at 50", "--profile is left out"),
    ("gauge photo.png --mm-per-px 0.1 --collection shelf --piece p", "--at is left out"),
    ("gauge photo.png --mm-per-px 0.1 --collection shelf --at 50", "--piece is left out; it should be given beside"),
    ("gauge photo.png --mm-per-px 0.1 --piece p --at 50", "--collection is left out"),
    ("rollout", "PHOTOS is left out"),
    ("rollout photo.png", "--scale-bar is left out; it should be given, or --height instead"),
    ("rollout photo.png --height 200 --scale-bar 0,0,0,9,9", "--scale-bar and --height"),
    ("rollout --collection shelf", "--piece is left out"),
    ("behind --heights 6,9 --out a.png", "PHOTOS is left out"),
    ("behind photo.png --heights 6,9 --out a.png", "--scale-bar is left out"),
    ("behind --piece p --heights 6,9 --out a.png", "--collection is left out"),
    ("behind photo.png --height 200 --out a.png", "--heights"),
    ("behind photo.png --height 200", "--heights is left out"),
    ("behind photo.png --height 200 --heights 6,9", "--out is left out"),
    ("behind nothere.png", "nothere.png: there is no such file"),
    ("outline", "weftglass outline: PHOTO is left out; it should be given"),
    ("write-out shelf", "weftglass write-out: FOLDER is left out"),
    ("tone photo.png --bore 18", "--neck-length is left out; it should be given beside --bore"),
    ("tone photo.png --neck-length 80", "--bore is left out"),
    ("offer shelf", "PIECE is left out"),
    ("values shelf --amount 12", "--piece is left out"),
    ("values shelf --amount 12 --piece p", "--kind is left out"),
    ("catalogue shelf --put piece", "--piece is left out"),
]


@pytest.mark.parametrize(("line", "said"), ASKED, ids=[line for line, _ in ASKED])
def test_what_is_left_out_is_named(
    tmp_path: Path,
    new_collection: Callable[[str], Path],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    line: str,
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    new_collection("shelf")
    Image.new("RGB", (64, 64), "white").save("photo.png")
    assert run(line.split()) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    for bad in ("None", "Traceback", "''"):
        assert bad not in captured.err

"""`weftglass rollout` on one photograph, and what it refuses."""

from __future__ import annotations

import csv
import json
import math
from functools import cache
from pathlib import Path

import pytest
from PIL import Image

from tests.web.photograph import staged
from weftglass.cli.main import run
from weftglass.photos import Silhouette, found, read_photograph, trace_outline


def test_one_photograph_is_laid_flat_with_its_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture, photo = staged(), tmp_path / "a.jpg"
    photo.write_bytes(picture.jpeg)
    bar = ",".join(map(str, [*picture.ruler, 100]))
    out, table = tmp_path / "r.tif", tmp_path / "r.csv"
    words = [
        "rollout",
        str(photo),
        "--scale-bar",
        bar,
        "--heights",
        "10,150",
        "--out",
        str(out),
        "--geometry",
        str(table),
    ]
    assert run([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["rollout"]["girth_mm"] == pytest.approx(2 * 3.14159 * 42, rel=0.03)
    assert told["rollout"]["whole_round"] is False
    assert told["design"]["bands"][0]["repeats"] is None
    with Image.open(out) as rolled:
        assert rolled.info["dpi"][0] == pytest.approx(25.4 * told["rollout"]["px_per_mm"], rel=0.01)
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert float(rows[0]["height_mm"]) == pytest.approx(150, abs=1)


@cache
def silhouette_of_staged() -> Silhouette:
    """The staged photograph traced once, as each command would trace it."""
    return trace_outline(read_photograph(staged().jpeg, "a.jpg"))


@pytest.mark.parametrize("command", ["outline", "rollout", "behind"])
def test_a_bar_inside_the_outline_that_was_found_asks_to_look(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The ruler may have been traced for the piece; one that stands before the piece is measured all the same."""
    monkeypatch.setattr(found, "trace_outline", lambda photo, box: silhouette_of_staged())
    picture, photo = staged(), tmp_path / "a.jpg"
    photo.write_bytes(picture.jpeg)
    x1, y1, x2, y2 = picture.ruler
    middle = (picture.top_y + picture.base_y) / 2
    half = math.hypot(x2 - x1, y2 - y1) / 2
    command_words = [command, str(photo), "--json"]
    if command == "behind":
        command_words += ["--heights", "40,80", "--out", str(tmp_path / "letters.png")]
    told = []
    for bar in ((x1, y1, x2, y2), (picture.middle_x, middle - half, picture.middle_x, middle + half)):
        assert run([*command_words, "--scale-bar", ",".join(map(str, [*bar, 100]))]) == 0
        told.append("The bar lies inside the outline that was found" in capsys.readouterr().err)
    assert told == [False, True]


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ([], "PHOTOS"),
        (["a.jpg"], "--scale-bar"),
        (["a.jpg", "--height", "200", "--section", "oval"], "section"),
        (["a.jpg", "--height", "200", "--out", "a.gif"], "--out"),
        (["a.jpg", "--height", "200", "--geometry", "a.txt"], "--geometry"),
        (["a.jpg", "--height", "200", "--heights", "1,2,3"], "--heights"),
        (["nowhere.jpg", "--height", "200"], "nowhere.jpg"),
    ],
)
def test_what_cannot_be_is_named_and_nothing_written(
    words: list[str], names: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["rollout", *words]) == 2
    assert names in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []

"""`weftglass gauge` on a close-up whose truth is known: by a bar, by the piece's own profile, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from weftglass.cli.main import run

CLOSEUPS = Path(__file__).parents[1] / "weave" / "closeups"
PHOTO = str(CLOSEUPS / "twined.jpg")
TRUTH = json.loads((CLOSEUPS / "truth.json").read_text())["twined"]


@pytest.fixture
def profile(tmp_path: Path) -> str:
    """What `weftglass outline --json` prints of a jar as wide as the close-up's wall."""
    half = TRUTH["radius_mm"]
    file = tmp_path / "outline.json"
    file.write_text(json.dumps({"profile": [[0, half], [150, half], [190, 20]], "scale_sd": 0.005}))
    return str(file)


def test_profile_at_a_height_stands_in_for_the_guess_at_the_wall(
    profile: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The radius that comes back is the profile's; the count stays right."""
    scale = ["--mm-per-px", str(TRUTH["mm_per_px"]), "--technique", "twined"]
    assert run(["gauge", PHOTO, *scale, "--profile", profile, "--at", "75", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["radius_mm"] == pytest.approx(TRUTH["radius_mm"], rel=0.05)
    assert found["rows_per_cm"] == pytest.approx(TRUTH["rows_per_cm"], rel=0.05)
    assert found["stitches_per_cm"] == pytest.approx(TRUTH["stitches_per_cm"], rel=0.05)


def test_edges_without_a_ruler_give_the_scale(profile: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Where the true edges would lie in this picture, the count comes out as with the true scale, less surely."""
    half, far = TRUTH["radius_mm"], TRUTH["distance_mm"]
    half_px = half / (1 + 2 * half / far) ** 0.5 / TRUTH["mm_per_px"]
    edges = f"{300 - half_px},360,{300 + half_px},360"
    words = ["gauge", PHOTO, "--edges", edges, "--technique", "twined", "--profile", profile, "--at", "75", "--json"]
    assert run(words) == 0
    captured = capsys.readouterr()
    found = json.loads(captured.out)
    assert "the piece's own width there" in captured.err
    assert found["rows_per_cm"] == pytest.approx(TRUTH["rows_per_cm"], abs=2 * found["rows_sd"])
    assert found["rows_sd"] > 0.02 * found["rows_per_cm"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ([], "--mm-per-px or --edges instead"),
        (["--mm-per-px", "0.1", "--at", "75"], "--profile is left out"),
        (["--edges", "1,2,300,2"], "--at is left out"),
        (["--mm-per-px", "0.1", "--piece", "p-1", "--at", "75"], "--collection is left out"),
        (["--mm-per-px", "0.1", "--technique", "knitted"], "technique is"),
    ],
)
def test_wrong_options_are_named(options: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2, one sentence on standard error, nothing on standard output."""
    assert run(["gauge", PHOTO, *options]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err

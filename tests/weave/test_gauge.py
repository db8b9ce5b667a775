"""The gauge finds the known truth of rendered close-ups and of drawn patterns, and refuses what carries no count."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from weftglass.cli.main import run
from weftglass.errors import InputError
from weftglass.photos import read_photograph
from weftglass.weave import Gauge, counted_by_hand, gauge_of

CLOSEUPS = Path(__file__).parent / "closeups"
TRUTH: dict[str, dict[str, Any]] = json.loads((CLOSEUPS / "truth.json").read_text())
COUNTED = sorted(name for name, truth in TRUTH.items() if not truth["without"])
WITHOUT = sorted(name for name, truth in TRUTH.items() if truth["without"])


def pixels_of(name: str) -> NDArray[np.uint8]:
    """A rendered close-up of the tuning set."""
    return read_photograph((CLOSEUPS / f"{name}.jpg").read_bytes(), name).pixels


@pytest.fixture(scope="module", params=COUNTED)
def counted(request: pytest.FixtureRequest) -> tuple[dict[str, Any], Gauge]:
    """A close-up's truth and what was counted."""
    truth = TRUTH[request.param]
    return truth, gauge_of(pixels_of(request.param), truth["mm_per_px"], technique=truth["technique"])


def test_gauge_is_within_five_per_cent_of_the_truth(counted: tuple[dict[str, Any], Gauge]) -> None:
    """Rows and stitches of a rendered, irregular, curved, oblique patch; its own sd covers the error thrice."""
    truth, gauge = counted
    for what in ("rows", "stitches"):
        value, sd, true = getattr(gauge, f"{what}_per_cm"), getattr(gauge, f"{what}_sd"), truth[f"{what}_per_cm"]
        assert value == pytest.approx(true, rel=0.05)
        assert abs(value - true) < 3 * sd < 0.2 * true


def test_lean_is_that_of_the_work(counted: tuple[dict[str, Any], Gauge]) -> None:
    """Told right where stitches lean, and not at all where they do not."""
    truth, gauge = counted
    assert gauge.lean == truth["lean"]


def test_lean_turns_with_a_mirrored_picture() -> None:
    """Mirrored left to right the count stays and the lean changes sides."""
    truth = TRUTH["twined"]
    gauge = gauge_of(np.ascontiguousarray(pixels_of("twined")[:, ::-1]), truth["mm_per_px"], technique="twined")
    assert gauge.lean == {"up to the left": "up to the right", "up to the right": "up to the left"}[truth["lean"]]
    assert gauge.rows_per_cm == pytest.approx(truth["rows_per_cm"], rel=0.05)


@pytest.mark.parametrize("name", WITHOUT)
def test_no_number_is_invented(name: str) -> None:
    """Wood and blurred work give no count, and say why."""
    truth = TRUTH[name]
    gauge = gauge_of(pixels_of(name), truth["mm_per_px"], technique=truth["technique"])
    assert gauge.rows_per_cm is None
    assert gauge.stitches_per_cm is None
    assert gauge.reason


def test_noise_and_an_empty_wall_carry_no_count() -> None:
    """Neither random grain nor one flat colour has rows."""
    rng = np.random.default_rng(5)
    for grey in (rng.integers(0, 255, (300, 300)), np.full((300, 300), 128)):
        gauge = gauge_of(np.repeat(grey[..., None], 3, axis=2).astype(np.uint8), 0.1)
        assert gauge.rows_per_cm is None
        assert gauge.reason


def test_scale_and_counts_go_together(counted: tuple[dict[str, Any], Gauge]) -> None:
    """The drawn rows are as many as were counted, within the one that an edge may cut."""
    truth, gauge = counted
    assert gauge.rows_counted is not None
    assert abs(len(gauge.row_lines) - gauge.rows_counted) < 0.25 * gauge.rows_counted + 2
    assert gauge.stitch_marks is not None
    assert len(gauge.stitch_marks) > gauge.rows_counted
    local = [one.rows_per_cm for one in gauge.windows if one.rows_per_cm is not None]
    assert np.median(local) == pytest.approx(truth["rows_per_cm"], rel=0.08)


@pytest.mark.parametrize(
    ("field", "more"),
    [("scale", {"mm_per_px": 0.0}), ("technique", {"technique": "knitted"}), ("box", {"box": (0.0, 0.0, 10.0, 10.0)})],
)
def test_gauge_names_the_field_at_fault(field: str, more: dict[str, Any]) -> None:
    """Scale, technique and box are checked before anything is counted."""
    with pytest.raises(InputError) as fault:
        gauge_of(np.zeros((200, 200, 3), np.uint8), **({"mm_per_px": 0.1} | more))
    assert fault.value.field == field


def test_hand_count_has_the_error_of_two_ends() -> None:
    """25 mm between two edges placed to 0.5 mm each is known to 2.8 % (facts, error of a hand count)."""
    count = counted_by_hand([[0, 25 * k] for k in range(11)], 0.1)
    assert (count.count, count.length_mm, count.per_cm) == (10, 25.0, 4.0)
    assert count.sd / count.per_cm == pytest.approx(0.028, abs=0.0005)
    assert count.spread == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("taps", [[[0, 0], [1, 1]], [[0, 0], [5, 5], [0, 0]], [[0, 0], [float("nan"), 1], [2, 2]]])
def test_hand_count_needs_three_taps_apart(taps: list[list[float]]) -> None:
    """Two taps, a closed line or a tap nowhere are no count."""
    with pytest.raises(InputError):
        counted_by_hand(taps, 0.1)


def test_command_prints_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON document with counts, sd and lean; nothing else on standard output."""
    truth = TRUTH["twined"]
    arguments = ["gauge", str(CLOSEUPS / "twined.jpg"), "--mm-per-px", str(truth["mm_per_px"]), "--technique", "twined"]
    assert run([*arguments, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["rows_per_cm"] == pytest.approx(truth["rows_per_cm"], rel=0.05)
    assert record["rows_sd"] > 0
    assert record["lean"] == truth["lean"]
    assert record["reason"] is None
    length = 20 / truth["mm_per_px"]
    assert run([*arguments[:2], "--scale-bar", f"10,50,{10 + length},50,20", "--technique", "twined"]) == 0
    assert "rows per cm" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ([], "--scale-bar"),
        (["--mm-per-px", "0"], "--mm-per-px is '0'; it should be a number above 0"),
        (["--mm-per-px", "0.1", "--technique", "knitted"], "technique is 'knitted'"),
        (["--mm-per-px", "0.1", "--box", "1,2,3"], "four numbers"),
        (["--scale-bar", "1,2,3"], "five numbers"),
        (["--mm-per-px", "0.1", "--radius", "-4"], "--radius is -4.0"),
    ],
)
def test_command_refuses_bad_input(more: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit status 2 and one sentence that names the field."""
    assert run(["gauge", str(CLOSEUPS / "blurred.jpg"), *more]) == 2
    assert said in capsys.readouterr().err


def test_picture_too_small_is_refused_with_a_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Rows of two pixels can't be counted: null with a reason, status 0."""
    truth = TRUTH["coiled"]
    small = Image.fromarray(pixels_of("coiled")).resize((90, 108), Image.Resampling.BOX)
    small.save(tmp_path / "small.png")
    assert run(["gauge", str(tmp_path / "small.png"), "--mm-per-px", str(truth["mm_per_px"] * 6), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["rows_per_cm"] is None
    assert record["reason"]
    tiny = gauge_of(np.zeros((40, 30, 3), np.uint8), 0.5)
    assert tiny.rows_per_cm is None
    assert tiny.reason is not None
    assert "too small" in tiny.reason

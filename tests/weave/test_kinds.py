"""A technique that nobody told: never a doubled count; and a whole box against its middle."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from weftglass.photos import read_photograph
from weftglass.weave import Gauge, gauge_of
from weftglass.weave.closeup import EDGES_LOST, settled
from weftglass.weave.kinds import WEIGHTS, plaited_chance, without_pairs
from weftglass.weave.lattice import Guess, Spectrum
from weftglass.weave.stitches import fundamental

CLOSEUPS = Path(__file__).parent / "closeups"
TRUTH: dict[str, dict[str, Any]] = json.loads((CLOSEUPS / "truth.json").read_text())


@pytest.mark.parametrize("name", sorted(name for name, truth in TRUTH.items() if not truth["without"]))
def test_technique_left_to_the_program_never_doubles_a_count(name: str) -> None:
    """Rows as with the technique given, or none and a reason; plaited work is told from the rest."""
    pixels = read_photograph((CLOSEUPS / f"{name}.jpg").read_bytes(), name).pixels
    gauge = gauge_of(pixels, TRUTH[name]["mm_per_px"])
    assert not gauge.technique_given
    assert gauge.rows_per_cm == pytest.approx(TRUTH[name]["rows_per_cm"], rel=0.05)
    assert (gauge.technique == "plaited") == (TRUTH[name]["technique"] == "plaited")
    assert any("technique was not given" in words for words in gauge.warnings)


def peaks(*places: tuple[float, float, float]) -> Spectrum:
    """A spectrum of 256 pixels that stands out at frequencies (across, down) by so many decades."""
    decades = np.zeros((256, 256))
    for across, down, high in places:
        decades[128 + round(down * 256), 128 + round(across * 256)] = high
    return Spectrum(decades, 256)


def test_pairs_of_rows_are_taken_apart_except_in_plaited_work() -> None:
    """Rows of 8 pixels whose colours change places: the pair at 16 stands out less than the row."""
    spectrum, guess = peaks((0, 1 / 16, 1.0), (0, 1 / 8, 2.0)), Guess(16.0, 20.0, 0.0, 1.0, 1.0)
    assert without_pairs(spectrum, guess, "twined").row_px == 8.0
    assert without_pairs(spectrum, guess, "plaited").row_px == 16.0
    level = peaks((0, 1 / 16, 2.0), (0, 1 / 8, 1.9))
    assert without_pairs(level, guess, "twined") == guess


def test_diamonds_speak_for_plaited_work_and_another_pattern_or_grooves_against_it() -> None:
    """A strong double diagonal raises the chance; a pattern that explains more, or level edges, lower it."""
    plain = np.array([0.9, 1.5, 0.4, 0.0, -0.3, 0.0, -0.1])
    assert len(WEIGHTS) == len(plain) + 1
    chance = plaited_chance(plain)
    for k, more, rises in ((0, 0.4, True), (3, 0.3, False), (4, 0.5, False)):
        changed = plain.copy()
        changed[k] += more
        assert (plaited_chance(changed) > chance) == rises


def test_two_legs_of_a_loop_are_no_two_stitches() -> None:
    """A strong overtone is taken for the stitch only where stitches of that technique can be so near."""
    frequency = np.linspace(0.01, 0.1, 91)
    power = np.exp(-(((frequency - 0.03) / 0.002) ** 2)) + 0.5 * np.exp(-(((frequency - 0.06) / 0.002) ** 2))
    assert frequency[fundamental(power, frequency)] == pytest.approx(0.06)
    assert frequency[fundamental(power, frequency, finest_px=20.0)] == pytest.approx(0.03)


WHOLE = Gauge(5.0, 0.08, 4.0, 0.08, "up to the left", 0.99, None, "twined", rows_counted=20.0, warnings=("told",))


def test_the_middle_is_taken_only_where_the_whole_is_doubted_or_has_no_count() -> None:
    """Agreeing counts leave the whole; plain disagreement, far less certainty or no count do not."""
    agreeing = replace(WHOLE, rows_per_cm=5.1, rows_sd=0.1, rows_counted=14.0)
    assert settled(WHOLE, agreeing) is WHOLE
    apart = replace(agreeing, rows_per_cm=5.6, stitches_per_cm=4.4)
    taken = settled(WHOLE, apart)
    assert (taken.rows_per_cm, taken.stitches_per_cm) == (5.6, 4.0)
    assert taken.warnings == (EDGES_LOST, "told")
    unsure = replace(WHOLE, rows_sd=0.4)
    assert settled(unsure, agreeing).rows_per_cm == 5.1
    assert settled(Gauge(reason="none"), apart).stitches_per_cm == 4.4
    assert settled(WHOLE, replace(apart, rows_counted=5.0)) is WHOLE
    assert settled(WHOLE, Gauge(reason="none")) is WHOLE
    assert settled(WHOLE, replace(apart, rows_per_cm=10.1)) is WHOLE  # twice as many: another count altogether

"""Coverings that bridge hollows, against a general-purpose library's morphology and in the engine."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import grey_closing

from weftglass.evidence import Outline
from weftglass.inside.bank import STEPS, FormBank
from weftglass.inside.bridging import PLACES, STAKE_MM, stood_off
from weftglass.inside.posterior import posterior
from weftglass.vessels import FormLibrary

from .conftest import bottle, laid_over, piece


def closed(edge: np.ndarray, step_mm: float, radius_mm: float) -> np.ndarray:
    """Closing by a disc with scipy, on the same heights."""
    reach = int(radius_mm / step_mm)
    gap = np.arange(-reach, reach + 1) * step_mm
    disc = np.sqrt(np.maximum(radius_mm**2 - gap**2, 0.0)) - radius_mm
    return grey_closing(edge, footprint=np.ones(len(gap), dtype=bool), structure=disc, mode="nearest")


def test_stood_off_is_the_closing_by_a_disc() -> None:
    """Between the ends, at the heights where bridges are worked out, to the mm that the coarse heights cost."""
    points = np.array(bottle(280.0, 40.0))
    step = 280.0 / STEPS
    outer = np.interp(np.arange(STEPS + 1) * step, points[:, 0], points[:, 1]) + 3.0
    expected = closed(outer, step, STAKE_MM) - outer
    found = stood_off(outer[None], np.array([280.0]), np.ones(1))[0]
    inner = (PLACES > 10) & (PLACES < 150)
    assert expected.max() > 3.0
    np.testing.assert_allclose(found[inner], expected[PLACES[inner]], atol=1.0)


def test_nothing_stands_off_above_the_covering() -> None:
    """Covered to 60 % of the height: no bridge beyond it."""
    outer = np.linspace(40.0, 12.0, STEPS + 1) - 8.0 * np.sin(np.linspace(0, np.pi, STEPS + 1))
    off = stood_off(outer[None], np.array([280.0]), np.array([0.6]))[0]
    assert off[PLACES < STEPS // 2].max() > 0
    assert np.all(off[PLACES > 0.64 * STEPS] == 0)


def test_bridged_shoulder_still_names_the_vessel(library: FormLibrary) -> None:
    """The covering closed by a disc of 100 mm: the form beneath leads, and its class is one that bridges."""
    bank = FormBank.of(tuple(library))
    seen = laid_over(library["b230-38"], 3.0)
    z, edge = seen.points[:, 0], seen.points[:, 1]
    bridged = np.maximum(edge, closed(edge, float(z[1] - z[0]), 100.0))
    assert bridged.max() == edge.max()
    assert (bridged - edge).max() > 3.0
    found = posterior(piece(Outline.of(np.column_stack([z, bridged]), sd_mm=0.4, scale_sd=0.01)), bank)
    assert bank.forms[found.survivors[0]].id == "b230-38"
    assert found.case.cover.habit(int(found.exact.state.log_weight[0].argmax())).bridged

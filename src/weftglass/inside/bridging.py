"""How far a covering of stout stakes would stand off a hollow of the vessel that it bridges instead of following."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import STEPS

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

STAKE_MM = 100.0  # radius of the tightest hollow that a stake bent along the wall follows; working figure, no source
PLACES: IntArray = np.arange(0, STEPS + 1, STEPS // 32)  # table steps at which bridges are worked out: 33 heights
FAR = 1e6


def stood_off(outer: FloatArray, height_mm: FloatArray, covered_to: FloatArray) -> FloatArray:
    """
    Distance between a covering that follows the glass and one that bridges its hollows.

    Parameters
    ----------
    outer : array (F, 193)
        Half-width of the covering that follows, mm.
    height_mm : array (F,)
        Height of the glass, mm.
    covered_to : array (F,)
        Share of the height up to which there is a covering, 1 where it reaches the lip.

    Returns
    -------
    array (F, 193)
        Millimetres, >= 0: the edge closed by a disc of 100 mm (mathematical morphology: dilation, then erosion; Serra
        1982), less the edge. Worked out at 33 heights, straight between them; 0 above the covering.

    Examples
    --------
    >>> waist = 40.0 - 10.0 * np.exp(-0.5 * ((np.arange(193) - 96) / 12.0) ** 2)
    >>> off = stood_off(waist[None], np.array([290.0]), np.ones(1))[0]
    >>> bool(off[96] > 2.5), bool(off[5] < 0.01)
    (True, True)
    """
    edge = outer[:, PLACES]
    own = PLACES[None, :] / STEPS <= covered_to[:, None]
    step = PLACES[1] / STEPS * height_mm
    reach = min(int(np.ceil(STAKE_MM / float(step.min()))), len(PLACES) - 1)
    gap = np.arange(reach + 1) * step[:, None]
    arc = np.where(gap < STAKE_MM, np.sqrt(np.maximum(STAKE_MM**2 - gap**2, 0.0)), -FAR)
    grown = _dilated(np.where(own, edge, -FAR), arc)
    closed = -_dilated(np.where(own, -grown, -FAR), arc)
    off = np.where(own, np.maximum(closed - edge, 0.0), 0.0)
    part = np.arange(STEPS + 1) / PLACES[1]
    low = np.minimum(part.astype(np.int64), len(PLACES) - 2)
    share = part - low
    return np.asarray(off[:, low] * (1.0 - share) + off[:, low + 1] * share, dtype=np.float64)


def _dilated(values: FloatArray, arc: FloatArray) -> FloatArray:
    """The greatest, at every place, of values up to ``reach`` places off and the arc there; arc (F, reach + 1)."""
    result = values + arc[:, :1]
    for j in range(1, arc.shape[1]):
        lifted = values + arc[:, [j]]
        np.maximum(result[:, j:], lifted[:, :-j], out=result[:, j:])
        np.maximum(result[:, :-j], lifted[:, j:], out=result[:, :-j])
    return result

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
    array (F, 33)
        Millimetres, >= 0, at `PLACES`: the edge closed by a disc of 100 mm (mathematical morphology: dilation, then
        erosion; Serra 1982), less the edge; 0 above the covering.

    Examples
    --------
    >>> waist = 40.0 - 10.0 * np.exp(-0.5 * ((np.arange(193) - 96) / 12.0) ** 2)
    >>> off = stood_off(waist[None], np.array([290.0]), np.ones(1))[0]
    >>> bool(off[16] > 2.5), bool(off[1] < 0.01)
    (True, True)
    """
    edge = np.ascontiguousarray(outer[:, PLACES].T)  # heights first, so that a step runs along memory
    own = PLACES[:, None] / STEPS <= covered_to
    step = PLACES[1] / STEPS * height_mm
    reach = min(int(np.ceil(STAKE_MM / float(step.min()))), len(PLACES) - 1)
    gap = np.arange(reach + 1)[:, None] * step
    arc = np.where(gap < STAKE_MM, np.sqrt(np.maximum(STAKE_MM**2 - gap**2, 0.0)), -FAR)
    grown = _dilated(np.where(own, edge, -FAR), arc)
    closed = -_dilated(np.where(own, -grown, -FAR), arc)
    return np.asarray(np.where(own, np.maximum(closed - edge, 0.0), 0.0).T)


def _dilated(values: FloatArray, arc: FloatArray) -> FloatArray:
    """The greatest, at every place, of the values up to ``reach`` places off and the arc there; arc (reach + 1, F)."""
    result: FloatArray = values + arc[0]
    for j in range(1, len(arc)):
        lifted = values + arc[j]
        np.maximum(result[j:], lifted[:-j], out=result[j:])
        np.maximum(result[:-j], lifted[j:], out=result[:-j])
    return result

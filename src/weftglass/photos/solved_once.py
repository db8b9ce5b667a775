"""What was solved of an outline is kept for a while: of a photograph at hand it is mostly the scale that changes."""

from __future__ import annotations

from collections import OrderedDict
from hashlib import blake2b
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.cut import Unseen
from weftglass.photos.decode import Pixels
from weftglass.photos.level_rows import detail_of
from weftglass.photos.section import SectionHint
from weftglass.photos.solve import AxisPx, Solved, solve

FloatArray = NDArray[np.float64]

KEPT = 16
"""Outlines remembered; each is some tens of kilobytes."""

_solved: OrderedDict[bytes, Solved] = OrderedDict()
_turn = Lock()


def solved_once(
    polygon: FloatArray,
    line: FloatArray,
    pixels: Pixels | None,
    focal: float,
    centre: tuple[float, float],
    axis: AxisPx | None,
    tilt_deg: float | None,
    section: SectionHint | None,
    cut: Unseen,
) -> Solved:
    """
    As `solve`, with the detail of the picture inside the polygon; worked out once for the same outline and picture.

    Parameters
    ----------
    polygon, line : array, shape (n, 2)
        The outline as given, and densely walked.
    pixels : array, shape (height, width, 3), uint8, or None
    focal, centre, axis, tilt_deg, section, cut
        See `solve`.
    """
    key = _content(polygon, pixels, (focal, centre, axis, tilt_deg, section, cut))
    with _turn:
        if key in _solved:
            _solved.move_to_end(key)
            return _solved[key]
    detail = None if pixels is None else detail_of(pixels, polygon)
    found = solve(line, focal, centre, axis, tilt_deg, section, cut, detail)
    with _turn:
        _solved[key] = found
        while len(_solved) > KEPT:
            _solved.popitem(last=False)
    return found


def _content(polygon: FloatArray, pixels: Pixels | None, rest: tuple[object, ...]) -> bytes:
    """A digest of everything that the solution follows from."""
    digest = blake2b(repr((polygon.shape, None if pixels is None else pixels.shape, rest)).encode(), digest_size=20)
    digest.update(np.ascontiguousarray(polygon).tobytes())
    if pixels is not None:
        digest.update(np.ascontiguousarray(pixels).data)
    return digest.digest()

"""Which parts of a piece the picture does not show: its base, its top, a side that leaves the frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

AT_FRAME_PX, AT_FRAME_SHARE = 2.0, 0.005
"""An outline so near to the frame, in pixels or of the picture's side, whichever is more, touches it."""

CUT_SHARE = 0.25
"""An end that runs along the frame for this share of the outline's width is cut off by it."""


@dataclass(frozen=True)
class Unseen:
    """Whether the base and the top of the piece are not on the picture, or hidden."""

    base: bool = False
    top: bool = False

    @property
    def any(self) -> bool:
        """Whether either end is missing."""
        return self.base or self.top


SEEN = Unseen()
"""The whole piece is on the picture."""


def cut_ends(line: FloatArray, image_size: tuple[int, int]) -> Unseen:
    """
    Whether the frame cuts off base or top.

    Parameters
    ----------
    line : array, shape (n, 2)
        Outline in pixels, densely walked.
    image_size : tuple (width, height)

    Examples
    --------
    >>> box = np.array([[x, y] for x in range(10, 50) for y in (20, 99)], dtype=float)
    >>> cut_ends(box, (60, 100))
    Unseen(base=True, top=False)
    """
    wide = max(float(np.ptp(line[:, 0])), 1e-9)

    def along(flags: BoolArray) -> bool:
        return bool(flags.sum() >= 2 and np.ptp(line[flags, 0]) > CUT_SHARE * wide)

    near = max(AT_FRAME_PX, AT_FRAME_SHARE * image_size[1])
    return Unseen(along(line[:, 1] >= image_size[1] - 1 - near), along(line[:, 1] <= near))


def whole_sides(left_px: FloatArray, right_px: FloatArray, width_px: int) -> tuple[BoolArray, BoolArray]:
    """Where the left and the right edge are not the frame's."""
    return left_px > AT_FRAME_PX, right_px < width_px - 1 - AT_FRAME_PX

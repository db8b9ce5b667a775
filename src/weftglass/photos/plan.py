"""The curve a body has in plan, seen from above: round, oval or boxy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

BOXY = 6.0
"""Power of the superellipse that stands for a box whose covering rounds its corners (working figure)."""

CORNER = 0.62
"""Where the borders of a covered box stand before its axis, as a share of its half-depth: its corners are rounded or
bevelled and the covering rounds them further (working figure, from three rendered square pieces)."""


@dataclass(frozen=True)
class Plan:
    """
    A plan ``|x|**power + |y / depth|**power = 1``, in half-widths, seen square-on.

    Parameters
    ----------
    depth : float
        Half-depth over half-width, above 0.
    power : float
        2 for round and oval, `BOXY` for a box.
    share : float
        Of all pieces, how many have such a plan.
    """

    depth: float
    power: float = 2.0
    share: float = 1.0

    @property
    def boxy(self) -> bool:
        """Whether it has a flat front with corners."""
        return self.power > 2.0

    def front(self, across: ArrayLike) -> FloatArray:
        """
        How far the front stands before the axis, in half-widths, at places -1 to 1 across.

        Examples
        --------
        >>> Plan(0.5).front([0.0, 0.6]).round(6).tolist()
        [0.5, 0.4]
        """
        x = np.abs(np.asarray(across, dtype=np.float64))
        return np.asarray(self.depth * np.maximum(0.0, 1.0 - x**self.power) ** (1.0 / self.power))

    def around(self, turn: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """
        The plan walked from its front, 0, round one side to its back, pi.

        Parameters
        ----------
        turn : array

        Returns
        -------
        beside, before : array
            The place, in half-widths: to the side, and before the axis.
        aside, ahead : array
            The outward normal there, of unit length.

        Examples
        --------
        >>> [round(float(value[0]), 3) for value in Plan(0.5).around(np.array([np.pi / 2]))]
        [1.0, 0.0, 1.0, 0.0]
        """
        side, front = np.abs(np.sin(turn)), np.cos(turn)
        beside, toward = side ** (2 / self.power), np.abs(front) ** (2 / self.power)
        aside, ahead = beside ** (self.power - 1), np.sign(front) * toward ** (self.power - 1) / self.depth
        length = np.maximum(np.hypot(aside, ahead), 1e-12)
        return beside, self.depth * np.sign(front) * toward, aside / length, ahead / length

    def half_width(self, appearing: ArrayLike) -> FloatArray:
        """
        Half-width of an upright wall of this plan, from the one at which it appears at distance 1.

        A round or oval wall is touched by the sight line behind its widest place, a box is seen by its front corners.

        Examples
        --------
        >>> round(float(ROUND.half_width(0.1 / 0.99**0.5)), 9)
        0.1
        """
        w = np.asarray(appearing, dtype=np.float64)
        if self.boxy:
            return np.asarray(w / (1.0 + self.corner * w))
        return np.asarray(w / np.hypot(1.0, self.depth * w))

    @property
    def corner(self) -> float:
        """How far the borders of a box stand before its axis, in half-widths; 0 for round and oval."""
        return CORNER * self.depth if self.boxy else 0.0


ROUND = Plan(1.0, share=0.68)
PLANS = (
    ROUND,
    *(Plan(depth, share=share) for depth, share in ((0.36, 0.02), (0.48, 0.035), (0.6, 0.04), (0.72, 0.025))),
    *(Plan(depth, BOXY, share) for depth, share in ((0.5, 0.04), (0.65, 0.03), (0.97, 0.13))),
)
"""Plans that a body may have, covering included, with the share of pieces that have them: as the sections of the
starter library's forms are spread."""

"""What a person knows of the body's section, so that its depth need not be guessed from one photograph."""

from __future__ import annotations

import math
from dataclasses import dataclass

from weftglass.errors import InputError
from weftglass.photos.plan import BOXY, ROUND, Plan

KINDS = ("round", "square", "flat")
GUESSED_DEPTH, GUESSED_DEPTH_SD = 0.6, 0.3
"""Half-depth over half-width assumed for a piece with a straight bottom edge: from flask (0.3) to square (1)."""

ROUNDED = 0.12
"""How far the corners of a covering stand back from those of a box, in half-widths (common practice, no source)."""

SQUARE_DEPTH, SQUARE_DEPTH_SD = 0.6, 0.12
"""Where the borders of a covered square bottle stand before the axis, in half-widths: its corners are rounded or
bevelled and the covering rounds them further; working figures, from three rendered square pieces."""

SQUARE_ON_DEG = 3.0
FLAT_DEPTHS = (0.4, 0.5, 0.6)
"""Depth over width of flat pieces of which only the flatness is known."""


@dataclass(frozen=True)
class Depth:
    """How far the borders of a silhouette stand before the axis, in half-widths, with its standard deviation."""

    share: float
    sd: float


@dataclass(frozen=True)
class SectionHint:
    """
    The body's section as a person gives it.

    Parameters
    ----------
    kind : str
        ``round``, ``square`` or ``flat``.
    depth_ratio : float or None
        Of a flat piece: depth over width, 0.1 to 1; None where only its flatness is known.
    turn_deg : float
        How far it is turned from square-on, -45 to 45.
    """

    kind: str
    depth_ratio: float | None = None
    turn_deg: float = 0.0

    @classmethod
    def of(cls, text: str, *, turn_deg: float = 0.0, where: str = "section") -> SectionHint:
        """
        Read ``round``, ``square``, ``flat`` or ``flat:0.4``.

        Raises
        ------
        InputError
            If it is none of these, or a number is out of range.

        Examples
        --------
        >>> SectionHint.of("flat:0.4").depth_ratio
        0.4
        """
        kind, _, number = text.strip().partition(":")
        expected = "round, square, flat, or flat:RATIO with depth over width from 0.1 to 1"
        try:
            ratio = float(number) if number else None
        except ValueError:
            raise InputError(where, "section", text, expected) from None
        if kind not in KINDS or (ratio is not None and (kind != "flat" or not 0.1 <= ratio <= 1)):
            raise InputError(where, "section", text, expected)
        if not abs(turn_deg) <= 45:
            raise InputError(where, "turn", turn_deg, "degrees from square-on, -45 to 45")
        return cls(kind, ratio, turn_deg)

    @property
    def plans(self) -> tuple[Plan, ...]:
        """What the body may be in plan, seen square-on; none where it is turned: its front is not straight ahead."""
        if self.kind == "round":
            return (ROUND,)
        if abs(self.turn_deg) >= SQUARE_ON_DEG:
            return ()
        if self.kind == "square":
            return (Plan(1.0, BOXY),)
        depths = FLAT_DEPTHS if self.depth_ratio is None else (self.depth_ratio,)
        return tuple(Plan(depth, power) for depth in depths for power in (2.0, BOXY))

    @property
    def depth(self) -> Depth | None:
        """
        Where its borders stand; None for a round piece, which has no corners.

        Turned, one border comes forward and the other goes back; what is left of the mean is in the deviation.
        """
        if self.kind == "round":
            return None
        known = 1.0 if self.kind == "square" else self.depth_ratio
        ratio = 0.45 if known is None else known
        sd = 0.2 if known is None else 0.06
        turn = math.radians(abs(self.turn_deg))
        if turn < math.radians(SQUARE_ON_DEG):
            if self.kind == "square":
                return Depth(SQUARE_DEPTH, SQUARE_DEPTH_SD)
            return Depth(max(0.0, ratio - ROUNDED), sd)
        lead = (ratio * math.cos(turn) - math.sin(turn)) / (math.cos(turn) + ratio * math.sin(turn))
        return Depth(0.0, math.hypot(sd, 0.5 * abs(lead)))

"""A view: a photograph with a role for one piece, and what was traced and measured on it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record

ROLES = ("front", "side", "back", "turned", "base", "lip", "close-up")
"""
Roles by name; ``turned`` shows the whole piece from nobody knows where. A turn that is known is written ``turn 07/12``
(the seventh of twelve even turns, the first being the front).
"""

TURN = re.compile(r"turn (\d{1,3})/(\d{1,3})")

Point = tuple[float, float]
Range = tuple[float, float]


@dataclass(frozen=True)
class ScaleBar:
    """Two points of the photograph, in pixels, and their true distance in mm."""

    x1: float
    y1: float
    x2: float
    y2: float
    mm: float
    in_axis_plane: bool = False


@dataclass(frozen=True)
class KnownHeight:
    """Height of the piece from standing plane to top, mm, with its standard deviation."""

    mm: float
    sd_mm: float = 1.0


@dataclass(frozen=True)
class MeasuredProfile:
    """
    What was measured on a traced outline.

    Parameters
    ----------
    points : tuple of (z, half-width)
        In mm, z rising from 0 at the standing plane.
    sd_mm : tuple of float
        Standard deviation of the edge at each point, mm, scale left out.
    scale_sd : float
        Relative standard deviation of the scale.
    mm_per_px : float
        At the axis.
    top_px, bottom_px : (x, y)
        Where the axis meets the top and the standing plane in the photograph.
    roll_deg, tilt_deg : float
        Lean of the axis in the picture, and how far the camera looked down.
    distance_mm : float
        Camera to axis.
    height_mm, height_sd_mm : float
        Height of the piece, scale included in its standard deviation.
    bulges : tuple of (low, high)
        Height ranges in mm where one side stands out (handle, strap, seal).
    warnings : tuple of str
        What the reader should know.
    """

    points: tuple[Point, ...]
    sd_mm: tuple[float, ...]
    scale_sd: float
    mm_per_px: float
    top_px: Point
    bottom_px: Point
    roll_deg: float
    tilt_deg: float
    distance_mm: float
    height_mm: float
    height_sd_mm: float
    bulges: tuple[Range, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class View(Record):
    """
    A photograph of a piece with its role.

    Parameters
    ----------
    piece : str
        Id of the piece.
    photo : str
        Id (SHA-256) of the photograph.
    role : str
        One of `ROLES`, or a turn such as ``turn 07/12``.
    caption : str
        A few words, may be empty.
    box : (x0, y0, x1, y1) or None
        Where the piece stands in the photograph, pixels, when a person drew a box.
    polygon : tuple of (x, y)
        The outline in pixels of the upright photograph, x right, y down; empty where none is traced yet.
    polygon_by : str
        ``found`` when traced without help, ``hand`` once a person corrected it, empty without one.
    scale_bar, known_height : ScaleBar or None, KnownHeight or None
        What the scale comes from.
    axis : (upper, lower) or None
        The symmetry axis in pixels where a person set it; None: found.
    bare : tuple of (low, high)
        Height ranges in mm where the glass itself is the outer edge.
    left_out : tuple of (low, high)
        Height ranges in mm where the edge is not the piece's, or the piece is hidden (a strap, a handle, a hand).
    base_unseen, top_unseen : bool
        True where the picture ends, or something stands before it, below or above: heights then count from the lowest
        point that is seen.
    measured : MeasuredProfile or None
        The outline measured; None without outline or scale.
    trace_warnings : tuple of str
        What tracing had to say.
    """

    KIND: ClassVar[str] = "view"
    PLURAL: ClassVar[str] = "views"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece", "photo": "photograph"}
    IS_EVIDENCE: ClassVar[bool] = True

    piece: str
    photo: str
    role: str = "front"
    caption: str = ""
    box: tuple[float, float, float, float] | None = None
    polygon: tuple[Point, ...] = ()
    polygon_by: str = ""
    scale_bar: ScaleBar | None = None
    known_height: KnownHeight | None = None
    axis: tuple[Point, Point] | None = None
    bare: tuple[Range, ...] = ()
    left_out: tuple[Range, ...] = ()
    base_unseen: bool = False
    top_unseen: bool = False
    measured: MeasuredProfile | None = None
    trace_warnings: tuple[str, ...] = ()

    @property
    def about(self) -> str:
        """Its role."""
        return self.role

    @property
    def in_doubt(self) -> bool:
        """Whether its outline was found by the program, which doubts it, and nobody drew or compared it since."""
        return bool(self.polygon) and bool(self.trace_warnings)

    def check_fields(self, where: str) -> None:
        """Its role is one, ranges run upward, and a profile has an uncertainty at each point."""
        checked_role(self.role, where)
        for name in ("bare", "left_out"):
            for i, (low, high) in enumerate(getattr(self, name)):
                if low >= high:
                    raise InputError(where, f"{name}[{i}]", [low, high], "a range [low, high] in mm, the lower first")
        if self.measured is not None and len(self.measured.sd_mm) != len(self.measured.points):
            raise InputError(where, "measured.sd_mm", len(self.measured.sd_mm), "as many as there are points")


def checked_role(role: str, where: str = "view") -> str:
    """A role as it was given; an `InputError` where it is none."""
    if role not in ROLES and turn_deg(role) is None:
        raise InputError(where, "role", role, "one of: " + ", ".join(ROLES) + ", or a turn such as turn 07/12")
    return role


def turn_role(number: int, of: int) -> str:
    """
    The role of one of several even turns.

    Examples
    --------
    >>> turn_role(7, 12)
    'turn 07/12'
    """
    return f"turn {number:02d}/{of:02d}"


def turn_deg(role: str) -> float | None:
    """
    Degrees that a view is turned from the front; None where its role does not say.

    Examples
    --------
    >>> turn_deg("side"), turn_deg("turn 07/12"), turn_deg("lip")
    (90.0, 180.0, None)
    """
    named = {"front": 0.0, "side": 90.0, "back": 180.0}
    if role in named:
        return named[role]
    match = TURN.fullmatch(role)
    if match is None:
        return None
    number, of = int(match[1]), int(match[2])
    return 360.0 * (number - 1) / of if 1 <= number <= of else None


def evidence_view(role: str) -> str | None:
    """
    What an outline on such a view is to the engine: front, side or turned; None where it shows no whole outline.

    Examples
    --------
    >>> [evidence_view(role) for role in ("front", "back", "turn 04/12", "turn 02/12", "turned", "base")]
    ['front', 'front', 'side', 'turned', 'turned', None]
    """
    if role == "turned":
        return role
    turned = turn_deg(role)
    if turned is None:
        return None
    return {0.0: "front", 90.0: "side"}.get(turned % 180.0, "turned")

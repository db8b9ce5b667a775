"""
The plan of a vessel at one height: round, square, rectangle, oval, flask or polygon.

Conventions. The vessel stands with its front face to the eye. ``half_width`` (hw) is half of what the eye sees there
(turn 0), ``half_depth`` (hd) half of what it sees from the side (turn 90). A square, rectangle or polygon whose number
of sides divides by 4 is thus measured across its flats both ways. Other even polygons turn one flat to the front, so
that hw is across corners and hd across flats: a regular hexagon has hd = hw cos 30°. All views are from far away.

Necks and lips are round whatever the body is: with ``blend_mm`` = (round up to, full section from) the section passes
from round to its own kind between those two half-widths.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ellipe

from weftglass.errors import InputError
from weftglass.vessels.fields import number_of, record_of

FloatArray = NDArray[np.float64]

KINDS = ("round", "square", "rectangle", "oval", "flask", "polygon")
CORNER = {"square": 0.2, "rectangle": 0.25, "flask": 0.4}  # usual corner radius as a share of the lesser half-width
MOST_SIDES = 24


@dataclass(frozen=True)
class Section:
    """
    Shape of the plan; its size comes with each call.

    Parameters
    ----------
    kind : str
        round, square, rectangle, oval (an ellipse), flask (two curved faces joined by rounder edges) or polygon.
    sides : int or None
        Number of sides of a polygon, 3 to 24; None otherwise.
    corner : float or None
        Corner radius of a square or rectangle, edge radius of a flask, as a share (0 to 1) of the lesser half-width.
        Default: 0.2, 0.25 and 0.4. None for the other kinds.
    blend_mm : (low, high) or None
        Half-widths (the greater of hw and hd) up to ``low`` are round, from ``high`` on of the full kind.

    Examples
    --------
    >>> round(float(Section("square", corner=0.0).silhouette_half_width(40, 40, 45)), 2)
    56.57
    >>> Section.from_record({"kind": "polygon", "sides": 8}, "here").sides
    8
    """

    kind: str
    sides: int | None = None
    corner: float | None = None
    blend_mm: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputError("section", "section.kind", self.kind, "one of: " + ", ".join(KINDS))
        if (self.sides is None) == (self.kind == "polygon"):
            raise InputError("section", "section.sides", self.sides, f"3 to {MOST_SIDES} for a polygon, else left out")
        if self.corner is None and self.kind in CORNER:
            object.__setattr__(self, "corner", CORNER[self.kind])

    @classmethod
    def from_record(cls, value: object, where: str) -> Section:
        """Read ``{"kind": ..., "sides": ..., "corner": ..., "blend_mm": [low, high]}``; only kind is required."""
        record = record_of(value, where, "section")
        kind = record.get("kind")
        if not isinstance(kind, str) or kind not in KINDS:
            raise InputError(where, "section.kind", kind, "one of: " + ", ".join(KINDS))
        return cls(kind, _sides(record, kind, where), _corner(record, kind, where), _blend(record, where))

    def to_record(self) -> dict[str, Any]:
        """The form file's entry; `from_record` reads it back to an equal section."""
        record: dict[str, Any] = {"kind": self.kind}
        if self.sides is not None:
            record["sides"] = self.sides
        if self.corner is not None and self.corner != CORNER.get(self.kind):
            record["corner"] = self.corner
        if self.blend_mm is not None:
            record["blend_mm"] = list(self.blend_mm)
        return record

    def area_mm2(self, half_width: ArrayLike, half_depth: ArrayLike) -> FloatArray:
        """Area of the plan in mm², for half-widths and half-depths in mm; arrays broadcast. Exact."""
        a, b = _pair(half_width, half_depth)
        if self.kind == "round":
            return np.asarray(np.pi * a * a)
        if self.kind == "oval":
            return np.asarray(np.pi * a * b)
        if self.kind == "flask":
            return _flask_area(a, b, self._corner_share(a, b))
        if self.kind == "polygon":
            s = self._roundness(a, b)
            unit = self._unit_polygon()
            edge = float(np.hypot(*(np.roll(unit, -1, axis=0) - unit).T).sum())
            # mixed area of a polygon and its disc is half the perimeter (Minkowski); an affine image keeps the ratio
            own, mixed = _shoelace(unit), edge / 2
            return np.asarray(((1 - s) ** 2 * own + 2 * s * (1 - s) * mixed + s * s * np.pi) * a * b)
        r = self._corner_share(a, b) * np.minimum(a, b)
        return np.asarray(4 * a * b - (4 - np.pi) * r * r)

    def perimeter_mm(self, half_width: ArrayLike, half_depth: ArrayLike) -> FloatArray:
        """Length of the plan's edge in mm, what a tape round it reads. Exact."""
        a, b = _pair(half_width, half_depth)
        if self.kind == "round":
            return np.asarray(2 * np.pi * a)
        if self.kind == "oval":
            return _ellipse_perimeter(a, b)
        if self.kind == "flask":
            return _flask_perimeter(a, b, self._corner_share(a, b))
        if self.kind == "polygon":
            s = self._roundness(a, b)
            unit = self._unit_polygon()
            step = np.roll(unit, -1, axis=0) - unit
            own = np.hypot(step[:, 0] * a[..., None], step[:, 1] * b[..., None]).sum(axis=-1)
            return np.asarray((1 - s) * own + s * _ellipse_perimeter(a, b))
        r = self._corner_share(a, b) * np.minimum(a, b)
        return np.asarray(4 * (a + b) - (8 - 2 * np.pi) * r)

    def silhouette_half_width(
        self, half_width: ArrayLike, half_depth: ArrayLike, turn_deg: float | ArrayLike
    ) -> FloatArray:
        """
        Half of the width seen from far away when the vessel is turned about its axis.

        Parameters
        ----------
        half_width, half_depth : array_like
            In mm, of the front (turn 0) and side (turn 90).
        turn_deg : float or array_like
            Turn of the vessel from its front, degrees, any value.

        Returns
        -------
        array
            In mm; for polygons with an odd number of sides half of the whole width, which lies unevenly about the axis.
        """
        a, b = _pair(half_width, half_depth)
        if self.kind == "round":
            return np.asarray(a + 0.0 * np.asarray(turn_deg, dtype=np.float64))
        turn = np.deg2rad(np.asarray(turn_deg, dtype=np.float64))
        c, s = np.abs(np.cos(turn)), np.abs(np.sin(turn))
        if self.kind == "oval":
            return np.asarray(np.hypot(a * c, b * s))
        if self.kind == "flask":
            return _flask_support(a, b, self._corner_share(a, b), c, s)
        if self.kind == "polygon":
            unit = self._unit_polygon()
            across = unit[:, 0] * (a * np.cos(turn))[..., None] + unit[:, 1] * (b * np.sin(turn))[..., None]
            own = 0.5 * (across.max(axis=-1) - across.min(axis=-1))
            roundness = self._roundness(a, b)
            return np.asarray((1 - roundness) * own + roundness * np.hypot(a * c, b * s))
        r = self._corner_share(a, b) * np.minimum(a, b)
        return np.asarray((a - r) * c + (b - r) * s + r)

    def edge_points(self, half_width: float, half_depth: float, n: int = 180) -> FloatArray:
        """
        The plan's edge as points, so that a body can be meshed: point i of one height belongs to point i of the next.

        Parameters
        ----------
        half_width, half_depth : float
            In mm.
        n : int
            Number of points, at least 8.

        Returns
        -------
        array, shape (n, 2)
            (x to the right, y to the back) in mm, counter-clockwise from the right, by equal steps of direction seen
            from the axis after the plan is scaled to a square; a step next to a corner is moved onto it.
        """
        turn = self._directions(n)
        ray = np.column_stack([half_width * np.cos(turn), half_depth * np.sin(turn)])
        length = np.hypot(ray[:, 0], ray[:, 1])
        if half_width <= 0 or half_depth <= 0:
            return np.zeros((n, 2))
        towards = ray / length[:, None]
        normals = self._normals(half_width, half_depth)
        reach = self._support(half_width, half_depth, normals)
        facing = towards @ np.stack([np.cos(normals), np.sin(normals)])
        with np.errstate(divide="ignore"):
            distance = np.where(facing > 1e-9, reach / np.maximum(facing, 1e-9), np.inf).min(axis=1)
        return np.asarray(towards * distance[:, None])

    def _directions(self, n: int) -> FloatArray:
        turn = 2 * np.pi * np.arange(n) / n
        if self.kind == "polygon":
            unit = self._unit_polygon()
            corners = np.arctan2(unit[:, 1], unit[:, 0])
        elif self.kind in ("square", "rectangle"):
            corners = np.pi / 4 * np.array([1, 3, 5, 7])
        else:
            return turn
        corners = np.mod(corners, 2 * np.pi)
        turn[np.round(corners / (2 * np.pi) * n).astype(np.int64) % n] = corners
        return turn

    def _normals(self, a: float, b: float) -> FloatArray:
        fine = 2 * np.pi * np.arange(1440) / 1440
        if self.kind != "polygon":
            return fine
        unit = self._unit_polygon() * [a, b]
        step = np.roll(unit, -1, axis=0) - unit
        return np.concatenate([fine, np.arctan2(-step[:, 0], step[:, 1])])

    def _support(self, a: float, b: float, normals: FloatArray) -> FloatArray:
        if self.kind != "polygon":
            return self.silhouette_half_width(a, b, np.rad2deg(normals))
        unit = self._unit_polygon()
        own = (np.outer(np.cos(normals), unit[:, 0] * a) + np.outer(np.sin(normals), unit[:, 1] * b)).max(axis=1)
        s = self._roundness(np.asarray(a), np.asarray(b))
        return np.asarray((1 - s) * own + s * np.hypot(a * np.cos(normals), b * np.sin(normals)))

    def _roundness(self, a: FloatArray, b: FloatArray) -> FloatArray:
        """0 where the section is of its full kind, 1 where it is round."""
        if self.blend_mm is None:
            return np.zeros(np.broadcast(a, b).shape)
        low, high = self.blend_mm
        return np.clip((high - np.maximum(a, b)) / (high - low), 0.0, 1.0)

    def _corner_share(self, a: FloatArray, b: FloatArray) -> FloatArray:
        corner = self.corner or 0.0
        return np.asarray(corner + (1.0 - corner) * self._roundness(a, b))

    def _unit_polygon(self) -> FloatArray:
        """Corners, counter-clockwise, scaled so that the half-extents in x and y are 1."""
        sides = self.sides or 4
        corners = -np.pi / 2 - np.pi / sides + 2 * np.pi * np.arange(sides) / sides  # a flat to the front (y < 0)
        xy = np.column_stack([np.cos(corners), np.sin(corners)])
        return np.asarray(xy / (0.5 * (xy.max(axis=0) - xy.min(axis=0))))


def _pair(half_width: ArrayLike, half_depth: ArrayLike) -> tuple[FloatArray, FloatArray]:
    a, b = np.broadcast_arrays(np.asarray(half_width, dtype=np.float64), np.asarray(half_depth, dtype=np.float64))
    return a, b


def _shoelace(xy: FloatArray) -> float:
    x, y = xy.T
    return 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _ellipse_perimeter(a: FloatArray, b: FloatArray) -> FloatArray:
    long, short = np.maximum(a, b), np.minimum(a, b)
    flatness = 1.0 - np.divide(short, long, out=np.ones_like(long), where=long > 0) ** 2
    return np.asarray(4.0 * long * ellipe(flatness))


def _flask_arcs(
    a: FloatArray, b: FloatArray, share: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """
    Long and short half-axis, edge radius r, face radius R and half-angle of a face, of an oval of four tangent arcs.

    The edge arc has its centre at (long - r, 0), the face arc at (0, short - R); they touch inside each other, so
    (long - r)² + (R - short)² = (R - r)².
    """
    long, short = np.maximum(a, b), np.minimum(a, b)
    r = share * short
    gap = short - r
    flat = gap > 1e-9 * np.maximum(long, 1e-12)
    face = np.where(flat, ((long - r) ** 2 + short**2 - r**2) / np.where(flat, 2 * gap, 1.0), np.inf)
    half = np.where(flat, np.arctan2(long - r, np.where(flat, face - short, 1.0)), 0.0)
    return long, short, r, face, half


def _flask_area(a: FloatArray, b: FloatArray, share: FloatArray) -> FloatArray:
    long, short, r, face, half = _flask_arcs(a, b, share)
    flat = np.isfinite(face)
    wide = np.where(flat, face, 0.0)
    arcs = wide**2 * half - (long - r) * (wide - short) + r * r * (np.pi / 2 - half)
    return np.asarray(np.where(flat, 2 * arcs, 4 * (long - r) * short + np.pi * r * r))


def _flask_perimeter(a: FloatArray, b: FloatArray, share: FloatArray) -> FloatArray:
    long, _, r, face, half = _flask_arcs(a, b, share)
    flat = np.isfinite(face)
    along = np.where(flat, np.where(flat, face, 0.0) * half, long - r)
    return np.asarray(4 * (along + r * (np.pi / 2 - half)))


def _flask_support(a: FloatArray, b: FloatArray, share: FloatArray, c: FloatArray, s: FloatArray) -> FloatArray:
    long, short, r, face, half = _flask_arcs(a, b, share)
    along, across = np.where(a >= b, c, s), np.where(a >= b, s, c)
    on_edge = np.arctan2(across, along) <= np.pi / 2 - half
    wide = np.where(np.isfinite(face), face, short)
    return np.asarray(np.where(on_edge, (long - r) * along + r, short * across + wide * (1 - across)))


def _sides(record: Mapping[str, Any], kind: str, where: str) -> int | None:
    sides = record.get("sides")
    if kind != "polygon":
        return None
    expected = f"a whole number from 3 to {MOST_SIDES}"
    number = number_of(sides, where, "section.sides", expected, low=3, high=MOST_SIDES)
    if number != int(number):
        raise InputError(where, "section.sides", sides, expected)
    return int(number)


def _corner(record: Mapping[str, Any], kind: str, where: str) -> float | None:
    corner = record.get("corner")
    if corner is None or kind not in CORNER:
        return None
    expected = "a share of the lesser half-width from 0 to 1"
    return number_of(corner, where, "section.corner", expected, low=0.0, high=1.0)


def _blend(record: Mapping[str, Any], where: str) -> tuple[float, float] | None:
    blend = record.get("blend_mm")
    if blend is None:
        return None
    expected = "two half-widths in mm, the lower first: round up to the one, full section from the other"
    if isinstance(blend, str) or not hasattr(blend, "__len__") or len(blend) != 2:
        raise InputError(where, "section.blend_mm", blend, expected)
    low, high = (number_of(v, where, "section.blend_mm", expected, low=0.0, high=1500.0) for v in blend)
    if low >= high:
        raise InputError(where, "section.blend_mm", blend, expected)
    return low, high

"""The outer edge of a piece, measured: half-width against height, with its uncertainty and its bare ranges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError, Unfit, numbers_text
from weftglass.evidence.reading import Record, need_list, need_range, need_text, refuse_unknown
from weftglass.vessels.fields import number_of

FloatArray = NDArray[np.float64]
Ranges = tuple[tuple[float, float], ...]

VIEWS = ("front", "side", "turned")
KNOWN = frozenset({"view", "points", "sd_mm", "scale_sd", "bare", "hidden", "distance_mm", "base_unseen", "top_unseen"})
MAX_POINTS = 5000


def frozen(values: ArrayLike) -> FloatArray:
    """A read-only float copy of the values."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, eq=False)
class Outline:
    """
    One outline of a piece.

    Parameters
    ----------
    view : str
        ``front``, ``side`` or ``turned`` (by an unknown angle).
    points : array, shape (n, 2), 8 <= n <= 5000
        Rows of (height z, half-width) in mm; z rising from the standing plane of the piece, half-width >= 0.
    sd_mm : float or array, shape (n,)
        Standard deviation of the edge, in mm along its normal, above 0.
    scale_sd : float
        Relative standard deviation of the scale that all lengths share, 0 to 0.5.
    bare : tuple of (low, high)
        Height ranges in mm where glass itself is the outer edge.
    hidden : tuple of (low, high)
        Height ranges in mm where the edge is not the piece's (a strap, a hand, a handle): left out of the fit.
    distance_mm : float or None
        From camera to axis, 50 to 100,000 mm; a flat front face stands nearer than the axis and looks larger for it.
    base_unseen : bool
        The base is cropped or hidden: heights count from the lowest point that is seen, the base is somewhere below.
    top_unseen : bool
        The last point is not the top of the piece.
    """

    view: str
    points: FloatArray
    sd_mm: FloatArray
    scale_sd: float = 0.015
    bare: Ranges = ()
    hidden: Ranges = ()
    distance_mm: float | None = None
    base_unseen: bool = False
    top_unseen: bool = False

    @classmethod
    def of(
        cls,
        points: ArrayLike,
        *,
        view: str = "front",
        sd_mm: ArrayLike = 0.4,
        scale_sd: float = 0.015,
        bare: Sequence[tuple[float, float]] = (),
        hidden: Sequence[tuple[float, float]] = (),
        distance_mm: float | None = None,
        base_unseen: bool = False,
        top_unseen: bool = False,
        where: str = "outline",
    ) -> Outline:
        """
        Check and freeze an outline.

        Raises
        ------
        InputError
            If a condition in the class description is broken.

        Examples
        --------
        >>> cylinder = Outline.of([[z, 40.0] for z in range(0, 100, 10)], bare=[(80, 90)])
        >>> cylinder.height_mm
        90.0
        """
        rows = _checked_points(points, where)
        given = np.asarray(sd_mm, dtype=np.float64)
        if given.shape not in ((), (len(rows),)):
            wrong = f"sd_mm has {given.size} numbers"
            raise Unfit(where, "sd_mm", wrong, f"one number in mm, or {len(rows)}, one a point")
        sd = np.broadcast_to(given, (len(rows),))
        if not np.all(np.isfinite(sd)) or np.any(sd <= 0) or np.any(sd > 100):
            raise InputError(where, "sd_mm", sd_mm, "a number above 0 and at most 100, in mm")
        if view not in VIEWS:
            raise InputError(where, "view", view, "one of: " + ", ".join(VIEWS))
        scale = number_of(scale_sd, where, "scale_sd", "a share between 0 and 0.5", low=0.0, high=0.5)
        if distance_mm is not None:
            words = "the distance from camera to axis, 50 to 100000, in mm"
            distance_mm = number_of(distance_mm, where, "distance_mm", words, low=50.0, high=1e5)
        for name, value in (("base_unseen", base_unseen), ("top_unseen", top_unseen)):
            if not isinstance(value, bool):
                raise InputError(where, name, value, "true or false")
        ends = (base_unseen, top_unseen)
        return cls(view, frozen(rows), frozen(sd), scale, tuple(bare), tuple(hidden), distance_mm, *ends)

    @classmethod
    def from_record(cls, record: Record, where: str, field: str) -> Outline:
        """Read the contract's form of an outline; see `of` for what is refused."""
        refuse_unknown(record, KNOWN, where, field)
        ranges = {
            name: tuple(
                need_range(item, where, f"{field}.{name}[{i}]")
                for i, item in enumerate(need_list(record.get(name), where, f"{field}.{name}"))
            )
            for name in ("bare", "hidden")
        }
        points = need_list(record.get("points"), where, f"{field}.points")
        try:
            return cls.of(
                _as_array(points, where, f"{field}.points"),
                view=need_text(record.get("view", "front"), where, f"{field}.view", "one of: " + ", ".join(VIEWS)),
                sd_mm=_as_sd(record.get("sd_mm", 0.4), where, f"{field}.sd_mm"),
                scale_sd=number_of(
                    record.get("scale_sd", 0.015), where, f"{field}.scale_sd", "a share between 0 and 0.5"
                ),
                bare=ranges["bare"],
                hidden=ranges["hidden"],
                distance_mm=record.get("distance_mm"),
                base_unseen=record.get("base_unseen", False),
                top_unseen=record.get("top_unseen", False),
                where=where,
            )
        except InputError as fault:
            name = fault.field if fault.field.startswith(field) else f"{field}.{fault.field}"
            raise InputError(where, name, fault.value, fault.expected) from None

    def to_record(self) -> dict[str, Any]:
        """The contract's form; `from_record` reads it back to the same outline."""
        one = bool(np.all(self.sd_mm == self.sd_mm[0]))
        record: dict[str, Any] = {
            "view": self.view,
            "points": self.points.tolist(),
            "sd_mm": float(self.sd_mm[0]) if one else self.sd_mm.tolist(),
            "scale_sd": self.scale_sd,
            "bare": [list(pair) for pair in self.bare],
        }
        if self.hidden:
            record["hidden"] = [list(pair) for pair in self.hidden]
        if self.distance_mm is not None:
            record["distance_mm"] = self.distance_mm
        for name, cut in (("base_unseen", self.base_unseen), ("top_unseen", self.top_unseen)):
            if cut:
                record[name] = True
        return record

    @property
    def height_mm(self) -> float:
        """Height of the topmost point above the standing plane, mm."""
        return float(self.points[-1, 0])


def _as_array(points: Sequence[Any], where: str, field: str) -> FloatArray:
    expected = "rows of two numbers, height and half-width in mm"
    for i, row in enumerate(points):
        pair = row if isinstance(row, Sequence) and not isinstance(row, str) else ()
        if len(pair) != 2:
            raise InputError(where, f"{field}[{i}]", row, expected)
        for value in pair:
            number_of(value, where, f"{field}[{i}]", expected)
    return np.array(points, dtype=np.float64).reshape(-1, 2)


def _as_sd(value: object, where: str, field: str) -> ArrayLike:
    expected = "a number above 0 and at most 100, in mm, or one for each point"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [number_of(item, where, f"{field}[{i}]", expected) for i, item in enumerate(value)]
    return number_of(value, where, field, expected)


def _checked_points(points: ArrayLike, where: str) -> FloatArray:
    rows = np.asarray(points, dtype=np.float64)
    if rows.ndim != 2 or rows.shape[1:] != (2,) or not 8 <= len(rows) <= MAX_POINTS:
        wrong = f"points has {numbers_text(rows.shape)}"
        raise Unfit(where, "points", wrong, f"8 to {MAX_POINTS} rows of height and half-width in mm")
    if not np.all(np.isfinite(rows)) or np.any(np.abs(rows) > 3000):
        raise Unfit(where, "points", "a point is not finite or over 3000 mm", "finite numbers of at most 3000 mm")
    if np.any(rows[:, 1] < 0):
        bad = int(np.argmax(rows[:, 1] < 0))
        raise InputError(where, f"points[{bad}][1]", rows[bad, 1], "a half-width of 0 or more, in mm")
    falls = np.diff(rows[:, 0]) <= 0
    if np.any(falls):
        bad = int(np.argmax(falls)) + 1
        raise InputError(where, f"points[{bad}][0]", rows[bad, 0], "a height above the one before it, in mm")
    if rows[-1, 0] - rows[0, 0] < 10:
        wrong = f"the outline is {rows[-1, 0] - rows[0, 0]:.3g} mm tall"
        raise Unfit(where, "points", wrong, "an outline at least 10 mm tall")
    return rows

"""The contour of a vessel: half-width against height above the standing plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError, Unfit, numbers_text

FloatArray = NDArray[np.float64]

TALLEST_MM = 3000.0
WIDEST_MM = 1500.0  # half-width
MOST_POINTS = 20_000


@dataclass(frozen=True, eq=False)
class Profile:
    """
    Half-width against height, in mm, straight between its rows.

    Parameters
    ----------
    points : array, shape (n, 2), n >= 2
        Read-only rows of (height z, half-width); z rises strictly from the standing plane z = 0, half-width >= 0.
        Build one with `Profile.of`, which checks this.

    Examples
    --------
    >>> cylinder = Profile.of([[0, 40], [100, 40]])
    >>> cylinder.height_mm
    100.0
    >>> cylinder.half_width_at([-1, 50, 101]).tolist()
    [0.0, 40.0, 0.0]
    """

    points: FloatArray

    @classmethod
    def of(cls, points: ArrayLike, where: str = "profile") -> Profile:
        """
        Check rows and freeze them.

        Parameters
        ----------
        points : array_like, shape (n, 2)
            Rows of (z, half-width) in mm.
        where : str
            What an error should call the place the rows came from.

        Raises
        ------
        InputError
            Not n >= 2 rows of two finite numbers; z not strictly rising or below 0; a half-width below 0; taller than
            3 m or wider than 3 m; no width anywhere.
        """
        return cls(_checked(points, where))

    @property
    def z_mm(self) -> FloatArray:
        """Heights, mm, (n,)."""
        return self.points[:, 0]

    @property
    def half_width_mm(self) -> FloatArray:
        """Half-widths, mm, (n,)."""
        return self.points[:, 1]

    @property
    def height_mm(self) -> float:
        """Height of the top above the standing plane, mm."""
        return float(self.points[-1, 0])

    @property
    def widest_mm(self) -> float:
        """Greatest half-width, mm."""
        return float(self.points[:, 1].max())

    def half_width_at(self, z: ArrayLike) -> FloatArray:
        """Half-width in mm at heights z in mm: linear between rows, both ends included, 0 outside."""
        heights = np.asarray(z, dtype=np.float64)
        return np.asarray(np.interp(heights, self.z_mm, self.half_width_mm, left=0.0, right=0.0))

    def stretched(self, height: float = 1.0, width: float = 1.0) -> Profile:
        """The profile with every height and every half-width multiplied by a factor above 0."""
        return Profile.of(self.points * np.array([height, width]), "stretched profile")

    def resampled(self, n: int) -> Profile:
        """The profile read at n >= 2 equal height steps, ends included; corners between steps are cut."""
        if n < 2:
            raise InputError("profile", "n", n, "a whole number of at least 2")
        z = np.linspace(self.points[0, 0], self.points[-1, 0], n)
        return Profile.of(np.column_stack([z, self.half_width_at(z)]), "resampled profile")

    def simplified(self, tolerance_mm: float) -> Profile:
        """The profile without rows that a straight line replaces to within a tolerance (Douglas and Peucker 1973)."""
        points = self.points
        keep = {0, len(points) - 1}
        spans = [(0, len(points) - 1)]
        while spans:
            first, last = spans.pop()
            if last - first < 2:
                continue
            chord = points[last] - points[first]
            offset = points[first + 1 : last] - points[first]
            distance = np.abs(chord[0] * offset[:, 1] - chord[1] * offset[:, 0]) / np.hypot(*chord)
            far = int(distance.argmax())
            if distance[far] > tolerance_mm:
                middle = first + 1 + far
                keep.add(middle)
                spans += [(first, middle), (middle, last)]
        return Profile.of(points[sorted(keep)], "simplified profile")


def _checked(points: ArrayLike, where: str) -> FloatArray:
    rows_wanted = f"at least 2 and at most {MOST_POINTS} rows [z, half-width] of finite numbers in mm"
    try:
        rows = np.array(points, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        raise InputError(where, "profile", points, rows_wanted) from None
    if rows.ndim != 2 or rows.shape[1] != 2 or not 2 <= len(rows) <= MOST_POINTS:
        wrong = f"profile has {numbers_text(rows.shape)}"
        raise Unfit(where, "profile", wrong, rows_wanted)
    bad = np.flatnonzero(~np.isfinite(rows).all(axis=1))
    if bad.size:
        raise InputError(where, f"profile[{bad[0]}]", rows[bad[0]].tolist(), "two finite numbers in mm")
    low = np.flatnonzero(rows[:, 1] < 0)
    if low.size:
        raise InputError(where, f"profile[{low[0]}][1]", rows[low[0], 1], "a half-width of at least 0, in mm")
    if rows[0, 0] < 0:
        raise InputError(where, "profile[0][0]", rows[0, 0], "a height of at least 0, in mm above the standing plane")
    falling = np.flatnonzero(np.diff(rows[:, 0]) <= 0)
    if falling.size:
        i = int(falling[0]) + 1
        raise InputError(where, f"profile[{i}][0]", rows[i, 0], f"a height above {rows[i - 1, 0]:g} mm, the one before")
    if rows[-1, 0] > TALLEST_MM:
        raise InputError(where, "profile height", rows[-1, 0], f"at most {TALLEST_MM:g} mm")
    widest = rows[:, 1].max()
    if not 0 < widest <= WIDEST_MM:
        raise InputError(where, "profile half-width", widest, f"above 0 and at most {WIDEST_MM:g} mm somewhere")
    rows.setflags(write=False)
    return rows

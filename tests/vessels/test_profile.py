"""Profiles: what is right stays as it is and cannot be changed, what is wrong is named by its row."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.vessels.strategies import profiles
from weftglass.errors import InputError
from weftglass.vessels import Profile


def test_half_width_is_linear_between_rows_and_zero_outside() -> None:
    """Ends belong to the vessel; just beyond them there is none."""
    cone = Profile.of([[0, 30], [90, 0]])
    np.testing.assert_allclose(cone.half_width_at([-0.01, 0, 45, 90, 90.01]), [0, 30, 15, 0, 0])


def test_points_are_read_only() -> None:
    """A frozen dataclass does not freeze its array; `of` does."""
    profile = Profile.of([[0, 30], [90, 10]])
    with pytest.raises(ValueError, match="read-only"):
        profile.points[0, 1] = 5.0


def test_the_given_array_is_not_touched() -> None:
    """Freezing happens to a copy."""
    rows = np.array([[0.0, 30.0], [90.0, 10.0]])
    Profile.of(rows)
    rows[0, 1] = 5.0
    assert rows.flags.writeable


WRONG = {
    "one row": ([[0, 1]], "profile"),
    "three columns": ([[0, 1, 2], [1, 2, 3]], "profile"),
    "ragged": ([[0, 1], [2]], "profile"),
    "words": ([["a", "b"], ["c", "d"]], "profile"),
    "nothing": ([], "profile"),
    "none": (None, "profile"),
    "not a number": ([[0, 1], [1, float("nan")]], "profile[1]"),
    "infinite": ([[0, 1], [float("inf"), 1]], "profile[1]"),
    "negative width": ([[0, 1], [1, -0.5]], "profile[1][1]"),
    "below the plane": ([[-1, 1], [1, 1]], "profile[0][0]"),
    "same height twice": ([[0, 1], [5, 2], [5, 3]], "profile[2][0]"),
    "falling": ([[0, 1], [5, 2], [4, 3]], "profile[2][0]"),
    "a tower": ([[0, 1], [5000, 2]], "profile height"),
    "a lake": ([[0, 1], [100, 90_000]], "profile half-width"),
    "no width at all": ([[0, 0], [100, 0]], "profile half-width"),
    "too many rows": (np.column_stack([np.arange(30_000) / 100, np.ones(30_000)]), "profile"),
}


@pytest.mark.parametrize(("rows", "field"), WRONG.values(), ids=WRONG.keys())
def test_a_bad_profile_is_refused_and_its_row_named(rows: object, field: str) -> None:
    """The error names where, the row and what would be right."""
    with pytest.raises(InputError) as caught:
        Profile.of(rows, "the file line 3")  # type: ignore[arg-type]
    assert caught.value.field == field
    assert str(caught.value).startswith("the file line 3: ")


@given(profiles(), st.floats(0.3, 3.0), st.floats(0.3, 3.0))
def test_stretching_there_and_back_changes_nothing(profile: Profile, height: float, width: float) -> None:
    """Height and width are independent factors."""
    back = profile.stretched(height, width).stretched(1 / height, 1 / width)
    np.testing.assert_allclose(back.points, profile.points, rtol=1e-12, atol=1e-9)


@given(profiles(), st.integers(2, 50))
def test_resampling_keeps_ends_and_lies_on_the_profile(profile: Profile, n: int) -> None:
    """Every new row is a point of the old contour."""
    fine = profile.resampled(n)
    assert len(fine.points) == n
    assert fine.height_mm == profile.height_mm
    np.testing.assert_allclose(fine.half_width_mm, profile.half_width_at(fine.z_mm))

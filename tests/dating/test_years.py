"""Curves over years: soft ranges, their four years, and dates in words."""

import edtf
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weftglass.dating.extended import read_extended
from weftglass.dating.span import DateSpan, mean_and_sd, span_of
from weftglass.dating.spoken import spoken_date
from weftglass.dating.years import YEARS, lagging, normal, not_after, not_before, soft_range
from weftglass.errors import InputError

FOUR = st.lists(st.integers(1450, 2020), min_size=4, max_size=4).map(sorted)


@given(FOUR, st.sampled_from(["high", "medium", "low"]))
def test_soft_range_is_whole_in_its_core_and_never_nothing(years: list[int], how_sure: str) -> None:
    curve = soft_range(*years, how_sure)
    core = (years[1] <= YEARS) & (years[2] >= YEARS)
    assert (curve[core] == 1.0).all()
    assert (curve > 0).all()
    assert (np.diff(curve[years[1] >= YEARS]) >= 0).all()
    assert (np.diff(curve[years[2] <= YEARS]) <= 0).all()


def test_soft_range_still_made_has_no_end() -> None:
    assert (soft_range(1905, 1910, None, None)[YEARS >= 1910] == 1.0).all()


def test_not_before_and_not_after_mirror_each_other() -> None:
    assert not_before(1900)[YEARS == 1890].item() < 0.01 < not_after(1900)[YEARS == 1890].item()
    assert not_after(1900)[YEARS == 1910].item() < 0.01


@given(FOUR)
def test_span_of_holds_what_it_says(years: list[int]) -> None:
    curve = normal(soft_range(*years, "high"))
    span = span_of(curve)
    within = curve[(span.earliest <= YEARS) & (span.latest >= YEARS)].sum()
    likely = curve[(span.likely_from <= YEARS) & (span.likely_to >= YEARS)].sum()
    shorter = curve[(span.likely_from < YEARS) & (span.likely_to >= YEARS)].sum()
    assert within >= 0.95 - 1e-9
    assert likely >= 0.68 - 1e-9 > shorter - 1e-9


@given(FOUR)
def test_span_as_extended_date_reads_back(years: list[int]) -> None:
    span = DateSpan(*years)
    assert read_extended(span.edtf).years == (span.earliest, span.latest)
    assert read_extended(span.likely_edtf).years == (span.likely_from, span.likely_to)
    assert spoken_date(span.edtf) == DateSpan(span.earliest, span.earliest, span.latest, span.latest)


def test_span_refuses_years_that_fall() -> None:
    with pytest.raises(InputError, match="none before the other"):
        DateSpan(1900, 1890, 1895, 1910)


def test_normal_refuses_a_curve_without_weight() -> None:
    with pytest.raises(InputError):
        normal(np.zeros(len(YEARS)))


@given(st.integers(1500, 1950), st.floats(1.0, 8.0))
def test_lagging_runs_late_and_never_early(year: int, lag: float) -> None:
    curve = lagging((year == YEARS).astype(float), lag)
    assert curve[year > YEARS].sum() == 0.0
    np.testing.assert_allclose(curve.sum(), 1.0)
    assert year < mean_and_sd(curve)[0] < year + lag


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1908", 1908, 1908),
        ("1908, worked in", 1908, 1908),
        ("1890-1900", 1890, 1900),
        ("between 1890 and 1900", 1890, 1900),
        ("1890s", 1890, 1899),
        ("early 1890s", 1890, 1892),
        ("19th century", 1801, 1900),
        ("early 20th century", 1901, 1933),
        ("first quarter of the 20th century", 1901, 1925),
        ("1890/1900", 1890, 1900),
        ("189X", 1890, 1899),
        ("[1890,1895]", 1890, 1895),
        ("after 1890", 1890, 2030),
        ("not later than 1910", 1400, 1910),
        ("1890/..", 1890, 2030),
    ],
)
def test_spoken_date_without_about_is_as_wide_as_its_words(text: str, first: int, last: int) -> None:
    assert spoken_date(text) == DateSpan(first, first, last, last)


@pytest.mark.parametrize("text", ["about 1895", "c. 1895", "1895?", "1895~", "circa 1895"])
def test_spoken_date_with_about_is_softer(text: str) -> None:
    assert spoken_date(text) == DateSpan(1883, 1890, 1900, 1907)


@pytest.mark.parametrize("text", ["", "old", "3000 BC", "12", "1899-1850"])
def test_spoken_date_that_is_none_reads_as_none(text: str) -> None:
    assert spoken_date(text) is None


@given(FOUR)
@settings(max_examples=30, deadline=None)
def test_extended_date_reads_the_same_in_a_general_library(years: list[int]) -> None:
    """The edtf package, which knows nothing of us, finds the same bounds in what we write."""
    span = DateSpan(*years)
    for text, first, last in (
        (span.edtf, span.earliest, span.latest),
        (span.likely_edtf, span.likely_from, span.likely_to),
    ):
        theirs = edtf.parse_edtf(text)
        assert (theirs.lower_strict().tm_year, theirs.upper_strict().tm_year) == (first, last)

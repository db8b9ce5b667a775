"""What a collection shows: tables, preferences, buying habits, completeness, rarity."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weftglass.errors import InputError
from weftglass.holdings import (
    Holding,
    Tally,
    association,
    buying_warning,
    completeness,
    cross,
    growth_curve,
    preferences,
    rarity,
)


def pieces(*cells: tuple[str, str, int], source: str = "") -> list[Holding]:
    terms = [
        {"community": row, "form": column, **({"source": source} if source else {})}
        for row, column, count in cells
        for _ in range(count)
    ]
    return [Holding(f"{source}{i}", one) for i, one in enumerate(terms)]


def test_cross_counts_every_piece_once_and_names_those_left_out() -> None:
    held = [*pieces(("A", "flask", 3), ("B", "jar", 1)), Holding("odd", {"community": "A"})]
    table = cross(held, "community", "form", rows=["C"])
    assert table.rows == ("A", "B", "C")
    assert table.counts.tolist() == [[3, 0], [0, 1], [0, 0]]
    assert table.pieces["B", "jar"] == ("3",)
    assert table.left_out == ("odd",)


def test_cross_refuses_a_term_against_itself() -> None:
    with pytest.raises(InputError, match="two different terms"):
        cross([], "form", "form")


def test_a_planted_preference_is_named_in_plain_words() -> None:
    held = pieces(("A", "flask", 8), ("A", "jar", 1), ("B", "flask", 1), ("B", "jar", 12), ("C", "jar", 9))
    first = preferences(cross(held, "community", "form"))[0]
    assert (first.row, first.column, first.favoured) == ("A", "flask", True)
    assert first.q < 0.01
    assert first.sentence == "Of 9 pieces from A, 8 are on flask; by chance 3 would be."
    assert first.odds_ratio.low > 1


def test_no_preference_is_reported_where_there_is_none() -> None:
    held = pieces(("A", "flask", 5), ("A", "jar", 5), ("B", "flask", 5), ("B", "jar", 5))
    assert all(one.q > 0.999 for one in preferences(cross(held, "community", "form")))
    assert association([[5, 5], [5, 5]]).strength.low == 0


def test_association_refuses_a_single_row() -> None:
    with pytest.raises(InputError, match="at least two rows"):
        association([[3, 4], [0, 0]])


def test_buying_from_one_source_is_warned_of() -> None:
    """All flasks of A came from one dealer, who had nothing else."""
    held = [
        *pieces(("A", "flask", 8), ("A", "jar", 1), source="dealer"),
        *pieces(("B", "flask", 1), ("B", "jar", 12), source="fairs"),
    ]
    first = preferences(cross(held, "community", "form"))[0]
    assert "one source (dealer)" in buying_warning(first, held, "community", "form")


def test_no_warning_where_every_source_shows_the_preference() -> None:
    held = []
    for source in ("dealer", "fairs", "gifts"):
        held += pieces(("A", "flask", 6), ("A", "jar", 1), ("B", "flask", 1), ("B", "jar", 7), source=source)
    first = preferences(cross(held, "community", "form"))[0]
    assert buying_warning(first, held, "community", "form") == ""


@given(st.lists(st.integers(0, 30), min_size=1, max_size=20).filter(any))
def test_completeness_holds_together_for_any_counts(counts: list[int]) -> None:
    found = completeness(counts)
    assert 0 <= found.coverage.low <= found.coverage.value <= found.coverage.high <= 1
    assert found.kinds <= found.kinds_at_least.value + 1e-9
    assert found.kinds_at_least.low <= found.kinds_at_least.value + 1e-9 <= found.kinds_at_least.high + 2e-9
    assert found.unseen_mass == found.singletons / found.pieces


def test_growth_curve_rises_and_passes_through_what_was_seen() -> None:
    counts = [9, 4, 3, 2, 2, 1, 1, 1]
    curve = growth_curve(counts)
    assert (np.diff(curve.kinds) > 0).all()
    assert curve.kinds[curve.pieces == 23].tolist() == [8.0]
    assert (curve.low <= curve.kinds).all()
    assert not curve.kinds.flags.writeable


@pytest.mark.parametrize("counts", [[], [0, 0], [-1, 3], [1.5]])
def test_completeness_refuses_what_are_no_counts(counts: list[float]) -> None:
    with pytest.raises(InputError):
        completeness(counts)


def test_rarity_counts_only_pieces_that_were_looked_at() -> None:
    held = [Holding(f"p-{i}", {"community": "A", "signed": "yes" if i < 2 else "no"}) for i in range(10)]
    held.append(Holding("unlooked", {"community": "A"}))
    found = rarity(held, {"community": "A", "signed": "yes"}, [Tally("a published list", 30, 1)])
    assert (found.alike, found.pieces, found.behind) == (3, 40, ("p-0", "p-1"))
    assert found.share is not None
    assert found.share.low < 3 / 40 < found.share.high
    assert found.sentence == "3 of 40 pieces on record: between 1 in 5.4 and 1 in 46 (95 %)."


def test_rarity_says_nothing_from_too_few() -> None:
    found = rarity([Holding("p-1", {"signed": "yes"})], {"signed": "yes"})
    assert found.share is None
    assert "too few" in found.sentence


def test_rarity_refuses_a_tally_with_more_alike_than_pieces() -> None:
    with pytest.raises(InputError, match="alike is 5"):
        rarity([], {"signed": "yes"}, [Tally("a list", 3, 5)])


def test_coverage_owns_up_when_every_kind_was_met_once() -> None:
    """Twenty pieces of twenty kinds: hardly anything is covered, and even that is not known sharply."""
    found = completeness([1] * 20).coverage
    assert found.low < 0.01
    assert found.high > 0.1

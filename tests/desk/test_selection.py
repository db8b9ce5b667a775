"""Which pieces are counted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.web.shelves import stocked
from weftglass.desk import TERMS, Collection, holdings_of
from weftglass.desk.selection import NOT_KNOWN, WHOSE, Selection, selected, values_in
from weftglass.errors import InputError

terms = st.dictionaries(st.sampled_from(sorted(TERMS)), st.text(min_size=1, max_size=8), max_size=4)


@given(st.sampled_from(sorted(WHOSE)), terms)
def test_a_selection_is_read_again_as_it_was_asked(whose: str, only: dict[str, str]) -> None:
    selection = Selection(whose, tuple(sorted(only.items())))
    assert Selection.of(dict(selection.asked)) == selection


def test_values_and_those_not_known_make_up_all_pieces(collection: Collection) -> None:
    """For every term: choosing each value in turn shows every piece once."""
    stocked(collection, 30)
    every = holdings_of(collection)
    for term, counts in values_in(every).items():
        shown = [one.piece for value, _ in counts for one in selected(collection, Selection(only=((term, value),)))]
        assert sorted(shown) == sorted(one.piece for one in every)
        assert sum(count for _, count in counts) == len(every)


def test_terms_narrow_together_and_pieces_can_be_kept_out(collection: Collection) -> None:
    stocked(collection, 30)
    both = Selection(only=(("community", "Delmuine"), ("technique", "coiling")))
    found = selected(collection, both)
    assert found
    assert all(one.terms["community"] == "Delmuine" and one.terms["technique"] == "coiling" for one in found)
    assert len(selected(collection, both, kept_out={found[0].piece})) == len(found) - 1
    assert both.words == "owned; community: Delmuine; technique: coiling"
    assert selected(collection, Selection(only=(("technique", NOT_KNOWN),))) == ()


@pytest.mark.parametrize(("asked", "field"), [({"whose": "mine"}, "whose"), ({"only-weather": "fine"}, "term")])
def test_a_selection_refuses_what_it_does_not_know(asked: dict[str, str], field: str) -> None:
    with pytest.raises(InputError) as fault:
        Selection.of(asked)
    assert fault.value.field == field

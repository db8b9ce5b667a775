"""Search, filters and facts of the form library's pages."""

from __future__ import annotations

import pytest

from weftglass.errors import InputError
from weftglass.vessels import FormLibrary
from weftglass.web.pages.forms import PAGE_LENGTH, form_facts, forms_facts, matches


@pytest.fixture(scope="module")
def library() -> FormLibrary:
    """The bundled forms."""
    return FormLibrary.starter()


def test_grid_pages_through_the_whole_library(library: FormLibrary) -> None:
    """Following 'more' from page to page shows every form once."""
    start, seen = 0, []
    while True:
        facts = forms_facts(library, {"from": str(start)})
        seen += [card.href for card in facts.cards]
        if not facts.next_href:
            break
        start += PAGE_LENGTH
    assert len(seen) == len(set(seen)) == len(library)


@pytest.mark.parametrize("name", ["section", "contents", "finish", "colour"])
def test_each_filter_keeps_exactly_what_it_names(library: FormLibrary, name: str) -> None:
    """Every choice's count is the number of forms it leaves."""
    facts = forms_facts(library, {})
    choices = next(item for item in facts.filters if item.name == name).choices[1:]
    assert choices
    for value, words in choices:
        assert words == f"{value} ({sum(matches(form, {name: value}) for form in library)})"


def test_years_keep_forms_made_in_the_span(library: FormLibrary) -> None:
    """A form is kept when its years of making touch the span."""
    for form in library:
        if matches(form, {"years_from": "1880", "years_to": "1890"}):
            assert form.years is not None
            assert form.years[0] <= 1890
            assert form.years[1] >= 1880


def test_nonsense_year_is_refused_with_its_field(library: FormLibrary) -> None:
    """The message stands beside the field that is wrong."""
    with pytest.raises(InputError) as caught:
        forms_facts(library, {"years_from": "about 1880"})
    assert caught.value.field == "years_from"


def test_words_are_all_needed(library: FormLibrary) -> None:
    """Two words narrow, they do not widen."""
    both = sum(matches(form, {"q": "wine onion"}) for form in library)
    assert 0 < both < sum(matches(form, {"q": "wine"}) for form in library)


def test_every_form_has_a_page_that_says_how_well_it_is_known(library: FormLibrary) -> None:
    """Lengths carry their uncertainty, unknowns are said, and the source is there."""
    for form in library:
        facts = form_facts(form, library)
        told = dict(facts.facts)
        assert "±" in told["Height"]
        assert told["Height"].endswith(" mm")
        assert f"{form.tolerance.shape_sd_mm:g} mm" in facts.trust
        assert facts.source
        assert all(text for text in told.values())

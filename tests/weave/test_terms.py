"""The vocabulary: every term is defined once, and open identifiers are unique and confirmed."""

from __future__ import annotations

from weftglass.weave.terms import KINDS, starter_terms, term_named


def test_every_kind_has_terms_each_defined_once() -> None:
    """Five kinds; ids and words are unique; each definition is a sentence."""
    terms = starter_terms()
    assert {term.kind for term in terms} == set(KINDS)
    assert len({term.id for term in terms}) == len(terms)
    assert len({(term.kind, term.term) for term in terms}) == len(terms)
    assert all(term.definition.endswith(".") for term in terms)


def test_open_identifiers_are_numbers_with_the_place_they_were_confirmed() -> None:
    """Either an identifier and its source, or neither; no identifier twice."""
    known = [term for term in starter_terms() if term.aat is not None]
    assert known
    for term in starter_terms():
        assert (term.aat is None) == (term.source == "") == (term.uri is None)
    assert all(term.aat is not None and term.aat.isdecimal() and len(term.aat) == 9 for term in known)
    assert len({term.aat for term in known}) == len(known)


def test_terms_are_found_by_any_of_their_names() -> None:
    """Own and other names, in any case; unknown words name nothing."""
    plain = term_named("  Two-strand   TWINING ", "technique")
    assert plain is not None
    assert plain.id == "plain-twining"
    assert term_named("plain twining", "material") is None
    assert term_named("knitting") is None

"""The search: words a person types, never a query language."""

from __future__ import annotations

import pytest

from weftglass.cabinet import Cabinet
from weftglass.records import Piece, SightingRecord


@pytest.fixture
def stocked(cabinet: Cabinet) -> Cabinet:
    """Three pieces."""
    with cabinet.writing("Mira") as draft:
        draft.put(Piece(id="p-1", name="Côte bottle", material="willow", notes='says "foo-bar"'))
        draft.put(Piece(id="p-2", name="Square flask", material="Weidenrute", maker="O'Dale"))
        draft.put(Piece(id="p-3", name="ÅNGSTRÖM jar"))
    return cabinet


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("cote", {"p-1"}),
        ("CÔTE bot", {"p-1"}),
        ("angstrom", {"p-3"}),
        ("w", {"p-1", "p-2"}),
        ("flask willow", set()),
        ("foo-bar", {"p-1"}),
        ("o'dale", {"p-2"}),
        ("willow AND", set()),
        ("name:willow", set()),
        ('"', set()),
        ("*", set()),
        ("(", set()),
        ("' OR 1=1 --", set()),
        ("NEAR(a b)", set()),
        ("p-2", {"p-2"}),
    ],
)
def test_query_finds_the_pieces_that_have_all_its_words(stocked: Cabinet, query: str, found: set[str]) -> None:
    """Beginnings of words count, accents and capitals do not, and signs only divide words."""
    with stocked.reading() as reader:
        assert reader.pieces_with(query) == found


def test_search_follows_what_is_seen_and_withdrawn(stocked: Cabinet) -> None:
    """A sighting is found with its piece, and no longer once it is withdrawn."""
    seen = SightingRecord(id="s", piece="p-3", feature="letters", value="HAR?OW")
    with stocked.writing("Mira") as draft:
        stored = draft.put(seen)
        draft.finish()
        assert draft.pieces_with("har") == {"p-3"}
    with stocked.writing("Mira") as draft:
        draft.put(SightingRecord(**{**vars(stored), "withdrawn": True}))
    with stocked.reading() as reader:
        assert reader.pieces_with("har") == set()

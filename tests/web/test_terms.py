"""The page of words for coverings: what they mean, one's own beside them, and the table."""

from __future__ import annotations

from starlette.testclient import TestClient

from tests.web.conftest import posted
from weftglass.desk import Collection, add_term, own_terms
from weftglass.weave.terms import starter_terms

NASTY = "<script>alert('x')</script>"


def test_own_word_is_added_shown_refused_twice_and_withdrawn(client: TestClient, collection: Collection) -> None:
    """Escaped on the page, in the table, once only; a word that comes with the program is not added again."""
    word = {"form": "term", "kind": "technique", "term": "reed twist", "definition": NASTY, "also": "twist, turn"}
    assert posted(client, "/terms", **word) == (303, "/terms")
    text = client.get("/terms").text
    assert "reed twist" in text
    assert "<script>alert" not in text
    assert len(client.get("/terms.csv").text.splitlines()) >= 2 + len(starter_terms())
    status, said = posted(client, "/terms", **word)
    assert status == 422
    assert "a word that is not there yet" in said
    assert posted(client, "/terms", **(word | {"term": "Plain twining"}))[0] == 422
    assert posted(client, "/terms", **(word | {"term": "hoop", "kind": "hat"}))[0] == 422
    own = own_terms(collection)[0]
    assert own.also == ("twist", "turn")
    assert posted(client, f"/terms/{own.id}/withdraw") == (303, "/terms")
    assert own_terms(collection) == ()


def test_words_are_offered_and_explained_where_they_are_typed(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """The maker's page and the entry lead to the vocabulary; a word of one's own is offered too."""
    add_term(collection, who="Ada", kind="rim", term="shell rim", definition="Loops laid over each other.")
    for part in ("/maker", "/covering", ""):
        assert 'href="/terms"' in client.get(f"/piece/{piece}{part}").text
    offered = client.get(f"/piece/{piece}/maker").text
    assert '<option value="shell rim">' in offered
    assert '<option value="crossed stakes">' in offered

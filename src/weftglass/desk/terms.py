"""The collection's vocabulary for coverings: the words that come with the program, and its own."""

from __future__ import annotations

from dataclasses import replace

from weftglass.desk.collection import Collection
from weftglass.desk.wording import signature, slug
from weftglass.errors import InputError
from weftglass.records import LONG, OwnTerm, words
from weftglass.weave.terms import Term, starter_terms, term_named


def own_terms(collection: Collection) -> tuple[OwnTerm, ...]:
    """Words of the collection's own that stand, by kind and word."""
    with collection.cabinet.reading() as reader:
        found = reader.all_of(OwnTerm)
    return tuple(sorted(found, key=lambda one: (one.term_kind, one.term.casefold())))


def covering_words(collection: Collection) -> tuple[str, ...]:
    """All words for coverings, those of the program and of the collection's own, each once."""
    every = (*(one.term for one in starter_terms()), *(one.term for one in own_terms(collection)))
    return tuple(dict.fromkeys(every))


def add_term(
    collection: Collection, *, who: str, kind: str, term: str, definition: str, also: str = "", source: str = ""
) -> OwnTerm:
    """
    Add a word.

    Parameters
    ----------
    kind : str
        technique, start, rim, foundation or material.
    also : str
        Other names, apart by commas.

    Raises
    ------
    InputError
        A wrong kind, a missing word or definition, or a word that is there already.
    """
    word = words(term, "term", "term", needed=True)
    known: Term | OwnTerm | None = term_named(word, kind)
    if known is None:
        own = (one for one in own_terms(collection) if one.term_kind == kind)
        known = next((one for one in own if one.term.casefold() == word.casefold()), None)
    if known is not None:
        raise InputError("term", "term", word, f"a word that is not there yet: it stands under {known.term}")
    names = tuple(name.strip() for name in also.split(",") if name.strip())
    with collection.cabinet.writing(signature(who)) as draft:
        new = OwnTerm(
            id=draft.numbered_id(OwnTerm, slug(word)), term_kind=kind, term=word,
            definition=words(definition, "term", "definition", longest=LONG, needed=True), also=names,
            source=words(source, "term", "source", longest=LONG),
        )  # fmt: skip
        new.check_fields("term")
        return draft.put(new)


def withdraw_term(collection: Collection, term_id: str, *, who: str) -> OwnTerm:
    """Take a word of one's own out; the history can bring it back."""
    with collection.cabinet.writing(signature(who)) as draft:
        return draft.put(replace(draft.get(OwnTerm, term_id), withdrawn=True), deed="withdrawn")

"""Facts of the page of words for coverings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from weftglass.records import OwnTerm
from weftglass.weave.terms import KINDS, starter_terms
from weftglass.web.door import FormFault


@dataclass(frozen=True)
class TermFacts:
    """One word, its meaning, its other names and open identifier, and where to withdraw it if it is one's own."""

    term: str
    definition: str
    also: str
    uri: str
    source: str
    withdraw_href: str


@dataclass(frozen=True)
class TermGroup:
    """All words of one kind."""

    kind: str
    heading: str
    terms: tuple[TermFacts, ...]


@dataclass(frozen=True)
class TermsFacts:
    """The page: words by kind, and what a word can name."""

    groups: tuple[TermGroup, ...]
    kinds: tuple[tuple[str, str], ...]
    fault: FormFault | None


def terms_facts(own: tuple[OwnTerm, ...], fault: FormFault | None) -> TermsFacts:
    """Put the page together."""
    groups = []
    for kind, heading in KINDS.items():
        given = [
            TermFacts(one.term, one.definition, ", ".join(one.also), one.uri or "", one.source, "")
            for one in starter_terms()
            if one.kind == kind
        ]
        added = [
            TermFacts(
                one.term, one.definition, ", ".join(one.also), "", one.source,
                f"/terms/{quote(one.id, safe='')}/withdraw",
            )
            for one in own
            if one.term_kind == kind
        ]  # fmt: skip
        groups.append(TermGroup(kind, heading, (*given, *added)))
    return TermsFacts(tuple(groups), tuple(KINDS.items()), fault)


def term_records(own: tuple[OwnTerm, ...]) -> list[dict[str, Any]]:
    """One flat record a word, for a table."""
    given = [
        {"id": one.id, "kind": one.kind, "term": one.term, "definition": one.definition, "also": "; ".join(one.also),
         "uri": one.uri, "source": one.source}
        for one in starter_terms()
    ]  # fmt: skip
    added = [
        {"id": one.id, "kind": one.term_kind, "term": one.term, "definition": one.definition,
         "also": "; ".join(one.also), "uri": None, "source": one.source}
        for one in own
    ]  # fmt: skip
    return given + added

"""Words for coverings: technique, start, rim, foundation and material, each with what it means in our own words."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

KINDS: dict[str, str] = {
    "technique": "Technique",
    "start": "Start",
    "rim": "Rim",
    "foundation": "Foundation",
    "material": "Material",
}
"""What a term may name, with its heading."""

AAT = "http://vocab.getty.edu/aat/"


@dataclass(frozen=True)
class Term:
    """
    One word of the vocabulary.

    Parameters
    ----------
    id : str
    kind : str
        One of `KINDS`.
    term, definition : str
    also : tuple of str
        Other names in use.
    aat : str or None
        Number in the Art & Architecture Thesaurus, only where its label was confirmed; None is no doubt about the term.
    source : str
        Where that identifier was confirmed; empty without one.
    """

    id: str
    kind: str
    term: str
    definition: str
    also: tuple[str, ...] = ()
    aat: str | None = None
    source: str = ""

    @property
    def uri(self) -> str | None:
        """Address of the term in the open vocabulary, if confirmed."""
        return None if self.aat is None else AAT + self.aat


@cache
def starter_terms() -> tuple[Term, ...]:
    """
    The vocabulary that comes with the package, by kind and then as listed.

    Examples
    --------
    >>> {term.kind for term in starter_terms()} == set(KINDS)
    True
    """
    text = files("weftglass.weave").joinpath("data/terms.json").read_text(encoding="utf-8")
    return tuple(Term(**(entry | {"also": tuple(entry["also"])})) for entry in json.loads(text))


def term_named(words: str, kind: str | None = None) -> Term | None:
    """
    The term that somebody's words name, by its own or another name.

    Examples
    --------
    >>> term = term_named("Pairing")
    >>> term.id if term else None
    'plain-twining'
    """
    wanted = " ".join(words.split()).casefold()
    for term in starter_terms():
        if kind in (None, term.kind) and wanted in (term.term.casefold(), *(name.casefold() for name in term.also)):
            return term
    return None

"""The collection as statistics see it: each piece with its terms, and what may be asked of them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.cabinet.listing import last_change, piece_columns
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.pieces import BriefAnswer, brief_answers
from weftglass.desk.unusual import worked_in
from weftglass.errors import InputError
from weftglass.holdings import (
    Association,
    Completeness,
    CrossTable,
    GrowthCurve,
    Holding,
    Preference,
    association,
    buying_warning,
    completeness,
    cross,
    growth_curve,
    preferences,
)
from weftglass.records import SightingRecord
from weftglass.vessels import FormLibrary

TERMS: dict[str, str] = {
    "community": "community",
    "maker": "maker",
    "place": "place of making",
    "family": "family of forms",
    "form": "form",
    "technique": "technique",
    "material": "material",
    "period": "period of the covering",
    "contents": "what it held",
    "colour": "colour of the glass",
    "finish": "lip",
    "closure": "closure",
    "signed": "signed or inscribed",
    "dated": "dated on the piece",
    "pictorial": "pictorial design",
    "source": "where it came from",
    "kept": "where it is kept",
}
"""What pieces can be counted by, each with its words."""

SURE = 0.8
"""A vessel not yet accepted counts when the engine gives it at least this probability."""
MARKED = 0.05
"""A cell is marked where its own exact test comes out below this; some of many cells do so by chance."""
FALSE_RATE = 0.05
"""Share of the preferences reported that may be false."""
COLUMNS = ("id", "status", "community", "maker", "place", "technique", "source", "kept", "material", "made", "design")
SIGHTED = ("contents", "colour", "finish", "closure")
YEAR = re.compile(r"\b(1[5-9]\d\d|20\d\d)\b")


@dataclass(frozen=True)
class Shown:
    """
    What a table of two terms shows.

    Parameters
    ----------
    table : CrossTable
    together : Association or None
        None where fewer than two rows or columns hold pieces.
    preferences : tuple of (Preference, str)
        Those within the false discovery rate, each with a warning where buying habits can explain it (else empty).
    tested : int
        Pairs that were tested.
    marks : dict
        (row, column) to ``more`` or ``fewer`` where the exact test of the pair by itself comes out below 0.05.
    """

    table: CrossTable
    together: Association | None
    preferences: tuple[tuple[Preference, str], ...]
    tested: int
    marks: Mapping[tuple[str, str], str]

    @property
    def marked(self) -> NDArray[np.int64]:
        """The marks as an array like the counts: 1 more, -1 fewer, 0 neither."""
        signs = {"more": 1, "fewer": -1}
        return np.array(
            [
                [signs.get(self.marks.get((row, column), ""), 0) for column in self.table.columns]
                for row in self.table.rows
            ]
        ).reshape(self.table.counts.shape)


def holdings_of(collection: Collection, *, status: str | None = "owned") -> tuple[Holding, ...]:
    """
    Every piece that stands, with the terms that are known of it.

    Parameters
    ----------
    status : str or None
        ``owned``, ``offered``, or None for both.

    Notes
    -----
    The vessel counts where a finding was accepted, or where the latest answer gives it a probability of 0.8 or more. A
    piece counts as looked at for a signature or a date when its design or an inscription is written down.
    """
    library = library_of(collection)
    with collection.cabinet.reading() as reader:
        key = ("holdings", last_change(reader.session), library.version)
    every: tuple[tuple[str, Holding], ...] = collection.counted.get(key, lambda: _every(collection, library))
    return tuple(holding for kept, holding in every if status in (None, kept))


def _every(collection: Collection, library: FormLibrary) -> tuple[tuple[str, Holding], ...]:
    """Each piece's status and terms."""
    with collection.cabinet.reading() as reader:
        pieces = piece_columns(reader.session, COLUMNS)
        answers = brief_answers(reader)
        seen: dict[str, list[SightingRecord]] = {}
        for sighting in reader.all_of(SightingRecord):
            seen.setdefault(sighting.piece, []).append(sighting)
    return tuple(
        (one["status"], Holding(one["id"], _terms(one, answers.get(one["id"]), seen.get(one["id"], []), library)))
        for one in pieces
    )


def _terms(
    piece: Mapping[str, str], answer: BriefAnswer | None, seen: Sequence[SightingRecord], library: FormLibrary
) -> Mapping[str, str]:
    terms = {name: piece[name] for name in ("community", "maker", "place", "technique", "source", "kept")}
    terms["material"] = piece["material"].partition(",")[0].strip()
    terms |= {one.feature: one.value for one in seen if one.feature in SIGHTED}
    terms["period"] = period_of(piece["made"])
    terms |= worked_in(piece["design"], seen)
    sure = answer is not None and (answer.accepted or answer.probability >= SURE)
    if answer is not None and sure and answer.form is not None and answer.form in library:
        terms["form"], terms["family"] = library[answer.form].title, library[answer.form].family_name
    return {name: value for name, value in terms.items() if value}


def period_of(made: str) -> str:
    """
    Quarter of a century in which the first year named lies; empty where no year is named.

    Examples
    --------
    >>> period_of("about 1895"), period_of("long ago")
    ('1875–1899', '')
    """
    year = YEAR.search(made)
    if year is None:
        return ""
    first = int(year.group()) // 25 * 25
    return f"{first}–{first + 24}"


def show(holdings: Sequence[Holding], row_term: str, column_term: str, *, rows: Sequence[str] = ()) -> Shown:
    """
    Count by two terms, and test what goes together.

    Parameters
    ----------
    holdings : sequence of Holding
    row_term, column_term : str
        Two different ones of `TERMS`.
    rows : sequence of str
        Rows to show even without pieces.

    Raises
    ------
    InputError
        For a term that is none, or the same one twice.
    """
    for term in (row_term, column_term):
        if term not in TERMS:
            raise InputError("table", "term", term, "one of: " + ", ".join(TERMS))
    table = cross(holdings, row_term, column_term, rows=rows)
    filled = (table.counts.sum(axis=1) > 0).sum() > 1 and (table.counts.sum(axis=0) > 0).sum() > 1
    if not filled:
        return Shown(table, None, (), 0, {})
    found = preferences(table)
    kept = [one for one in found if one.q <= FALSE_RATE]
    warned = tuple((one, buying_warning(one, holdings, row_term, column_term)) for one in kept)
    marks = {(one.row, one.column): "more" if one.favoured else "fewer" for one in found if one.p <= MARKED}
    return Shown(table, association(table.counts), warned, len(found), marks)


def how_complete(holdings: Sequence[Holding], *terms: str) -> tuple[Completeness, GrowthCurve] | None:
    """
    Coverage and unseen kinds, a kind being a combination of terms; None where no piece has all of them.

    Raises
    ------
    InputError
        For a term that is none.
    """
    for term in terms:
        if term not in TERMS:
            raise InputError("table", "term", term, "one of: " + ", ".join(TERMS))
    kinds: dict[tuple[str, ...], int] = {}
    for one in holdings:
        if all(one.terms.get(term) for term in terms):
            kind = tuple(one.terms[term] for term in terms)
            kinds[kind] = kinds.get(kind, 0) + 1
    counts = list(kinds.values())
    return (completeness(counts), growth_curve(counts)) if counts else None


def piece_names(collection: Collection) -> dict[str, str]:
    """Name of every piece that stands."""
    with collection.cabinet.reading() as reader:
        return {one["id"]: one["name"] for one in piece_columns(reader.session, ("id", "name"))}

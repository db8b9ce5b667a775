"""Dating a piece: year curves of glass and covering from its evidence, with reasons and contradictions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from weftglass.dating.clash import Clash, clashes
from weftglass.dating.combine import glass_curve, prior_years
from weftglass.dating.covering import covering_curve, glass_given_covering
from weftglass.dating.item import COVERING, GLASS, Item, form_item, items_of
from weftglass.dating.regions import region_named
from weftglass.dating.span import DateSpan, mean_and_sd, span_of
from weftglass.dating.years import LAST_YEAR, YEARS, FloatArray
from weftglass.evidence import Evidence

SHOWN = 1e-6  # years of less probability than this at both ends are left out of a written curve
FORM_SAYS_BITS = 0.05  # a form's years that tell less than this are no item


@dataclass(frozen=True, eq=False)
class PartDate:
    """
    The date of the glass, or of the covering.

    Parameters
    ----------
    part : str
    curve : array (Y,)
        Probability of each of `YEARS`, sums to 1.
    items : tuple of Item
        What it rests on; empty: nothing dates this part and `span` is None.
    span : DateSpan or None
    """

    part: str
    curve: FloatArray
    items: tuple[Item, ...]
    span: DateSpan | None

    @property
    def mean(self) -> float:
        """Mean year."""
        return mean_and_sd(self.curve)[0]

    @property
    def sd(self) -> float:
        """Standard deviation, years."""
        return mean_and_sd(self.curve)[1]

    def tells_bits(self, item: Item) -> float:
        """How far an item alone narrows the years, in bits against all years alike."""
        return information(item.likelihood)

    def to_record(self) -> dict[str, Any]:
        """The contract's entry; years are null where nothing dates the part."""
        names = ("earliest", "likely_from", "likely_to", "latest", "edtf", "likely_edtf")
        shown = np.flatnonzero(self.curve > SHOWN)
        low, high = int(shown[0]), int(shown[-1]) + 1
        years: dict[str, Any] = dict.fromkeys(names) if self.span is None else self.span.to_record()
        return {
            **years,
            "curve": [[int(y), round(float(p), 8)] for y, p in zip(YEARS[low:high], self.curve[low:high], strict=True)],
            "items": [item.to_record() for item in self.items],
        }


@dataclass(frozen=True, eq=False)
class Dating:
    """
    The dates of a piece.

    Parameters
    ----------
    piece : str
    glass, covering : PartDate
    clashes : tuple of Clash
        Contradictions, the worst first.
    notes : tuple of str
        What a reader should know before believing the years.
    """

    piece: str
    glass: PartDate
    covering: PartDate
    clashes: tuple[Clash, ...]
    notes: tuple[str, ...]

    def to_record(self) -> dict[str, Any]:
        """The contract's JSON document."""
        return {
            "piece": self.piece,
            "glass": self.glass.to_record(),
            "covering": self.covering.to_record(),
            "contradictions": [clash.to_record() for clash in self.clashes],
            "notes": list(self.notes),
        }


def date_piece(
    evidence: Evidence,
    *,
    forms: FloatArray | None = None,
    forms_words: str = "",
    further: Sequence[Item] = (),
    region: str | None = None,
    until: int = LAST_YEAR,
) -> Dating:
    """
    Year curves of the glass and of the covering of a piece.

    Parameters
    ----------
    evidence : Evidence
        Sightings (lip, base, seam, closure, colour, marks, statements, letters; dyes, inscriptions, documents,
        collecting history) and the covering's material.
    forms : array (F, Y) or None
        Year weights of the forms that may be inside (`weftglass.dating.form_years`); rows sum to each form's
        probability, which rests on the lip, closure, colour and base already.
    forms_words : str
        The leading form and its years, for the reader.
    further : sequence of Item
        Items from elsewhere: the community's years, when it was acquired.
    region : str or None
        Where the glass was made, as far as known: one of `weftglass.dating.REGIONS`, or another name of one.
    until : int
        The year of asking; nothing is later.

    Returns
    -------
    Dating
        A part that nothing speaks of has ``span`` None: it cannot be dated from this.

    Raises
    ------
    InputError
        If no published years are known for that region.

    Notes
    -----
    Curves carry published years with soft edges; see `weftglass.dating.combine` for what is counted once.
    """
    made_in = None if region is None else region_named(region)
    items, silent = items_of(evidence.sightings, evidence.covering, region=made_in)
    items += list(further)
    of_glass = [item for item in items if item.part == GLASS]
    of_covering = [item for item in items if item.part == COVERING]
    if forms is not None:
        mixture = form_item(forms.sum(axis=0), forms_words or "the forms that may be inside")
        if information(mixture.curve) >= FORM_SAYS_BITS:
            of_glass.append(mixture)
    found = clashes([*of_glass, *of_covering])
    alone = glass_curve([item for item in of_glass if item.kind != "form"], forms, until)
    across = [item for item in of_covering if item.kind != "community"]
    crossed = any(clash.sentence.startswith("The covering is dated before") for clash in found)
    glass = alone if crossed else glass_given_covering(alone, across)
    covering = covering_curve(alone if of_glass and not crossed else None, of_covering, until)
    dated_by = (*of_glass, *(across if not crossed else ()))
    return Dating(
        evidence.piece,
        PartDate(GLASS, glass, tuple(of_glass), span_of(glass) if dated_by else None),
        PartDate(COVERING, covering, tuple(of_covering), span_of(covering) if of_glass or of_covering else None),
        found,
        _notes(of_glass, of_covering, silent, crossed),
    )


def information(curve: FloatArray) -> float:
    """How far a curve narrows the years, in bits against all years alike."""
    prior = prior_years()
    share = curve * prior
    share = share / share.sum()
    seen = share > 0
    return float(np.sum(share[seen] * np.log2(share[seen] / prior[seen])))


def _notes(glass: list[Item], covering: list[Item], silent: list[str], crossed: bool) -> tuple[str, ...]:
    said = []
    if not glass and not covering:
        said.append("Nothing here dates the piece: look for mould seams, the base, the lip, marks, dyes and documents.")
    elif not glass:
        said.append("Nothing dates the glass itself; it is only not later than its covering.")
    elif not covering:
        said.append("Nothing dates the covering itself; it is only not older than its glass.")
    if crossed:
        said.append("Glass and covering are dated apart from each other, because their items contradict each other.")
    alike: dict[str, list[str]] = {}
    for item in [*glass, *covering]:
        alike.setdefault(item.cause, []).append(item.name)
    said += [f"Counted once, as one change: {', '.join(names)}." for names in alike.values() if len(names) > 1]
    said += [f"No years are known for: {name}." for name in silent]
    return tuple(said)

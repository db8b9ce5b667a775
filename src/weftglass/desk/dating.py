"""Dating: an evidence file's or a piece's year curves, with the years of the forms that may be inside."""

from __future__ import annotations

import json
from collections.abc import Sequence

from weftglass.cabinet.cabinet import now_utc
from weftglass.dating import (
    COVERING,
    GLASS,
    Dating,
    GroupDate,
    Item,
    community_item,
    date_piece,
    form_years,
    group_date,
    owned_item,
    spoken_date,
)
from weftglass.dating.combine import BY_IDENTIFICATION
from weftglass.dating.span import TAIL
from weftglass.dating.years import FloatArray
from weftglass.desk.collection import Collection
from weftglass.desk.communities import community_named, is_guess
from weftglass.desk.findings import let_stand
from weftglass.desk.forms import library_of
from weftglass.desk.identification import answer_to, evidence_of, evidence_text
from weftglass.desk.wording import signature
from weftglass.errors import Unfit
from weftglass.evidence import Evidence
from weftglass.inside import Answer, identify
from weftglass.records import LONG, Finding, Piece, words
from weftglass.vessels import FormLibrary

ENGINE_VERSION = "dating 1"
WITHIN = 1.0 - 2.0 * TAIL


def date_evidence(
    evidence: Evidence, library: FormLibrary | None, *, region: str | None = None, until: int | None = None
) -> Dating:
    """
    Date a piece from its evidence alone.

    Parameters
    ----------
    evidence : Evidence
    library : FormLibrary or None
        With it the years of the forms that may be inside count, each with its probability; None: they don't.
    region : str or None
        Where the glass was made, as far as known: one of `weftglass.dating.REGIONS`.
    until : int or None
        Nothing is later; None: this year.
    """
    weights, words = (None, "")
    if library is not None and speaks_of_vessel(evidence):
        weights, words = years_of_forms(identify(evidence, library), library)
    return date_piece(evidence, forms=weights, forms_words=words, region=region, until=until or now_utc().year)


def date_of(collection: Collection, piece_id: str, *, with_forms: bool = True, region: str | None = None) -> Dating:
    """
    Date a piece of the collection: its evidence, the forms that may be inside, its community, and its acquisition.

    Parameters
    ----------
    with_forms : bool
        False leaves the years of the forms out.
    region : str or None
        Where the glass was made, as far as known: one of `weftglass.dating.REGIONS`.
    """
    evidence, library = evidence_of(collection, piece_id), library_of(collection)
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
    further = [*_owned(piece), *_community_years(collection, piece)]
    weights, words = (None, "")
    if with_forms and speaks_of_vessel(evidence):
        weights, words = years_of_forms(answer_to(collection, evidence, library), library)
    return date_piece(
        evidence,
        forms=weights,
        forms_words=words,
        further=further,
        region=region,
        until=now_utc().year,
    )


def speaks_of_vessel(evidence: Evidence) -> bool:
    """True when something bears on which form is inside; else the forms' years would only be the library's make-up."""
    seen = any(sighting.feature in BY_IDENTIFICATION for sighting in evidence.sightings)
    return seen or bool(evidence.outlines or evidence.measurements)


def dates_of_group(collection: Collection, pieces: Sequence[str]) -> dict[str, GroupDate]:
    """
    Mean date and span of several pieces, ``glass`` and ``covering`` apart; a part that nothing dates is left out.

    The years of the forms are left out, so that the group is dated by what is seen and known alone.
    """
    datings = [date_of(collection, piece, with_forms=False) for piece in pieces]
    found = {}
    for part in (GLASS, COVERING):
        known = [(one.piece, one.glass if part == GLASS else one.covering) for one in datings]
        curves = [(piece, date.curve) for piece, date in known if date.span is not None]
        if curves:
            found[part] = group_date(curves)
    return found


def years_of_forms(answer: Answer, library: FormLibrary) -> tuple[FloatArray, str]:
    """Year weights of an answer's forms and of none of them, and the leading form's years in words."""
    shares = [*answer.probabilities.values(), answer.unlisted]
    ranges = [*(library[form].years for form in answer.probabilities), None]
    lead = answer.candidates[0] if answer.candidates else None
    years = None if lead is None else library[lead.form].years
    title = "" if lead is None else library[lead.form].title
    words = "" if years is None else f"{title}, {years[0]} to {_end(years[1])}, leads"
    return form_years(ranges, shares), words


def _end(year: int) -> str:
    return "today" if year >= 2030 else str(year)


def _owned(piece: Piece) -> list[Item]:
    when = spoken_date(piece.acquired_on) if piece.acquired_on else None
    return [] if when is None else [owned_item(f"since {piece.acquired_on}", when.latest)]


def _community_years(collection: Collection, piece: Piece) -> list[Item]:
    """The years of the community that the entry names without a doubt."""
    if not piece.community or is_guess(piece.community):
        return []
    named = community_named(collection, piece.community)
    return [] if named is None or named.years is None else [community_item(named.name, *named.years)]


def accept_date(collection: Collection, piece_id: str, *, who: str, remark: str = "") -> Finding:
    """
    Sign the dates of glass and covering as computed now; evidence, curves and reasons are frozen with them.

    Raises
    ------
    InputError
        If nothing dates the piece.
    """
    by, note = signature(who), words(remark, "finding", "remark", longest=LONG)
    dating = date_of(collection, piece_id)
    glass, covering = dating.glass.span, dating.covering.span
    if glass is None and covering is None:
        expected = "a sighting or a document that dates it first"
        raise Unfit(f"piece {piece_id}", "date", "nothing known of it dates it", expected)
    said = [f"{name} {span.edtf}" for name, span in (("glass", glass), ("covering", covering)) if span is not None]
    with collection.cabinet.writing(by) as draft:
        finding = Finding(
            id=draft.numbered_id(Finding, f"{piece_id}.finding"),
            piece=draft.get(Piece, piece_id).id,
            subject="date",
            form=None,
            conclusion=", ".join(said),
            probability=WITHIN,
            unlisted=0.0,
            who=by,
            remark=note,
            evidence=evidence_text(evidence_of(collection, piece_id)),
            answer=json.dumps(dating.to_record(), ensure_ascii=False, allow_nan=False),
            engine_version=ENGINE_VERSION,
            library_version=library_of(collection).version,
        )
        return let_stand(draft, finding)

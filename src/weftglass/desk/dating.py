"""Dating: an evidence file's or a piece's year curves, with the years of the forms that may be inside."""

from __future__ import annotations

from weftglass.cabinet.cabinet import now_utc
from weftglass.dating import Dating, Item, date_piece, form_years, owned_item, spoken_date
from weftglass.dating.combine import BY_IDENTIFICATION
from weftglass.dating.years import FloatArray
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.identification import answer_to, evidence_of
from weftglass.evidence import Evidence
from weftglass.inside import Answer, identify
from weftglass.records import Piece
from weftglass.vessels import FormLibrary


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
        Where the glass was made, as far as known: Britain, North America, Europe ...
    until : int or None
        Nothing is later; None: this year.
    """
    weights, words = (None, "")
    if library is not None and speaks_of_vessel(evidence):
        weights, words = years_of_forms(identify(evidence, library), library)
    return date_piece(evidence, forms=weights, forms_words=words, region=region, until=until or now_utc().year)


def date_of(collection: Collection, piece_id: str, *, with_forms: bool = True, region: str | None = None) -> Dating:
    """
    Date a piece of the collection: its evidence, the forms that may be inside, and when it was acquired.

    Parameters
    ----------
    with_forms : bool
        False leaves the years of the forms out.
    region : str or None
        Where the glass was made, as far as known.
    """
    evidence, library = evidence_of(collection, piece_id), library_of(collection)
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
    weights, words = (None, "")
    if with_forms and speaks_of_vessel(evidence):
        weights, words = years_of_forms(answer_to(collection, evidence, library), library)
    return date_piece(
        evidence,
        forms=weights,
        forms_words=words,
        further=_owned(piece),
        region=region,
        until=now_utc().year,
    )


def speaks_of_vessel(evidence: Evidence) -> bool:
    """True when something bears on which form is inside; else the forms' years would only be the library's make-up."""
    seen = any(sighting.feature in BY_IDENTIFICATION for sighting in evidence.sightings)
    return seen or bool(evidence.outlines or evidence.measurements)


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

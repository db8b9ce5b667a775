"""What is inside a piece of the collection: its evidence gathered, and the answer."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace

from weftglass.cabinet import LatestAnswer, Reader
from weftglass.cabinet.listing import covering_texts, last_evidence_changes, latest_answers
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.wording import capital, outline_words, photograph_words
from weftglass.evidence import Covering, Evidence, Outline
from weftglass.inside import Answer, identify
from weftglass.records import MeasurementRecord, Piece, SightingRecord, View, evidence_view
from weftglass.vessels import FormLibrary

SAME_HEIGHT_MM = 0.05
NONE_LISTED = "none of the forms listed"


def evidence_of(collection: Collection, piece_id: str) -> Evidence:
    """
    All that is known of a piece, as the engine takes it.

    One outline from the front and one from the side (the first measured of each; a turned one only where there is
    neither: several outlines of one covering are not independent). A height that already set the scale of a used view
    is not counted a second time as a measurement.
    """
    with collection.cabinet.reading() as reader:
        return gather_evidence(reader, piece_id)


def gather_evidence(reader: Reader, piece_id: str) -> Evidence:
    """As `evidence_of`, within a transaction."""
    return _evidence(reader, piece_id, reader.all_of(View, piece=piece_id))


def _evidence(reader: Reader, piece_id: str, every_view: Sequence[View]) -> Evidence:
    piece, views = reader.get(Piece, piece_id), _used_views(every_view)
    readings = [
        record
        for record in reader.all_of(MeasurementRecord, piece=piece_id)
        if not any(_set_the_scale(record, view) for view in views)
    ]
    return Evidence(
        piece=piece_id,
        outlines=tuple(_outline(view) for view in views),
        measurements=tuple(record.measurement for record in readings),
        sightings=tuple(record.sighting for record in reader.all_of(SightingRecord, piece=piece_id)),
        covering=Covering(piece.technique or None, piece.material or None, piece.community or None),
    )


def identify_piece(
    collection: Collection,
    piece_id: str,
    *,
    with_commonness: bool = True,
    top: int = 10,
    tilt: Mapping[str, float] | None = None,
) -> Answer:
    """
    Which vessel is inside a piece.

    Parameters
    ----------
    with_commonness : bool
        False gives every form the same prior.
    top : int
        Most candidates named.
    tilt : mapping of form id to factor, or None
        Factors on the prior, such as what the makers are known to have covered; such an answer is not kept.

    Notes
    -----
    Kept in memory by evidence and library, so that a page shown again costs nothing. The answer with commonness is
    also kept in brief for the shelf.
    """
    library = library_of(collection)
    with collection.cabinet.reading() as reader:
        views = reader.all_of(View, piece=piece_id)
        evidence, unsure = _evidence(reader, piece_id, views), unsure_outlines(views)
        changes = last_evidence_changes(reader.session)
        kept = latest_answers(reader.session).get(piece_id)
        covering = covering_texts(reader.session)[piece_id]
    answer = answer_to(collection, evidence, library, with_commonness=with_commonness, top=top, tilt=tilt)
    if with_commonness and not tilt and not evidence.is_empty:
        brief = _brief(answer, max(changes.get(piece_id, 0), changes.get("", 0)), covering)
        if brief != kept:
            with collection.cabinet.writing("engine") as draft:
                draft.keep_answer(brief)
    return replace(answer, warnings=(*unsure, *answer.warnings)) if unsure else answer


def unsure_outlines(views: Sequence[View]) -> tuple[str, ...]:
    """A sentence for each outline in use that the program doubts, and that nobody drew or compared since."""
    return tuple(
        f"{capital(outline_words(evidence_view(view.role) or 'turned'))} was found by the program, which "
        "doubts it. This answer is no better than that outline: compare it with the photograph and correct it first."
        for view in _used_views(views)
        if view.in_doubt
    )


def answer_to(
    collection: Collection,
    evidence: Evidence,
    library: FormLibrary,
    *,
    with_commonness: bool = True,
    top: int = 10,
    looks: int = 3,
    tilt: Mapping[str, float] | None = None,
) -> Answer:
    """The answer to some evidence, computed or as kept in memory."""
    factors = tuple(sorted((tilt or {}).items()))
    key = (evidence_text(evidence), library.version, with_commonness, top, looks, factors)
    answer: Answer = collection.answers.get(
        key, lambda: identify(evidence, library, top=top, with_commonness=with_commonness, looks=looks, tilt=tilt)
    )
    return answer


def evidence_text(evidence: Evidence) -> str:
    """Evidence as JSON: the same text for the same evidence."""
    return json.dumps(evidence.to_record(), ensure_ascii=False, sort_keys=True, allow_nan=False)


def best_of(answer: Answer) -> tuple[str | None, float]:
    """Id and probability of what is most probable; id None for none of the forms listed."""
    best = answer.candidates[0] if answer.candidates else None
    if best is None or answer.unlisted > best.probability:
        return None, answer.unlisted
    return best.form, best.probability


def title_of(form: str | None, library: FormLibrary) -> str:
    """Name and size of a form, or that it is none of those listed."""
    if form is None:
        return NONE_LISTED
    return library[form].title if form in library else form


def _brief(answer: Answer, after_change: int, covering: str) -> LatestAnswer:
    form, probability = best_of(answer)
    titles = {
        candidate.form: ", ".join(filter(None, (candidate.name, candidate.size))) for candidate in answer.candidates
    }
    return LatestAnswer(
        answer.piece,
        after_change,
        answer.library_version,
        answer.engine_version,
        covering,
        form,
        NONE_LISTED if form is None else titles[form],
        float(probability),
        float(answer.unlisted),
    )


def _used_views(views: Sequence[View]) -> list[View]:
    first: dict[str, View] = {}
    for view in views:
        kind = evidence_view(view.role)
        if kind is None or view.measured is None:
            continue
        if kind not in first or (view.role == kind and first[kind].role != kind):
            first[kind] = view
    used = [first[kind] for kind in ("front", "side") if kind in first]
    return used or [first["turned"]] if first else []


def _outline(view: View) -> Outline:
    assert view.measured is not None
    return Outline.of(
        view.measured.points,
        view=evidence_view(view.role) or "turned",
        sd_mm=view.measured.sd_mm,
        scale_sd=view.measured.scale_sd,
        bare=view.bare,
        hidden=(*view.left_out, *view.measured.bulges),
        base_unseen=view.base_unseen,
        top_unseen=view.top_unseen,
        where=photograph_words(view.id),
    )


def _set_the_scale(record: MeasurementRecord, view: View) -> bool:
    height = view.known_height
    return record.what == "height" and height is not None and abs(record.value - height.mm) < SAME_HEIGHT_MM

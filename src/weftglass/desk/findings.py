"""Findings: accepting an answer with name and remark, and looking later whether it would still be the same."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from weftglass.cabinet import Draft
from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.identification import (
    NONE_LISTED,
    answer_to,
    best_of,
    evidence_of,
    evidence_text,
    gather_evidence,
    title_of,
)
from weftglass.desk.wording import percent_text, signature
from weftglass.errors import ChangedMeanwhile, InputError, Unfit
from weftglass.evidence import Evidence
from weftglass.records import LONG, Finding, Piece, words

NAMED_BEST = "best"


@dataclass(frozen=True)
class Recheck:
    """
    A finding computed again.

    Parameters
    ----------
    finding : Finding
    form_then, form_now, form_with_what_is_known : str or None
        What was most probable then; now on the frozen evidence; now on all that is known of the piece.
    probability_then, probability_now, probability_with_what_is_known : float
        Of the form that the finding names.
    engine_changed, library_changed : bool
    evidence_added, evidence_gone : tuple of str
        Items known now but not then, and the other way round.
    sentences : tuple of str
        The same for a reader; empty where nothing changed.
    """

    finding: Finding
    form_then: str | None
    form_now: str | None
    form_with_what_is_known: str | None
    probability_then: float
    probability_now: float
    probability_with_what_is_known: float
    engine_changed: bool
    library_changed: bool
    evidence_added: tuple[str, ...]
    evidence_gone: tuple[str, ...]
    sentences: tuple[str, ...]


def accept_finding(
    collection: Collection, piece_id: str, *, who: str, remark: str = "", form: str | None = NAMED_BEST
) -> Finding:
    """
    Accept the present answer about a piece, signed; evidence, answer, engine and library version are frozen with it.

    Parameters
    ----------
    who : str
        Who accepts it.
    remark : str
    form : str or None
        Id of the form accepted; ``"best"`` (default): the most probable; None: none of the forms listed.

    Returns
    -------
    Finding
        The one that stood before is marked as superseded by it.

    Raises
    ------
    InputError
        If there is no evidence yet, or the form is not in the library.
    ChangedMeanwhile
        If the evidence changed while the answer was computed.
    """
    by, note = signature(who), words(remark, "finding", "remark", longest=LONG)
    library, evidence = library_of(collection), evidence_of(collection, piece_id)
    if evidence.is_empty:
        expected = "an outline, a measurement or a sighting first"
        raise Unfit(f"piece {piece_id}", "evidence", "there is no evidence of what is inside", expected)
    answer = answer_to(collection, evidence, library)
    accepted = best_of(answer)[0] if form == NAMED_BEST else form
    if accepted is not None and accepted not in library:
        raise InputError("finding", "form", accepted, "the id of a form in the library")
    probability = answer.unlisted if accepted is None else answer.probabilities[accepted]
    with collection.cabinet.writing(by) as draft:
        piece = draft.get(Piece, piece_id)
        if evidence_text(gather_evidence(draft, piece_id)) != evidence_text(evidence):
            raise ChangedMeanwhile(f"the evidence of piece {piece_id}", piece.version, piece.version + 1)
        finding = Finding(
            id=draft.numbered_id(Finding, f"{piece.id}.finding"),
            piece=piece.id,
            form=accepted,
            conclusion=title_of(accepted, library),
            probability=float(probability),
            unlisted=float(answer.unlisted),
            who=by,
            remark=note,
            evidence=evidence_text(evidence),
            answer=json.dumps(answer.to_record(), ensure_ascii=False, allow_nan=False),
            engine_version=answer.engine_version,
            library_version=answer.library_version,
        )
        return let_stand(draft, finding)


def let_stand(draft: Draft, finding: Finding) -> Finding:
    """Store a finding; the one on the same subject of the piece that stood before is marked as superseded by it."""
    for earlier in draft.all_of(Finding, piece=finding.piece):
        if earlier.superseded_by is None and earlier.subject == finding.subject:
            draft.put(replace(earlier, superseded_by=finding.id), "superseded")
    return draft.put(finding)


def get_finding(collection: Collection, finding_id: str) -> Finding:
    """A finding by its id."""
    with collection.cabinet.reading() as reader:
        return reader.get(Finding, finding_id)


def recheck_finding(collection: Collection, finding_id: str) -> Recheck:
    """Compute a finding again, on its frozen evidence and on what is known now, and say what changed; saves nothing."""
    finding = get_finding(collection, finding_id)
    library = library_of(collection)
    frozen = Evidence.from_record(json.loads(finding.evidence), f"finding {finding_id}")
    known = evidence_of(collection, finding.piece)
    then: Mapping[str, Any] = json.loads(finding.answer)
    now = answer_to(collection, frozen, library)
    with_all = answer_to(collection, known, library)

    def chance(unlisted: float, probabilities: Mapping[str, float]) -> float:
        return unlisted if finding.form is None else probabilities.get(finding.form, 0.0)

    items_then, items_now = _items(frozen), _items(known)
    added = tuple(item for item in items_now if item not in items_then)
    gone = tuple(item for item in items_then if item not in items_now)
    best_then = then["candidates"][0] if then["candidates"] else None
    form_then = None if best_then is None or then["unlisted"] > best_then["probability"] else str(best_then["form"])
    check = Recheck(
        finding,
        form_then,
        best_of(now)[0],
        best_of(with_all)[0],
        finding.probability,
        chance(now.unlisted, now.probabilities),
        chance(with_all.unlisted, with_all.probabilities),
        finding.engine_version != now.engine_version,
        finding.library_version != now.library_version,
        added,
        gone,
        (),
    )
    return replace(check, sentences=tuple(_sentences(check, title_of(check.form_with_what_is_known, library))))


def _items(evidence: Evidence) -> list[str]:
    outlines = [f"outline {outline.view}, {outline.height_mm:.1f} mm tall" for outline in evidence.outlines]
    bare = [f"bare glass, {o.view}, {low:.0f} to {high:.0f} mm" for o in evidence.outlines for low, high in o.bare]
    covering = [f"{name} {value}" for name, value in evidence.covering.to_record().items()]
    readings = [m.item for m in evidence.measurements] + [s.item for s in evidence.sightings]
    return [*outlines, *bare, *readings, *covering]


def _sentences(check: Recheck, name_now: str) -> list[str]:
    """What changed and why: first what the engine and the library did, then what became known, then the outcome."""
    named, same_form = check.finding.conclusion, check.form_with_what_is_known == check.finding.form
    changed = ["The engine has changed since."] if check.engine_changed else []
    changed += ["The form library has changed since."] if check.library_changed else []
    said = [*changed, *_of_the_tools(check)]
    if check.evidence_added:
        said.append("Since then became known: " + "; ".join(check.evidence_added) + ".")
    if check.evidence_gone:
        said.append("No longer held: " + "; ".join(check.evidence_gone) + ".")
    if check.evidence_added or check.evidence_gone:
        said.append(_step("That evidence takes", named, check.probability_now, check.probability_with_what_is_known))
    if not same_form:
        said.append(f"With what is known now, {name_now} would be named instead of {named}.")
    elif abs(check.probability_with_what_is_known - check.probability_then) >= 0.01:
        then, now = check.probability_then, check.probability_with_what_is_known
        said.append(f"Its probability went from {percent_text(then)} to {percent_text(now)}.")
    return said


def _of_the_tools(check: Recheck) -> list[str]:
    """What another engine or library makes of the evidence of that day."""
    tools = [
        name for name, other in (("engine", check.engine_changed), ("form library", check.library_changed)) if other
    ]
    if not tools:
        return []
    what = f"The {' and the '.join(tools)} alone, on the evidence of that day,"
    if abs(check.probability_now - check.probability_then) < 0.01:
        return [f"{what} would change nothing."]
    return [_step(f"{what} take" + ("s" if len(tools) == 1 else ""), *_from_then(check))]


def _from_then(check: Recheck) -> tuple[str, float, float]:
    return check.finding.conclusion, check.probability_then, check.probability_now


def _step(what: str, named: str, before: float, after: float) -> str:
    if abs(after - before) < 0.01:
        return f"{what} {named} nowhere: it stays at {percent_text(after)}."
    return f"{what} {named} from {percent_text(before)} to {percent_text(after)}."


__all__ = ["NAMED_BEST", "NONE_LISTED", "Recheck", "accept_finding", "get_finding", "recheck_finding"]

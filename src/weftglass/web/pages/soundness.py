"""Facts of the soundness pages: what was looked over, which findings stand, and one finding computed again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from weftglass.desk import VERDICTS, Care, Recheck, Standing, Survey, verdict_of
from weftglass.records import STATES
from weftglass.web.pages.addresses import condition_address, finding_address, piece_address
from weftglass.web.pages.wording import capital, day_text, percent_text

MOST_DUE = 60
NOTHING_CHANGED = "nothing it rests on has changed since"


@dataclass(frozen=True)
class SurveyFacts:
    """What a look over the files took in, in words, and what was found: lost or damaged, and only unusual."""

    looked_at: tuple[str, ...]
    serious: tuple[str, ...]
    unusual: tuple[str, ...]


@dataclass(frozen=True)
class StandingFacts:
    """One finding that stands: of which piece, signed by whom, at what probability, and what changed since."""

    piece: str
    piece_href: str
    conclusion: str
    signed: str
    probability: str
    changed: str
    touched: bool
    href: str
    json_href: str


@dataclass(frozen=True)
class CareFacts:
    """One piece to look at: its newest examination in words, and where its condition is."""

    name: str
    href: str
    state: str
    state_words: str
    looked: str


@dataclass(frozen=True)
class SoundnessFacts:
    """The survey, where one was asked for, all findings that stand, and the pieces that need care or a look."""

    survey: SurveyFacts | None
    findings: tuple[StandingFacts, ...]
    count: str
    care: tuple[CareFacts, ...]
    due: tuple[CareFacts, ...]
    due_more: int
    care_words: str


@dataclass(frozen=True)
class RecheckFacts:
    """One finding computed again: then, now on the evidence of that day, and now on all that is known."""

    piece: str
    piece_href: str
    inside_href: str
    conclusion: str
    signed: str
    verdict: str
    state: str
    rows: tuple[tuple[str, str, str], ...]
    sentences: tuple[str, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]


def soundness_facts(standing: Sequence[Standing], survey: Survey | None, pieces: Sequence[Care] = ()) -> SoundnessFacts:
    """The page for a collection; `survey` is None until somebody asks for the files to be looked over."""
    touched = sum(one.touched for one in standing)
    many = f"{len(standing)} finding{'s' if len(standing) != 1 else ''} stand{'s' if len(standing) == 1 else ''}"
    since = f"something changed under {touched} of them since" if touched else "nothing changed under them since"
    count = f"{many}; {since}" if standing else "No finding stands yet"
    due = [one for one in pieces if one.due and not one.urgent]
    return SoundnessFacts(
        None if survey is None else survey_facts(survey),
        tuple(standing_facts(one) for one in standing),
        f"{count}.",
        tuple(care_facts(one) for one in pieces if one.urgent),
        tuple(care_facts(one) for one in due[:MOST_DUE]),
        max(0, len(due) - MOST_DUE),
        care_words(pieces),
    )


def care_words(pieces: Sequence[Care]) -> str:
    """How the pieces stand, in one sentence."""
    if not pieces:
        return "There is no piece on the shelf yet."
    counts = Counter(one.state for one in pieces)
    told = [f"{counts[state]} {words}" for state, words in reversed(STATES.items()) if counts[state]]
    told += [f"{counts[None]} never examined"] if counts[None] else []
    late = sum(one.due and one.state is not None for one in pieces)
    return f"Of {len(pieces)}: {', '.join(told)}." + (f" {late} not looked at for over a year." if late else "")


def care_facts(one: Care) -> CareFacts:
    """One piece to look at."""
    looked = f"examined {day_text(date.fromisoformat(one.on))} by {one.by}" if one.on else "never examined"
    return CareFacts(
        one.name, condition_address(one.piece), one.state or "none", STATES[one.state] if one.state else "", looked
    )


def care_records(pieces: Sequence[Care]) -> list[dict[str, Any]]:
    """One flat record a piece, for lists."""
    return [{**vars(one)} for one in pieces]


def survey_facts(survey: Survey) -> SurveyFacts:
    """What was looked at, and the oddities by how serious they are."""
    counts = [f"{count} {name}" for name, count in survey.records.items() if count]
    return SurveyFacts(
        (*counts, f"{survey.changes} changes of the history", "the database itself", "where the collection lies"),
        tuple(oddity.sentence for oddity in survey.oddities if oddity.serious),
        tuple(oddity.sentence for oddity in survey.oddities if not oddity.serious),
    )


def standing_facts(one: Standing) -> StandingFacts:
    """One row of the list."""
    finding, href = one.finding, finding_address(one.finding.id)
    return StandingFacts(
        one.piece_name,
        piece_address(finding.piece),
        capital(finding.conclusion),
        f"{finding.who}, {day_text(finding.created_at.astimezone())}",
        percent_text(finding.probability),
        capital(changed_words(one)),
        one.touched,
        href,
        f"{href}.json",
    )


def changed_words(one: Standing) -> str:
    """What changed since a finding was signed, in a few words."""
    parts = (
        ("its evidence", one.evidence_changed),
        ("the form library", one.library_changed),
        ("the engine", one.engine_changed),
    )
    named = [words for words, changed in parts if changed]
    return f"changed since: {', '.join(named)}" if named else NOTHING_CHANGED


def recheck_facts(check: Recheck, piece_name: str, titles: Sequence[str]) -> RecheckFacts:
    """
    One finding computed again.

    Parameters
    ----------
    titles : (then, now, with all that is known)
        What was, or is, the likeliest vessel each time.
    """
    finding, state = check.finding, verdict_of(check)
    chances = (check.probability_then, check.probability_now, check.probability_with_what_is_known)
    times = (
        "when it was signed",
        "computed today, on the evidence of that day",
        "computed today, on all that is known now",
    )
    rows = zip(times, titles, chances, strict=True)
    return RecheckFacts(
        piece_name,
        piece_address(finding.piece),
        f"{piece_address(finding.piece)}/inside",
        capital(finding.conclusion),
        f"{finding.who}, {day_text(finding.created_at.astimezone())}",
        capital(VERDICTS[state]),
        state,
        tuple((when, capital(title), percent_text(chance)) for when, title, chance in rows),
        check.sentences,
        check.evidence_added,
        check.evidence_gone,
    )


def standing_records(standing: Sequence[Standing]) -> list[dict[str, Any]]:
    """One flat record a finding, for lists."""
    return [
        {
            "finding": one.finding.id,
            "piece": one.finding.piece,
            "name": one.piece_name,
            "form": one.finding.form,
            "conclusion": one.finding.conclusion,
            "probability": round(one.finding.probability, 4),
            "unlisted": round(one.finding.unlisted, 4),
            "signed_by": one.finding.who,
            "signed": one.finding.created_at.isoformat(timespec="seconds"),
            "evidence_changed": one.evidence_changed,
            "library_changed": one.library_changed,
            "engine_changed": one.engine_changed,
        }
        for one in standing
    ]

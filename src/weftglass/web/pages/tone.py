"""Facts of a piece's tone page: how to record, what was heard, what the candidates would sound like."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.desk import Heard, PieceDossier
from weftglass.inside import Answer
from weftglass.tone import Capacity
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.wording import capital, with_sd_text

LIKE_SDS = 2.0  # a candidate whose tone lies this near, in standard deviations of both, would sound like it


@dataclass(frozen=True)
class ForetoldTone:
    """One candidate and the tone it would have, with its uncertainty, and how that goes with what was heard."""

    name: str
    tone: str
    goes: str


@dataclass(frozen=True)
class HeardFacts:
    """What recordings say: found or why not, the capacity, what may spoil it, and the figures that may be kept."""

    found: bool
    sentence: str
    how: str
    at_rest: str
    capacity: str
    warnings: tuple[str, ...]
    candidates: tuple[ForetoldTone, ...]
    keep_hz: str
    keep_sd: str
    keep_remark: str
    keep_href: str
    capacity_ml: str
    capacity_sd: str


@dataclass(frozen=True)
class HeardAlone:
    """What was heard, sent by itself to the page's script."""

    heard: HeardFacts


@dataclass(frozen=True)
class ToneFacts:
    """The page: the piece, what was heard if anything was sent, what is kept already, where to send recordings."""

    piece_name: str
    piece_href: str
    hear_href: str
    kept: tuple[str, ...]
    heard: HeardFacts | None
    fault: FormFault | None


def tone_facts(dossier: PieceDossier, heard: HeardFacts | None, fault: FormFault | None) -> ToneFacts:
    """Put the page together."""
    href = piece_address(dossier.piece.id)
    kept = tuple(
        with_sd_text(record.value, record.sd, "Hz")
        for record in dossier.measurements
        if record.what == "tone" and not record.withdrawn
    )
    return ToneFacts(dossier.piece.name, href, f"{href}/tone", kept, heard, fault)


def heard_facts(heard: Heard, answer: Answer, piece: str) -> HeardFacts:
    """What was heard, in words; every number with its uncertainty."""
    warnings = tuple(f"{capital(warning)}." for warning in heard.tone.warnings)
    tone, href = heard.tone, f"{piece_address(piece)}/tone/keep"
    if tone.frequency_hz is None or heard.at_rest_hz is None or heard.at_rest_sd_hz is None:
        sentence = f"No tone found: {tone.reason}."
        return HeardFacts(False, sentence, "", "", "", warnings, (), "", "", "", href, "", "")
    count = len(tone.ringings)
    how = f"{'Patted' if tone.struck else 'Blown'}, {'once' if count == 1 else f'{count} times'}"
    return HeardFacts(
        True,
        f"A tone of {with_sd_text(tone.frequency_hz, tone.sd_hz, 'Hz')}.",
        how,
        with_sd_text(heard.at_rest_hz, heard.at_rest_sd_hz, "Hz"),
        capacity_words(heard.capacity),
        warnings,
        candidates_heard(answer, heard.at_rest_hz, heard.at_rest_sd_hz),
        f"{heard.at_rest_hz:.2f}",
        f"{heard.at_rest_sd_hz:.3f}",
        f"{how.lower()}; heard as {tone.frequency_hz:.1f} Hz",
        href,
        *_capacity_to_keep(heard),
    )


def _capacity_to_keep(heard: Heard) -> tuple[str, str]:
    """Capacity and its sd where dry fills told it; empty where only a tape did: the tone itself says more."""
    held = heard.capacity
    if not heard.fills or held.capacity_ml is None or held.sd_ml is None:
        return "", ""
    return f"{held.capacity_ml:.1f}", f"{held.sd_ml:.2f}"


def capacity_words(held: Capacity) -> str:
    """Capacity with its interval, or why it can't be told."""
    if held.capacity_ml is None or held.sd_ml is None or held.low_ml is None or held.high_ml is None:
        return f"No capacity from it: {held.reason}."
    return (
        f"Capacity to the brim {with_sd_text(held.capacity_ml, held.sd_ml, 'ml')} from {held.how}; in nine cases of "
        f"ten between {held.low_ml:.0f} and {held.high_ml:.0f} ml."
    )


def candidates_heard(answer: Answer, hz: float, sd_hz: float) -> tuple[ForetoldTone, ...]:
    """The leading candidates, the tone each would have, and whether that is what was heard."""
    told = []
    for candidate in answer.candidates[:5]:
        own = next((one for one in candidate.foretold if one.what == "tone"), None)
        if own is None:
            continue
        apart = abs(own.value - hz) / (own.sd**2 + sd_hz**2) ** 0.5
        goes = "would sound like this" if apart < LIKE_SDS else f"would sound {'lower' if own.value < hz else 'higher'}"
        name = f"{candidate.name}, {candidate.size}" if candidate.size else candidate.name
        told.append(ForetoldTone(name, with_sd_text(own.value, own.sd, "Hz"), goes))
    return tuple(told)

"""An answer in sentences: what it hangs on, what would tip it, what can be checked, when to stop looking."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.desk.identification import best_of, title_of
from weftglass.desk.offers import Footing
from weftglass.desk.wording import (
    FEATURE_WORDS,
    KIND_WORDS,
    capital,
    chance_words,
    outline_words,
    percent_text,
    with_sd_text,
)
from weftglass.evidence import KINDS
from weftglass.inside import Answer, Candidate
from weftglass.inside.reliability import reliability_of
from weftglass.vessels import FormLibrary

NINETY = 1.6449  # standard deviations either side that hold nine cases of ten
CLEAR = 0.4  # below this an answer is called not clear yet
APART = 0.02  # a probability of none of these from here on is named beside shares that leave it out
SURE = 0.95  # from this probability on nothing more is needed
CHECKS = {  # how the owner can check a quantity; common practice, no source
    "capacity": "fill it with dry millet, if it is clean and open, and measure what it took",
    "weight": "put it on a kitchen balance as it stands",
    "tone": "puff a rubber bulb across the open mouth and record the tone",
    "bore": "set callipers into the open mouth",
    "thickness": "probe through a gap that is there, never between strands",
}


@dataclass(frozen=True)
class ForetoldLine:
    """One quantity nobody measured: what, best value, interval of nine in ten, how to check it."""

    what: str
    value: str
    interval: str
    check: str


def item_words(item: str) -> str:
    """
    An item of evidence as a person would name it.

    Examples
    --------
    >>> item_words("outline front"), item_words("lip diameter 29 mm"), item_words("finish blob")
    ('the outline from the front', 'the diameter across the lip, 29 mm', 'the lip seen as “blob”')
    """
    first, _, rest = item.partition(" ")
    if first == "outline":
        view, _, number = rest.partition(" ")
        return outline_words(view) + (f", photograph {number}" if number else "")
    for kind in KINDS:
        name = kind.replace("_", " ")
        if item.startswith(f"{name} "):
            reading = item.removeprefix(f"{name} ").replace(" at ", " at ")
            at, joined, value = (
                reading.removeprefix("at ").partition(" mm ") if reading.startswith("at ") else ("", "", "")
            )
            if joined:
                return f"the {KIND_WORDS[kind]} at {at} mm, {value}"
            return f"the {KIND_WORDS[kind]}, {reading}"
    if first == "letters":
        return f"the letters “{rest}”"
    if first == "seller":
        return f"the seller’s words “{rest}”"
    if first == "colour" and rest.lower().startswith("lab "):
        return f"the colour of the glass sampled on the photograph (L* a* b* {rest[4:]})"
    if first in FEATURE_WORDS:
        return f"the {FEATURE_WORDS[first]} seen as “{rest}”"
    return item


def track_record_sentence(answer: Answer) -> str:
    """
    How often answers as sure as this one were right in tests; empty where none of the forms leads.

    The tests know no unlisted vessel, so a share for none of these that is worth a mention is said to stand apart.
    """
    if not answer.candidates or answer.unlisted > answer.candidates[0].probability:
        return ""
    sentence = reliability_of(answer.candidates[0].probability, answer.unlisted).sentence
    if answer.unlisted < APART:
        return sentence
    return f"{sentence} The {percent_text(answer.unlisted)} for none of these forms is not counted in that."


def hinge_sentence(answer: Answer, library: FormLibrary) -> str:
    """Which single item the answer hangs on; empty where there is nothing to choose between."""
    hinge = answer.hinge
    if hinge is None or not answer.candidates:
        return ""
    item, best = item_words(hinge.item), answer.candidates[0].form
    if hinge.leader_without != best:
        other = title_of(hinge.leader_without, library)
        return f"The answer hangs on {item}: without it, {other} would lead with {percent_text(hinge.leader_chance)}."
    return (
        f"No single item decides it. Without {item}, which matters most, {title_of(best, library)} would still lead, "
        f"with about {percent_text(hinge.chance_without)} instead of {percent_text(hinge.chance)}."
    )


def tip_sentences(answer: Answer, library: FormLibrary) -> tuple[str, ...]:
    """What each item would have to be for the runner-up to lead; one sentence where none could do it alone."""
    if len(answer.candidates) < 2 or answer.candidates[1].probability < 0.02:
        return ()
    runner_up = title_of(answer.candidates[1].form, library)
    if not answer.tips:
        return (f"No single reading or sighting, had it been another, would have put {runner_up} ahead.",)
    said = []
    for tip in answer.tips:
        if tip.reading is not None and tip.tips_at is not None:
            reading, tips_at = _apart(tip.reading, tip.tips_at)
            way = "or more" if tip.tips_at > tip.reading else "or less"
            name = item_words(tip.item).rpartition(",")[0]
            said.append(
                f"{capital(name)} would have to be {tips_at} {tip.unit} {way}, not {reading} {tip.unit}, "
                f"for {runner_up} to lead."
            )
        else:
            feature, _, seen = tip.item.partition(" ")
            name = FEATURE_WORDS.get(feature, feature)
            said.append(f"If the {name} were “{tip.instead}” rather than “{seen}”, {runner_up} would lead.")
    return tuple(said)


def _apart(reading: float, tips_at: float) -> tuple[str, str]:
    """Two readings with as few digits as keep them apart."""
    for digits in range(4):
        one, other = f"{reading:.{digits}f}", f"{tips_at:.{digits}f}"
        if one != other:
            break
    return one, other


def excluded_sentences(answer: Answer) -> tuple[str, ...]:
    """Forms that can't be inside, with the height and the millimetres that say so."""
    return tuple(
        f"{capital(f'{one.name}, {one.size}' if one.size else one.name)} can’t be inside: its glass would stand out by "
        f"{one.by_mm:.1f} mm at {one.z_mm:.0f} mm height."
        for one in answer.excluded
    )


def foretold_lines(candidate: Candidate) -> tuple[ForetoldLine, ...]:
    """What the candidate foretells, each with its interval and how to check it; the covering's thickness last."""
    lines = [
        ForetoldLine(
            capital(KIND_WORDS.get(one.what, one.what)),
            with_sd_text(one.value, one.sd, one.unit),
            _between(one.low, one.high, one.sd, one.unit),
            CHECKS.get(one.what, ""),
        )
        for one in candidate.foretold
    ]
    return (*lines, *_thickness_line(candidate))


def _thickness_line(candidate: Candidate) -> tuple[ForetoldLine, ...]:
    """The covering near the base, half-way up and near its top, in one line."""
    rows = candidate.thickness.tolist()
    if not rows:
        return ()
    chosen = [rows[0], rows[len(rows) // 2], rows[-1]] if len(rows) > 2 else rows
    value = "; ".join(f"{with_sd_text(mean, sd, 'mm')} at {z:.0f}\u00a0mm" for z, mean, sd in chosen)
    low = min(max(mean - NINETY * sd, 0.0) for _, mean, sd in rows)
    high = max(mean + NINETY * sd for _, mean, sd in rows)
    sd = min(sd for _, _, sd in rows)
    return (ForetoldLine("Thickness of the covering", value, _between(low, high, sd, "mm"), CHECKS["thickness"]),)


def _between(low: float, high: float, sd: float, unit: str) -> str:
    digits = 0 if sd >= 0.95 else 1
    return f"{low:.{digits}f}–{high:.{digits}f}\u00a0{unit}"


def no_more_looks_sentence(answer: Answer) -> str:
    """What to say where no look is offered."""
    if best_of(answer)[1] >= SURE:
        return "Nothing more is needed: no further look would change this answer."
    return "No further look would tell these apart with this library; what is left open stays open."


def inside_sentence(answer: Answer | None, footing: Footing) -> str:
    """What a seller's piece probably holds, never surer than computed and what it rests on."""
    if answer is None:
        return "Nothing is known of the vessel yet. Trace a photograph, or write down what the seller says of it."
    shape = () if footing.sized else ("This rests on its shape alone: nothing tells its size yet.",)
    return " ".join((_likeliest(answer), *shape, *footing.unsure))


def _likeliest(answer: Answer) -> str:
    form, probability = best_of(answer)
    family, share = answer.families[0]
    if probability < CLEAR:
        return (
            f"Not clear yet: the likeliest family is {family} ({percent_text(share)}), "
            f"none of the forms listed {percent_text(answer.unlisted)}."
        )
    name = "a vessel that is not in the library"
    if form is not None:
        best = next(one for one in answer.candidates if one.form == form)
        name = ", ".join(filter(None, (best.name, best.size)))
    return f"{chance_words(probability).capitalize()} {name} ({percent_text(probability)})."

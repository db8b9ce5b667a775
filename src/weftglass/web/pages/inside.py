"""Facts of 'What is inside': the verdict, the candidates, why, what moved, and what to look at next."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote, urlencode

from markupsafe import Markup

from weftglass.desk import NONE_LISTED, PieceDossier, best_of, title_of
from weftglass.desk.explaining import (
    ForetoldLine,
    excluded_sentences,
    foretold_lines,
    hinge_sentence,
    item_words,
    no_more_looks_sentence,
    tip_sentences,
    track_record_sentence,
)
from weftglass.evidence import FEATURES, KINDS, Evidence
from weftglass.inside import Answer, Candidate, NextLook
from weftglass.vessels import FormLibrary
from weftglass.web.door import FormFault
from weftglass.web.figures.inside import Fitted, vessel_in_outline_svg
from weftglass.web.pages.addresses import bench_address, piece_address
from weftglass.web.pages.colour import colour_address
from weftglass.web.pages.wording import (
    FEATURE_WORDS,
    KIND_WORDS,
    bits_words,
    capital,
    chance_words,
    decibans_text,
    decibans_words,
    percent_text,
    with_sd_text,
)

NAMED = 0.6  # a form is named on its own from this probability on


@dataclass(frozen=True)
class CandidateRow:
    """One form that may be inside: name, chance as text, words and bar, how it fits, and the page showing it drawn."""

    form: str
    name: str
    chance: str
    words: str
    bar: str
    href: str
    current: bool
    fits: str
    cover: str


@dataclass(frozen=True)
class WeightRow:
    """One item of evidence for the shown candidate: weight with sign, plain words, and its bar from the middle."""

    item: str
    weight: str
    words: str
    bar_x: str
    bar_width: str
    against: bool


@dataclass(frozen=True)
class LookFacts:
    """One thing worth looking at next, with what is needed to answer it on the spot."""

    look: str
    tells: str
    effort: str
    caution: str
    expected: str
    kind: str
    measured: bool
    label: str
    unit: str
    z: str
    choices: tuple[str, ...]
    seller: str
    href: str


@dataclass(frozen=True)
class MovedRow:
    """One probability before and after a change."""

    name: str
    before: str
    after: str
    words: str


@dataclass(frozen=True)
class MovedFacts:
    """What a change did: the change in words, one sentence, and the rows that moved."""

    change: str
    sentence: str
    rows: tuple[MovedRow, ...]


@dataclass(frozen=True)
class AnswerFacts:
    """Everything the answer shows; every number is text with its unit, the drawing is escaped SVG."""

    verdict: str
    track_record: str
    nothing_known: bool
    candidates: tuple[CandidateRow, ...]
    likeliest_form: str
    unlisted: str
    unlisted_bar: str
    rest: str
    chosen: str
    chosen_form: str
    chosen_fits: str
    drawing: Markup | None
    weights: tuple[WeightRow, ...]
    total_weight: str
    total_words: str
    hinge: str
    tips: tuple[str, ...]
    excluded: tuple[str, ...]
    foretold: tuple[ForetoldLine, ...]
    groups: tuple[str, ...]
    looks: tuple[LookFacts, ...]
    no_more_looks: str
    moved: MovedFacts | None
    commonness: bool
    commonness_href: str
    warnings: tuple[str, ...]
    made_by: str


def answer_facts(
    answer: Answer,
    evidence: Evidence,
    library: FormLibrary,
    address: str,
    *,
    chosen: str = "",
    with_commonness: bool = True,
    before: tuple[str, Answer] | None = None,
    most: int = 10,
) -> AnswerFacts:
    """
    Turn an answer into what the page shows.

    Parameters
    ----------
    address : str
        Address of the page, for the links that switch candidate and commonness.
    chosen : str
        Id of the candidate to draw; default the most probable.
    before : (change in words, answer) or None
        The answer before the last change.
    most : int
        Most candidates listed.
    """
    listed = _worth_listing(answer.candidates, chosen, most)
    shown = next(
        (c for c in answer.candidates if c.form == chosen), answer.candidates[0] if answer.candidates else None
    )
    current = shown.form if shown else ""
    return AnswerFacts(
        verdict_sentence(answer, library, evidence),
        "" if evidence.is_empty else track_record_sentence(answer),
        evidence.is_empty,
        tuple(_candidate_row(c, address, c.form == current, with_commonness) for c in listed),
        chosen or best_of(answer)[0] or "",
        percent_text(answer.unlisted),
        _bar(answer.unlisted),
        percent_text(answer.rest + sum(c.probability for c in answer.candidates if c not in listed)),
        titled(shown.name, shown.size) if shown else "",
        current,
        _fits_words(shown) if shown else "",
        _drawing(shown, evidence) if shown else None,
        _weight_rows(shown) if shown else (),
        decibans_text(shown.decibans) if shown else "",
        decibans_words(shown.decibans) if shown else "",
        hinge_sentence(answer, library),
        tip_sentences(answer, library),
        excluded_sentences(answer),
        foretold_lines(shown) if shown else (),
        tuple(_group_sentence(group, library) for group in answer.groups),
        tuple(_look_facts(look, library, answer.piece) for look in answer.next_looks),
        no_more_looks_sentence(answer),
        moved_facts(*before, answer, library) if before else None,
        with_commonness,
        _address(address, current if chosen else "", not with_commonness),
        answer.warnings,
        f"weighed {answer.forms_weighed} forms; engine {answer.engine_version}, library {answer.library_version}",
    )


def _worth_listing(candidates: tuple[Candidate, ...], chosen: str, most: int) -> tuple[Candidate, ...]:
    """The leading three, any other of at least 1 %, and the chosen one."""
    kept = [c for i, c in enumerate(candidates[:most]) if i < 3 or c.probability >= 0.01]
    return tuple(kept + [c for c in candidates if c.form == chosen and c not in kept])


def titled(name: str, size: str | None) -> str:
    """Name and size as one title."""
    return f"{name}, {size}" if size else name


def verdict_sentence(answer: Answer, library: FormLibrary, evidence: Evidence | None = None) -> str:
    """The answer in one sentence, no surer than it is."""
    if evidence is not None and evidence.is_empty:
        return "Nothing is known of this piece yet, so every form in the library is still possible."
    if not answer.candidates or answer.unlisted >= 0.5:
        return f"{capital(chance_words(answer.unlisted))} none of the forms listed ({percent_text(answer.unlisted)})."
    best = answer.candidates[0]
    together = next((group for group in answer.groups if best.form in group), ())
    if best.probability >= NAMED:
        words = f"{capital(chance_words(best.probability))} {_a(titled(best.name, best.size))}"
        return f"{words} ({percent_text(best.probability)})."
    if len(together) > 1:
        leader = _a(titled(best.name, best.size))
        return f"One of {len(together)} forms that this evidence cannot tell apart, led by {leader}."
    family, chance = answer.families[0] if answer.families else ("", 0.0)
    if chance >= NAMED:
        return f"{capital(chance_words(chance))} {_a(family)} ({percent_text(chance)}); which size is still open."
    return (
        f"Still open: {titled(best.name, best.size)} leads with {percent_text(best.probability)}; "
        f"none of the forms listed stands at {percent_text(answer.unlisted)}."
    )


def moved_facts(change: str, before: Answer, after: Answer, library: FormLibrary) -> MovedFacts:
    """What a change did to the leading forms and to 'none of the forms listed'."""
    names = [c.form for c in (*after.candidates[:3], *before.candidates[:2])]
    rows = []
    for form in dict.fromkeys(names):
        old, new = before.probabilities.get(form, 0.0), after.probabilities.get(form, 0.0)
        rows.append(_moved_row(library[form].title if form in library else form, old, new))
    rows.append(_moved_row("none of the forms listed", before.unlisted, after.unlisted))
    moved = tuple(row for row in rows if row.words != "as before")
    return MovedFacts(change, _moved_sentence(before, after, library), moved)


def _moved_row(name: str, old: float, new: float) -> MovedRow:
    step = new - old
    words = "as before" if abs(step) < 0.005 else ("gained" if step > 0 else "lost")
    return MovedRow(name, percent_text(old), percent_text(new), words)


def _moved_sentence(before: Answer, after: Answer, library: FormLibrary) -> str:
    (old, chance_then), (new, chance_now) = best_of(before), best_of(after)
    name = title_of(new, library)
    if old != new:
        return f"The lead went from {title_of(old, library)} to {name}."
    step = chance_now - chance_then
    if abs(step) < 0.02:
        return f"{capital(name)} leads as before; the change said little that was not known."
    return f"{capital(name)} leads as before and is now {'likelier' if step > 0 else 'less likely'}."


def _candidate_row(candidate: Candidate, address: str, current: bool, with_commonness: bool) -> CandidateRow:
    return CandidateRow(
        candidate.form,
        titled(candidate.name, candidate.size),
        percent_text(candidate.probability),
        chance_words(candidate.probability),
        _bar(candidate.probability),
        _address(address, candidate.form, with_commonness),
        current,
        _fits_words(candidate),
        _cover_words(candidate),
    )


def _fits_words(candidate: Candidate) -> str:
    if candidate.misfit is None:
        return "fits inside"
    z, by = candidate.misfit
    return f"does not fit: the glass would stick out by {by:.1f} mm at {z:.0f} mm height"


def _cover_words(candidate: Candidate) -> str:
    cover = candidate.cover
    mean = with_sd_text(cover.mean_mm, cover.sd_mm, "mm")
    if not len(candidate.clearance):
        return f"covering taken as {mean} thick"
    if cover.mean_mm <= 0:
        return f"leaves no room for a covering ({mean} on average)"
    return f"covering {mean} thick on average, from {max(cover.min_mm, 0.0):.1f} to {cover.max_mm:.1f} mm"


def _drawing(candidate: Candidate, evidence: Evidence) -> Markup | None:
    if not evidence.outlines or not len(candidate.clearance):
        return None
    outline = evidence.outlines[0]
    fitted = Fitted(outline.points, candidate.vessel, candidate.clearance, outline.bare, outline.hidden)
    sd = candidate.clearance_sd_mm
    scale = f"One clearance is known to ± {sd:.1f} mm, the scale to ± {100 * outline.scale_sd:.1f} %."
    return vessel_in_outline_svg(fitted, titled(candidate.name, candidate.size), scale)


def _weight_rows(candidate: Candidate) -> tuple[WeightRow, ...]:
    most = max([abs(weight.decibans) for weight in candidate.evidence] + [10.0])
    rows = []
    for weight in candidate.evidence:
        share = 50 * abs(weight.decibans) / most
        left = 50.0 if weight.decibans >= 0 else 50.0 - share
        rows.append(
            WeightRow(
                capital(item_words(weight.item)),
                decibans_text(weight.decibans),
                decibans_words(weight.decibans),
                f"{left:.1f}%",
                f"{share:.1f}%",
                weight.decibans < 0,
            )
        )
    return tuple(rows)


def _group_sentence(group: tuple[str, ...], library: FormLibrary) -> str:
    names = [library[form].title if form in library else form for form in group]
    if len(names) > 8:
        names = [*names[:7], f"{len(names) - 7} more"]
    return f"This evidence cannot tell apart {'; '.join(names[:-1])} and {names[-1]}."


def _look_facts(look: NextLook, library: FormLibrary, piece: str) -> LookFacts:
    measured = look.kind in KINDS
    elsewhere = f"{piece_address(piece)}/tone" if look.kind == "tone" else ""
    if look.kind.startswith("view "):
        elsewhere = piece_address(piece)
    unit = KINDS[look.kind].unit if measured else ""
    label = KIND_WORDS.get(look.kind, look.kind) if measured else FEATURE_WORDS.get(look.kind, look.kind)
    minutes = "under a minute" if look.minutes < 1 else f"about {look.minutes:.0f} min"
    return LookFacts(
        look.look,
        f"{bits_words(look.gain_bits)} ({look.expected_words})",
        f"{look.effort} effort, {minutes}",
        look.caution or "",
        look.expected,
        look.kind,
        measured or look.kind not in FEATURES,
        capital(label),
        unit,
        "" if look.z_mm is None else f"{look.z_mm:g}",
        values_seen(library, look.kind),
        look.seller,
        elsewhere,
    )


def _address(address: str, form: str, with_commonness: bool) -> str:
    asked = ({"form": form} if form else {}) | ({} if with_commonness else {"commonness": "even"})
    return f"{quote(address)}?{urlencode(asked)}" if asked else quote(address)


def _bar(probability: float) -> str:
    return f"{100 * min(1.0, max(0.0, probability)):.1f}%"


def _a(name: str) -> str:
    return f"{'an' if name[:1].lower() in 'aeio' else 'a'} {name}"


def values_seen(library: FormLibrary, feature: str) -> tuple[str, ...]:
    """Words the library uses for a feature, offered while it is typed; empty for features written freely."""
    found = {
        "finish": (word for form in library for word in form.finish),
        "closure": (word for form in library for word in form.closure),
        "colour": (word for form in library for word in form.colours),
        "base": (word for form in library for word in form.base),
        "section": (form.section.kind for form in library),
        "contents": (form.contents for form in library if form.contents),
    }.get(feature, iter(()))
    return tuple(sorted(set(found)))


def seen_words(library: FormLibrary) -> tuple[str, ...]:
    """Words the library uses for anything seen, offered while a sighting is typed."""
    named = ("finish", "closure", "colour", "base")
    return tuple(sorted({word for name in named for word in values_seen(library, name)}))


@dataclass(frozen=True)
class InsideFacts:
    """The whole page 'What is inside': the answer, where to work on it, and the form that accepts a finding."""

    piece_name: str
    piece_href: str
    bench_href: str
    colour_href: str
    answer: AnswerFacts
    conclusions: tuple[tuple[str, str], ...]
    svg_href: str
    json_href: str
    download_name: str
    habits: str
    habits_href: str
    fault: FormFault | None


@dataclass(frozen=True)
class LiveFacts:
    """The strip beside the photograph: the answer in short."""

    piece_href: str
    inside_href: str
    answer: AnswerFacts


HABITS_WORDS = {
    None: "What the makers are known to have covered is left out.",
    True: "Counted with what the makers are known to have covered, themselves weighed without this vessel.",
    False: "Too few documented pieces to know what the makers covered; nothing was added.",
}


def inside_facts(
    dossier: PieceDossier, answer: AnswerFacts, fault: FormFault | None, habits: bool | None = None
) -> InsideFacts:
    """Put the page around an answer; ``habits``: whether what the makers covered counts, None where not asked for."""
    piece, href = dossier.piece, piece_address(dossier.piece.id)
    traced = [one.view for one in dossier.views if one.view.measured is not None]
    views = traced or [one.view for one in dossier.views]
    asked = urlencode({"form": answer.chosen_form} if answer.chosen_form else {})
    return InsideFacts(
        piece.name,
        href,
        bench_address(views[0]) if views else "",
        colour_address(views[0].piece, views[0].id) if views else "",
        answer,
        (*((row.form, row.name) for row in answer.candidates), ("", NONE_LISTED)),
        f"{href}/inside.svg?{asked}",
        f"{href}/inside.json",
        f"{piece.id}-inside.svg",
        HABITS_WORDS[habits],
        f"{href}/inside" + ("?habits=on" if habits is None else ""),
        fault,
    )

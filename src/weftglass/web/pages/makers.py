"""Facts of 'Who made it', of the list of communities, and of one community."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import numpy as np

from weftglass.dating import GroupDate
from weftglass.desk import PieceDossier
from weftglass.desk.communities import COMMUNITY_FIELDS, CommunityRow, as_typed
from weftglass.desk.makers import ANOTHER, Learning, MakerAnswer, VesselShift
from weftglass.desk.unusual import Inscription
from weftglass.holdings import Rarity
from weftglass.records import COUNTED, Community, PublishedHolding
from weftglass.weave.attribution import TraitWeight
from weftglass.weave.judging import Scores
from weftglass.weave.traits import TRAIT_WORDS
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import community_address, piece_address
from weftglass.web.pages.wording import (
    FEATURE_WORDS,
    capital,
    chance_words,
    decibans_text,
    percent_text,
    range_text,
)

MAKER_FEATURES = ("lean", "start", "rim", "foundation", "splice", "design", "dye", "inscription")
HINTS = {
    "other_names": "One a line.",
    "point": "Latitude, longitude in degrees, such as 50.8, -4.5.",
    "within_km": "In km.",
    "years": "Such as 1880 to 1930.",
    "traits": "One a line, such as lean: up to the right.",
    "restricted": "What, and why; it is said on every page of the community.",
    "restricted_designs": "One a line, such as heron. Their pieces and pictures stay out of anything published.",
}


@dataclass(frozen=True)
class ChanceRow:
    """One community: name, probability as text, words and bar, how many documented pieces it rests on, its page."""

    name: str
    chance: str
    words: str
    bar: str
    rests_on: str
    href: str
    weights: tuple[TraitRow, ...]


@dataclass(frozen=True)
class TraitRow:
    """One trait for or against: what is shown, its weight, how many documented pieces show it, and its bar."""

    trait: str
    weight: str
    seen: str
    bar_x: str
    bar_width: str
    against: bool


@dataclass(frozen=True)
class ScoreRow:
    """One rule under cross-validation, every figure as text; ``used``: it is the one that answers."""

    rule: str
    right: str
    stated: str
    log_score: str
    calibration: str
    by_chance: str
    another: str
    used: bool


@dataclass(frozen=True)
class ScoresFacts:
    """How far attribution can be trusted on this collection: both rules, the choice, and stated against true."""

    sentence: str
    rows: tuple[ScoreRow, ...]
    groups: tuple[tuple[str, str, str], ...]
    refusal: str


@dataclass(frozen=True)
class MakerFacts:
    """The whole page 'Who made it'."""

    piece_name: str
    piece_href: str
    verdict: str
    entry: str
    refusal: str
    chances: tuple[ChanceRow, ...]
    another: str
    another_bar: str
    with_vessel: bool
    vessel_href: str
    shifts: tuple[tuple[str, str, str], ...]
    scores: ScoresFacts
    inscriptions: tuple[tuple[str, str], ...]
    unusual: tuple[tuple[str, str], ...]
    features: tuple[tuple[str, str], ...]
    covering_words: tuple[str, ...]
    conclusions: tuple[tuple[str, str], ...]
    likeliest: str
    json_href: str
    fault: FormFault | None


@dataclass(frozen=True)
class CommunityCard:
    """A community in the list: its names, place, years, pieces, and its page or the way to enter it."""

    name: str
    own_name: str
    where: str
    years: str
    documented: str
    href: str
    restricted: bool


@dataclass(frozen=True)
class HoldingRow:
    """A published holding: whose, where published, how many pieces, what was counted, and where to take it out."""

    name: str
    source: str
    counted: str
    act_href: str


@dataclass(frozen=True)
class InscriptionRow:
    """One inscription: its words, how surely read, the date in it, the maker, and the piece it stands on."""

    text: str
    sure: str
    date: str
    maker: str
    piece: str
    href: str


@dataclass(frozen=True)
class CommunitiesFacts:
    """The page of all communities: the list, the scores, what is unusual, published holdings, and the forms."""

    cards: tuple[CommunityCard, ...]
    scores: ScoresFacts
    unusual: tuple[tuple[str, str], ...]
    inscriptions: tuple[InscriptionRow, ...]
    holdings: tuple[HoldingRow, ...]
    counted: tuple[tuple[str, str], ...]
    add_fields: tuple[tuple[str, str, str, str], ...]
    fault: FormFault | None


@dataclass(frozen=True)
class CommunityFacts:
    """The page of one community: what is known, its pieces, and the form to change it."""

    name: str
    href: str
    known: tuple[tuple[str, str], ...]
    restricted: str
    restricted_designs: tuple[str, ...]
    documented: tuple[tuple[str, str], ...]
    guessed: tuple[tuple[str, str], ...]
    together: tuple[str, ...] | None
    edit_fields: tuple[tuple[str, str, str, str], ...]
    version: int
    withdrawn: bool
    fault: FormFault | None


def maker_facts(
    dossier: PieceDossier,
    found: MakerAnswer,
    shifts: Sequence[VesselShift],
    rarities: Mapping[str, Rarity],
    addresses: Mapping[str, str],
    words: Sequence[str],
    fault: FormFault | None,
) -> MakerFacts:
    """
    Turn an attribution into what the page shows.

    ``addresses`` leads from a community's name to its page; ``words`` are those of the vocabulary, to choose from.
    """
    href, answer = piece_address(dossier.piece.id), found.attribution
    most = max((abs(w.decibans) for one in answer.chances for w in one.weights), default=10.0)
    chances = tuple(
        ChanceRow(
            one.community,
            percent_text(one.probability),
            chance_words(one.probability),
            f"{100 * one.probability:.1f}%",
            f"{one.documented} piece{'' if one.documented == 1 else 's'}",
            addresses.get(one.community, ""),
            tuple(_trait_row(weight, most) for weight in one.weights),
        )
        for one in answer.chances
    )
    names = [one.community for one in answer.chances]
    return MakerFacts(
        dossier.piece.name,
        href,
        maker_verdict(found),
        found.entry,
        answer.refusal,
        chances,
        percent_text(answer.another),
        f"{100 * answer.another:.1f}%",
        found.with_vessel,
        f"{href}/maker" + ("?vessel=off" if found.with_vessel else ""),
        tuple((one.family, percent_text(one.before), percent_text(one.after)) for one in shifts),
        scores_facts(found.learning),
        tuple((one.value, f"read with {percent_text(one.sure)} certainty") for one in dossier.sightings
              if one.feature == "inscription"),
        rarity_rows(rarities),
        tuple((name, capital(FEATURE_WORDS[name])) for name in MAKER_FEATURES),
        tuple(words),
        (*((name, name) for name in names), ("", ANOTHER)) if names else (),
        names[0] if names and answer.chances[0].probability > answer.another else "",
        f"{href}/maker.json" + ("" if found.with_vessel else "?vessel=off"),
        fault,
    )  # fmt: skip


def maker_verdict(found: MakerAnswer) -> str:
    """The attribution in one sentence, no surer than it is."""
    answer = found.attribution
    if answer.refusal:
        return answer.refusal
    best = answer.chances[0]
    if answer.another > best.probability:
        return f"Probably none of the documented communities ({percent_text(answer.another)})."
    if best.probability < 0.5:
        second = answer.chances[1]
        return (
            f"Still open: {best.community} leads with {percent_text(best.probability)} before {second.community} "
            f"with {percent_text(second.probability)}; another community {percent_text(answer.another)}."
        )
    words = capital(chance_words(best.probability))
    rests_on = f"resting on {answer.documented} documented pieces"
    return f"{words} {best.community} ({percent_text(best.probability)}), {rests_on}."


def scores_facts(learning: Learning) -> ScoresFacts:
    """Both rules' cross-validated scores as text."""
    choice = learning.choice
    if choice is None:
        return ScoresFacts("", (), (), learning.documented.too_few)
    used = choice.baseline if choice.used == choice.baseline.rule else choice.other
    rows = tuple(_score_row(scores, scores is used) for scores in (choice.baseline, choice.other))
    groups = tuple((percent_text(p), f"{100 * right:.0f}\u00a0%", str(n)) for p, right, n in used.stated_and_right)
    return ScoresFacts(choice.sentence, rows, groups, "")


def rarity_rows(rarities: Mapping[str, Rarity]) -> tuple[tuple[str, str], ...]:
    """Each kind with the sentence that says how unusual it is."""
    return tuple((capital(kind), found.sentence) for kind, found in rarities.items())


def communities_facts(
    rows: Sequence[CommunityRow],
    learning: Learning,
    rarities: Mapping[str, Rarity],
    written: Sequence[Inscription],
    holdings: Sequence[PublishedHolding],
    fault: FormFault | None,
    name: str = "",
) -> CommunitiesFacts:
    """Put the page of all communities together; ``name`` is filled into the form."""
    return CommunitiesFacts(
        tuple(_card(row) for row in rows),
        scores_facts(learning),
        rarity_rows(rarities),
        tuple(_inscription_row(one) for one in written),
        tuple(_holding_row(one) for one in holdings),
        tuple((f"count_{i}", capital(kind)) for i, kind in enumerate(COUNTED)),
        _form_fields({"name": name}),
        fault,
    )


def community_facts(
    row: CommunityRow, fault: FormFault | None, together: Mapping[str, GroupDate] | None = None
) -> CommunityFacts:
    """Put the page of one community together; ``together``: its documented pieces dated as a group, if asked for."""
    one = row.community
    typed = as_typed(one)
    known = tuple(
        (capital(label), typed[name].replace("\n", "; "))
        for name, label in COMMUNITY_FIELDS.items()
        if typed[name] and name not in ("name", "restricted", "restricted_designs")
    )
    return CommunityFacts(
        one.name,
        community_address(one.id),
        known,
        one.restricted,
        one.restricted_designs,
        tuple((piece.name, piece_address(piece.id)) for piece in row.documented),
        tuple((piece.name, piece_address(piece.id)) for piece in row.guessed),
        None if together is None else _group_sentences(together),
        _form_fields(typed),
        one.version,
        one.withdrawn,
        fault,
    )


def _group_sentences(together: Mapping[str, GroupDate]) -> tuple[str, ...]:
    """A group's dates, one sentence a part."""
    said = tuple(
        f"{capital(part)} of {len(one.names)} pieces: mean date {one.mean:.0f} ± {one.mean_sd:.0f}, spread "
        f"{one.spread:.0f} years; made {one.span.words} ({one.span.edtf}). "
        f"The group was not whole before {one.not_before}."
        for part, one in together.items()
    )
    return said or ("Nothing dates these pieces yet.",)


def community_records(rows: Sequence[CommunityRow]) -> list[dict[str, Any]]:
    """Communities as rows for other programs."""
    return [
        {**{name: text.replace("\n", "; ") for name, text in as_typed(row.community).items()},
         "documented_pieces": len(row.documented), "guessed_pieces": len(row.guessed)}
        for row in rows
    ]  # fmt: skip


def counts_typed(typed: Mapping[str, str]) -> dict[str, str]:
    """What was typed into the form of a published holding, by what was counted; empty fields were not counted."""
    found = {kind: typed.get(f"count_{i}", "") for i, kind in enumerate(COUNTED)}
    return {kind: text for kind, text in found.items() if text}


def _card(row: CommunityRow) -> CommunityCard:
    one = row.community
    years = "" if one.years is None else range_text(*one.years)
    pieces = f"{len(row.documented)} documented" + (f", {len(row.guessed)} guessed" if row.guessed else "")
    own = one.own_name if one.own_name != one.name else ""
    href = community_address(one.id) if one.id else f"/communities?name={quote(one.name, safe='')}#add"
    return CommunityCard(one.name, own, one.place, years, pieces, href, _keeps_back(one))


def _keeps_back(one: Community) -> bool:
    return bool(one.restricted or one.restricted_designs)


def _inscription_row(one: Inscription) -> InscriptionRow:
    maker = ", ".join(filter(None, (one.maker, one.community)))
    date = "" if one.reads_as is None else one.reads_as.words
    return InscriptionRow(one.text, percent_text(one.sure), date, maker, one.piece_name, piece_address(one.piece))


def _holding_row(one: PublishedHolding) -> HoldingRow:
    counted = ", ".join(f"{count} {kind}" for kind, count in one.counts) or "nothing counted"
    act_href = f"/communities/holdings/{quote(one.id, safe='')}/withdraw"
    return HoldingRow(one.name, one.source, f"{one.pieces} pieces: {counted}", act_href)


def _form_fields(values: Mapping[str, str]) -> tuple[tuple[str, str, str, str], ...]:
    """Name, label, value and hint of each field."""
    return tuple(
        (name, capital(label), values.get(name, ""), HINTS.get(name, "")) for name, label in COMMUNITY_FIELDS.items()
    )


def _trait_row(weight: TraitWeight, most: float) -> TraitRow:
    share = 50 * abs(weight.decibans) / max(most, 10.0)
    left = 50.0 if weight.decibans >= 0 else 50.0 - share
    seen = "none" if weight.seen < 0.05 else f"{weight.seen:.1f}".removesuffix(".0")
    return TraitRow(
        f"{TRAIT_WORDS[weight.trait]}: {weight.shown}",
        decibans_text(weight.decibans),
        f"{seen} of {weight.pieces}",
        f"{left:.1f}%",
        f"{share:.1f}%",
        weight.decibans < 0,
    )


def _score_row(scores: Scores, used: bool) -> ScoreRow:
    left_out = "–" if np.isnan(scores.another_left_out) else percent_text(scores.another_left_out)
    return ScoreRow(
        capital(scores.rule.name),
        f"{scores.right} of {scores.pieces}",
        percent_text(scores.stated),
        f"{scores.log_score / np.log(2):.2f}".replace("-", "−") + "\u00a0bits",
        f"{100 * scores.calibration_error:.0f}\u00a0%",
        f"{100 * scores.calibration_floor:.0f}\u00a0%",
        f"{percent_text(scores.another_known)} / {left_out}",
        used,
    )

"""Who may have made a piece: traits gathered, the rule chosen on the collection itself, and what that says of glass."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from weftglass.cabinet.listing import latest_answers, standing_findings
from weftglass.desk.collection import Collection
from weftglass.desk.communities import is_guess, plain_name
from weftglass.desk.findings import let_stand
from weftglass.desk.forms import library_of
from weftglass.desk.identification import evidence_of, evidence_text
from weftglass.desk.traits import documented_pieces, families_of, traits_of, vessel_of
from weftglass.desk.wording import signature
from weftglass.errors import InputError, Unfit
from weftglass.inside import Answer
from weftglass.records import LONG, Community, Finding, Piece, SightingRecord, WeaveStudy, words
from weftglass.weave.attribution import Attribution, Documented, FloatArray, attribute, pool_of, smoothed
from weftglass.weave.judging import SHRUNK, Choice, choose_rule, part
from weftglass.weave.traits import Traits

ENGINE_VERSION = "makers 1"
ANOTHER = "another community"


@dataclass(frozen=True, eq=False)
class Learning:
    """
    What the documented pieces teach.

    Parameters
    ----------
    documented : Documented
        Their traits and communities, the vessel among the traits where it was asked for.
    choice : Choice or None
        Cross-validated scores and the rule that is used; None with too few pieces.
    names : mapping of piece to name
    """

    documented: Documented
    choice: Choice | None
    names: Mapping[str, str]


@dataclass(frozen=True, eq=False)
class MakerAnswer:
    """
    Who may have made a piece.

    Parameters
    ----------
    attribution : Attribution
    learning : Learning
    traits : Traits
        What was taken into account.
    entry : str
        The community that the piece's own entry names; it never counts in its own attribution.
    with_vessel : bool
        Whether the vessel spoke too.
    """

    attribution: Attribution
    learning: Learning
    traits: Traits
    entry: str
    with_vessel: bool

    def to_record(self) -> dict[str, Any]:
        """For JSON and for a finding."""
        found = self.attribution
        choice = self.learning.choice
        return {
            "piece": found.piece,
            "communities": [
                {
                    "community": one.community,
                    "probability": round(one.probability, 6),
                    "documented": one.documented,
                    "evidence": [
                        {"trait": w.trait, "shown": w.shown, "decibans": round(w.decibans, 2)} for w in one.weights
                    ],
                }
                for one in found.chances
            ],
            "another": round(found.another, 6),
            "documented": found.documented,
            "refusal": found.refusal or None,
            "rule": found.rule,
            "with_vessel": self.with_vessel,
            "scores": None if choice is None else scores_record(choice),
        }


@dataclass(frozen=True)
class VesselShift:
    """A family's probability as identification has it, and with the habits of the makers counted."""

    family: str
    before: float
    after: float


def learn(collection: Collection, *, with_vessel: bool = True) -> Learning:
    """
    What the documented pieces of a collection teach; kept in memory until a piece, a sighting or an answer changes.

    Parameters
    ----------
    with_vessel : bool
        False leaves the vessels out, so that what follows may be used as a prior for identification.
    """
    with collection.cabinet.reading() as reader:
        shown, communities, makers, names = documented_pieces(reader, library_of(collection), with_vessel)
    key = ("makers", with_vessel, json.dumps([[one.piece, one.values] for one in shown]), *communities, *makers)

    def compute() -> Learning:
        documented = Documented.of(shown, communities, makers)
        return Learning(documented, None if documented.too_few else choose_rule(documented), names)

    found: Learning = collection.answers.get(key, compute)
    return found


def attribute_piece(
    collection: Collection, piece_id: str, *, with_vessel: bool = True, answer: Answer | None = None
) -> MakerAnswer:
    """
    Who may have made a piece, from what it shows; its own entry and its maker's other pieces never vouch for it.

    Parameters
    ----------
    with_vessel : bool
        Whether the vessel inside speaks too.
    answer : Answer or None
        What may be inside; each family counts with its probability. None: the latest answer kept.
    """
    learning, library = learn(collection, with_vessel=with_vessel), library_of(collection)
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, piece_id)
        seen = reader.all_of(SightingRecord, piece=piece_id)
        studies = reader.all_of(WeaveStudy, piece=piece_id)
        latest = latest_answers(reader.session).get(piece_id)
        accepted = standing_findings(reader.session).get(piece_id)
    vessel: dict[str, float] = {}
    if with_vessel and answer is not None:
        vessel = families_of(answer, library)
    elif with_vessel:
        vessel = vessel_of(accepted, latest, library)
    traits = traits_of(piece, seen, vessel, studies)
    documented = learning.documented
    if len(documented.labels):
        own = np.array([name == piece_id for name in documented.pieces])
        together = np.isin(documented.groups, documented.groups[own]) if own.any() and piece.maker else own
        documented = part(documented, ~together)
    rule = SHRUNK if learning.choice is None else learning.choice.used
    return MakerAnswer(attribute(traits, documented, rule), learning, traits, piece.community, with_vessel)


def vessel_shift(collection: Collection, piece_id: str, answer: Answer, *, most: int = 8) -> tuple[VesselShift, ...]:
    """
    What the makers' habits say of the vessel: which communities covered which families, learned with uncertainty.

    Notes
    -----
    The makers are weighed here without the vessel, so that nothing counts twice, and a documented entry counts as
    certain. A family's odds move by how much oftener such makers covered it than makers on the whole; none of the forms
    listed keeps its weight. Nothing is returned where communities cannot be ranked.
    """
    learning, library = learn(collection), library_of(collection)
    if learning.documented.too_few or "vessel" not in learning.documented.layout.traits:
        return ()
    who = _who_made_it(collection, piece_id, learning.documented)
    if who is None:
        return ()
    habit = _habits(learning.documented, piece_id, who)
    before = families_of(answer, library)
    rest = 1.0 - sum(before.values())
    after = {name: share * habit.get(name, habit[""]) for name, share in before.items()}
    total = sum(after.values()) + rest
    shifts = [VesselShift(name, share, after[name] / total) for name, share in before.items()]
    return tuple(sorted(shifts, key=lambda one: -max(one.before, one.after))[:most])


def habits_of(collection: Collection, piece_id: str) -> dict[str, float]:
    """
    How much oftener the makers of a piece covered each form's family than makers on the whole, by form id.

    A prior for identification that rests on nothing of this piece's vessel; empty where communities cannot be ranked.
    """
    learning, library = learn(collection), library_of(collection)
    if learning.documented.too_few or "vessel" not in learning.documented.layout.traits:
        return {}
    who = _who_made_it(collection, piece_id, learning.documented)
    if who is None:
        return {}
    habit = _habits(learning.documented, piece_id, who)
    return {form.id: round(habit.get(form.family_name, habit[""]), 6) for form in library}


def accept_maker(collection: Collection, piece_id: str, community: str, *, who: str, remark: str = "") -> Finding:
    """
    Sign who made a piece, with the attribution and its evidence frozen.

    Parameters
    ----------
    community : str
        One of those ranked, or "" for another community.

    Raises
    ------
    InputError
        If nothing can be ranked, or the community is not among those ranked.
    """
    by, note = signature(who), words(remark, "finding", "remark", longest=LONG)
    found = attribute_piece(collection, piece_id)
    if found.attribution.refusal:
        refusal = found.attribution.refusal.rstrip(".")
        wrong = refusal[:1].lower() + refusal[1:]
        raise Unfit(f"piece {piece_id}", "maker", wrong, "documented pieces that share recorded traits with it")
    chances = {one.community: one.probability for one in found.attribution.chances} | {"": found.attribution.another}
    if community not in chances:
        raise InputError("finding", "community", community, "one of: " + ", ".join(filter(None, chances)))
    with collection.cabinet.writing(by) as draft:
        finding = Finding(
            id=draft.numbered_id(Finding, f"{piece_id}.finding"),
            piece=draft.get(Piece, piece_id).id,
            subject="maker",
            form=None,
            conclusion=f"made by {community or ANOTHER}",
            probability=float(chances[community]),
            unlisted=float(found.attribution.another),
            who=by,
            remark=note,
            evidence=evidence_text(evidence_of(collection, piece_id)),
            answer=json.dumps(found.to_record(), ensure_ascii=False, allow_nan=False),
            engine_version=ENGINE_VERSION,
            library_version=library_of(collection).version,
        )
        return let_stand(draft, finding)


def scores_record(choice: Choice) -> dict[str, Any]:
    """Cross-validated scores for JSON: the baseline, the better rule, and which is used."""

    def one(scores: Any) -> dict[str, Any]:
        return {
            "rule": scores.rule.name,
            "pieces": scores.pieces,
            "right": scores.right,
            "stated": round(scores.stated, 4),
            "log_score_bits": round(scores.log_score / float(np.log(2)), 4),
            "brier": round(scores.brier, 4),
            "calibration_error": round(scores.calibration_error, 4),
            "calibration_error_by_chance": round(scores.calibration_floor, 4),
            "another_for_documented": round(scores.another_known, 4),
            "another_for_left_out": None if np.isnan(scores.another_left_out) else round(scores.another_left_out, 4),
        }

    return {"baseline": one(choice.baseline), "other": one(choice.other), "used": choice.used.name}


def _who_made_it(collection: Collection, piece_id: str, documented: Documented) -> FloatArray | None:
    """Probabilities of the communities, and of another, without the vessel; certain where the entry says so."""
    without = attribute_piece(collection, piece_id, with_vessel=False)
    entry = plain_name(without.entry)
    with collection.cabinet.reading() as reader:
        named = next((one.name for one in reader.all_of(Community) if one.goes_by(entry)), entry)
    if entry and not is_guess(without.entry) and named in documented.communities:
        return np.array([float(name == named) for name in (*documented.communities, "")])
    if without.attribution.refusal:
        return None
    chances = {one.community: one.probability for one in without.attribution.chances}
    return np.array([chances.get(name, 0.0) for name in documented.communities] + [without.attribution.another])


def _habits(documented: Documented, piece_id: str, who: FloatArray) -> dict[str, float]:
    """How much oftener the makers covered each family than makers on the whole; "" stands for any other family."""
    rest = part(documented, np.array([name != piece_id for name in documented.pieces]))
    layout, counts = rest.layout, rest.counts
    pool = pool_of(counts, layout.trait_of)
    value = np.vstack([smoothed(counts, layout.trait_of, SHRUNK, pool), pool])
    oftener = (who @ value) / pool
    return {shown or "": float(oftener[at]) for at, (trait, shown) in enumerate(layout.columns) if trait == "vessel"}

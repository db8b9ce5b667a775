"""A piece's traits gathered from its entry, its sightings, the counts of its covering and what is inside."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
from scipy.special import ndtr

from weftglass.cabinet import LatestAnswer, Reader
from weftglass.cabinet.listing import StandingFinding, latest_answers, standing_findings
from weftglass.desk.communities import is_guess, plain_name
from weftglass.desk.unusual import NOTHING
from weftglass.inside import Answer
from weftglass.records import Community, Piece, SightingRecord, WeaveStudy
from weftglass.vessels import FormLibrary
from weftglass.weave.traits import Traits

SEEN_TRAITS = ("lean", "start", "rim", "foundation", "splice", "dye", "design")
ROWS_PER_CM = (2.0, 3.0, 4.5, 6.5)  # bounds between classes of fineness; common practice, no source


def traits_of(
    piece: Piece,
    seen: Sequence[SightingRecord],
    vessel: Mapping[str, float] | None = None,
    studies: Sequence[WeaveStudy] = (),
) -> Traits:
    """
    A piece's traits from its entry, its sightings and the counts of its covering.

    ``vessel`` gives families with their probabilities. Fineness counts in classes of rows per cm, each with the
    probability that the counts leave it; the lean of a count stands in where nobody recorded one.
    """
    values: dict[str, dict[str, float]] = {}

    def add(trait: str, text: str, weight: float = 1.0) -> None:
        for word in filter(None, (one.strip().lower() for one in re.split(r"[;,:]", text))):
            values.setdefault(trait, {})[word] = weight

    if piece.technique:
        add("technique", piece.technique)
    add("material", piece.material)
    for sighting in seen:
        if sighting.feature in SEEN_TRAITS and sighting.value.casefold() not in NOTHING:
            add(sighting.feature, sighting.value, sighting.sure)
    if studies:
        values |= {"fineness": fineness_of(studies)} if any(one.rows_per_cm for one in studies) else {}
        leans = {one.lean: 1.0 for one in studies if one.lean}
        if leans:
            values.setdefault("lean", leans)
    read = Traits.of(piece.id, values)
    if not vessel:
        return read
    return Traits(piece.id, {**read.values, "vessel": {name: float(share) for name, share in vessel.items()}})


def fineness_of(studies: Sequence[WeaveStudy]) -> dict[str, float]:
    """Probability of each class of rows per cm, from the counts weighed by their precision."""
    counts = [(one.rows_per_cm, one.rows_sd) for one in studies if one.rows_per_cm and one.rows_sd]
    weight = np.array([1.0 / sd**2 for _, sd in counts])
    mean = float(weight @ np.array([rows for rows, _ in counts]) / weight.sum())
    below = ndtr((np.array(ROWS_PER_CM) - mean) / float(weight.sum() ** -0.5))
    shares = np.diff(np.concatenate([[0.0], below, [1.0]]))
    names = [f"under {ROWS_PER_CM[0]:g} rows per cm"]
    names += [f"{low:g} to {high:g} rows per cm" for low, high in pairwise(ROWS_PER_CM)]
    names.append(f"{ROWS_PER_CM[-1]:g} rows per cm and more")
    return {name: float(share) for name, share in zip(names, shares, strict=True) if share > 0.01}


def families_of(answer: Answer, library: FormLibrary) -> dict[str, float]:
    """Probability of each family of vessels; what is left is none of the forms listed."""
    found: dict[str, float] = {}
    for form, share in answer.probabilities.items():
        name = library[form].family_name
        found[name] = found.get(name, 0.0) + share
    return {name: share for name, share in found.items() if share > 0.001}


def documented_pieces(
    reader: Reader, library: FormLibrary, with_vessel: bool
) -> tuple[list[Traits], list[str], list[str], dict[str, str]]:
    """
    Every piece whose entry names its community without a doubt and that shows something.

    Returns
    -------
    list of Traits
    list of str
        Community of each, by the name it is entered under.
    list of str
        Maker of each, or the piece itself: what is left out together when the rule is judged.
    dict of str
        Piece to name.
    """
    communities = reader.all_of(Community)
    seen: dict[str, list[SightingRecord]] = {}
    for sighting in reader.all_of(SightingRecord):
        seen.setdefault(sighting.piece, []).append(sighting)
    counted: dict[str, list[WeaveStudy]] = {}
    for study in reader.all_of(WeaveStudy):
        counted.setdefault(study.piece, []).append(study)
    latest, accepted = latest_answers(reader.session), standing_findings(reader.session)
    shown, labels, makers, names = [], [], [], {}
    for piece in reader.all_of(Piece):
        name = plain_name(piece.community)
        if not name or is_guess(piece.community):
            continue
        vessel = vessel_of(accepted.get(piece.id), latest.get(piece.id), library) if with_vessel else {}
        traits = traits_of(piece, seen.get(piece.id, []), vessel, counted.get(piece.id, ()))
        if not traits.values:
            continue
        shown.append(traits)
        labels.append(next((one.name for one in communities if one.goes_by(name)), name))
        makers.append(f"maker {piece.maker}" if piece.maker else f"piece {piece.id}")
        names[piece.id] = piece.name
    return shown, labels, makers, names


def vessel_of(accepted: StandingFinding | None, latest: LatestAnswer | None, library: FormLibrary) -> dict[str, float]:
    """Family of the vessel that a person accepted, or of the latest answer with its probability; may be empty."""
    form, share = (accepted.form, 1.0) if accepted is not None else (None, 0.0)
    if accepted is None and latest is not None:
        form, share = latest.form, latest.probability
    return {} if form is None or form not in library else {library[form].family_name: share}

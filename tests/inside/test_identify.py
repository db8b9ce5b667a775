"""The engine's answer: right where the evidence decides, honest where it does not."""

from __future__ import annotations

import dataclasses
import json

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from weftglass.errors import InputError
from weftglass.evidence import Evidence, Measurement, Outline, Sighting
from weftglass.inside import identify
from weftglass.vessels import FormLibrary

from .conftest import laid_over, piece, plain_form


def total(answer: object) -> float:
    """Sum of all probabilities."""
    return sum(answer.probabilities.values()) + answer.unlisted  # type: ignore[attr-defined]


@pytest.mark.parametrize("cover_mm", [1.0, 3.0, 8.0])
@pytest.mark.parametrize("bare_from", [None, 190.0])
def test_identify_names_the_covered_form_whatever_the_thickness(
    library: FormLibrary, cover_mm: float, bare_from: float | None
) -> None:
    """An even covering over a known form: that form first, and its thickness told within its uncertainty."""
    answer = identify(piece(laid_over(library["b230-38"], cover_mm, bare_from=bare_from)), library)
    best = answer.candidates[0]
    assert best.form == "b230-38"
    assert best.probability > 0.75
    assert best.fits
    assert abs(best.cover.mean_mm - cover_mm) < 0.15 * cover_mm + 0.6
    assert total(answer) == pytest.approx(1.0, abs=1e-9)


def test_identify_says_none_of_these_for_a_vessel_of_another_kind(library: FormLibrary) -> None:
    """A vessel unlike all forms: unlisted wins."""
    strange = plain_form("strange", 240.0, 60.0, shoulder=0.2, neck=30.0)
    answer = identify(piece(laid_over(strange, 3.0)), library)
    assert answer.unlisted > 0.7


def test_identify_puts_near_twins_into_one_group_and_a_sighting_splits_them(library: FormLibrary) -> None:
    """The outline cannot tell near-twins; the finish can."""
    outline = laid_over(library["twin-a"], 3.0)
    before = identify(piece(outline), library)
    assert set(before.groups[0]) == {"twin-a", "twin-b"}
    assert dict(before.families)["twin"] > 0.8
    after = identify(piece(outline, sightings=(Sighting("finish", "blob", 0.95),)), library)
    assert after.candidates[0].form == "twin-a"
    assert after.candidates[0].probability > 0.75
    finish = next(w for w in after.candidates[0].evidence if w.item == "finish blob")
    assert finish.decibans > 2


def test_identify_reads_letters_through_gaps_with_one_letter_wrong(library: FormLibrary) -> None:
    """Letters alone pick the lettered form; one wrong letter weakens but does not reverse it."""
    right = identify(Evidence(sightings=(Sighting("letters", "ASTREL", 0.9),)), library)
    wrong = identify(Evidence(sightings=(Sighting("letters", "AKTREL", 0.9),)), library)
    assert right.candidates[0].form == wrong.candidates[0].form == "lettered"
    assert right.candidates[0].probability > wrong.candidates[0].probability > 0.2
    assert right.unlisted < 0.1


def test_identify_height_corrects_a_wrong_scale(library: FormLibrary) -> None:
    """A photograph 6 % off with an honest scale sd is set right by one measured height."""
    form = library["b230-38"]
    seen = laid_over(form, 3.0, scale=1.06)
    outline = Outline.of(seen.points, sd_mm=0.4, scale_sd=0.06)
    height = Measurement("height", form.profile.height_mm + 6.0, 1.0)
    answer = identify(piece(outline, measurements=(height,)), library)
    assert answer.candidates[0].form == form.id
    assert answer.candidates[0].probability > 0.7


@pytest.mark.parametrize(
    "measurement",
    [
        Measurement("body_width", 82.0, 1.0),
        Measurement("girth", 2 * np.pi * 41.0, 3.0, 80.0),
        Measurement("height", 236.0, 1.0),
        Measurement("lip_diameter", 28.0, 0.5, None, False),
    ],
    ids=lambda m: m.what,
)
def test_identify_true_measurement_never_counts_strongly_against_the_truth(
    library: FormLibrary, measurement: Measurement
) -> None:
    """A reading that is right for the form weighs for it, or at worst a little against."""
    answer = identify(piece(laid_over(library["b230-38"], 3.0), measurements=(measurement,)), library)
    best = answer.candidates[0]
    assert best.form == "b230-38"
    assert best.evidence[-1].decibans > -3


def test_identify_refuses_glass_that_would_stand_outside_its_covering(library: FormLibrary) -> None:
    """A candidate wider than the whole piece does not fit, and says where and by how much."""
    answer = identify(piece(laid_over(library["b230-32"], 1.0)), library, top=12)
    wide = next(c for c in answer.candidates if c.form == "b230-46")
    assert not wide.fits
    assert wide.misfit is not None
    assert 0 < wide.misfit[0] < 235
    assert wide.misfit[1] > 5


def test_identify_decibans_add_up_to_what_the_evidence_did(library: FormLibrary) -> None:
    """Ten log ten of posterior over prior among the listed forms is the sum of the items."""
    evidence = piece(
        laid_over(library["twin-a"], 3.0),
        measurements=(Measurement("height", 256.0, 1.0),),
        sightings=(Sighting("colour", "amber", 0.8),),
    )
    answer = identify(evidence, library, with_commonness=False, top=12)
    for candidate in answer.candidates[:3]:
        share = candidate.probability / (1 - answer.unlisted)
        assert candidate.decibans == pytest.approx(10 * np.log10(share * len(library)), abs=0.01)
    assert [w.item for w in answer.candidates[0].evidence] == ["outline front", "height 256 mm", "colour amber"]


def test_identify_first_advice_is_a_size_when_there_is_no_scale(library: FormLibrary) -> None:
    """With shape only, one measured length comes first."""
    seen = laid_over(library["b230-38"], 3.0)
    answer = identify(piece(Outline.of(seen.points, sd_mm=0.4, scale_sd=0.3)), library)
    assert len(answer.next_looks) == 3
    assert answer.next_looks[0].kind in ("height", "body_width", "base_diameter", "girth", "lip_diameter")
    assert answer.next_looks[0].gain_bits > 0.1


def test_identify_with_nothing_known_gives_the_prior_and_says_so(library: FormLibrary) -> None:
    """No evidence: commonness only, with a warning, and never certainty."""
    answer = identify(Evidence(piece="blank"), library)
    assert total(answer) == pytest.approx(1.0)
    assert answer.candidates[0].probability < 0.3
    assert "Nothing is known" in answer.warnings[0]


def test_identify_flat_vessel_from_front_and_side() -> None:
    """A square and a flat form of the same front are split by the side view."""
    profile = [[0.0, 36.0], [4.0, 40.0], [150.0, 40.0], [165.0, 15.0], [200.0, 14.0]]
    shared = {"name": "x", "profile": profile, "tolerance": {"shape_sd_mm": 0.5}}
    flat_side = [[z, min(r, 22.0)] for z, r in profile]
    from_record = type(plain_form("x", 100.0, 20.0)).from_record
    forms = FormLibrary(
        [
            from_record({"id": "square", "section": {"kind": "square"}, **shared}, "x"),
            from_record({"id": "flat", "section": {"kind": "rectangle"}, "side_profile": flat_side, **shared}, "x"),
        ]
    )
    z = np.linspace(0, 203, 150)
    front = np.interp(z - 3, [r[0] for r in profile], [r[1] for r in profile]) + 3
    side = np.interp(z - 3, [r[0] for r in flat_side], [r[1] for r in flat_side]) + 3
    outlines = (
        Outline.of(np.column_stack([z, front])),
        Outline.of(np.column_stack([z, side]), view="side"),
    )
    one = identify(piece(outlines[0]), forms)
    both = identify(piece(*outlines), forms)
    assert 0.2 < one.probabilities["flat"] < 0.8
    assert both.candidates[0].form == "flat"
    assert both.candidates[0].probability > 0.85


def test_identify_turned_view_of_a_square_vessel_spreads_over_turns() -> None:
    """A square vessel seen at 45 degrees is wider; a view marked as turned still finds it."""
    profile = [[0.0, 34.0], [4.0, 36.0], [170.0, 36.0], [190.0, 15.0], [240.0, 14.0]]
    from_record = type(plain_form("x", 100.0, 20.0)).from_record
    square = from_record({"id": "square", "name": "x", "section": {"kind": "square"}, "profile": profile}, "x")
    wide = plain_form("round", 240.0, 36.0)
    library = FormLibrary([square, wide])
    seen = square.silhouette(45.0)
    z = np.linspace(0, 243, 150)
    outline = Outline.of(np.column_stack([z, seen.half_width_at(np.clip(z - 3, 0, 240)) + 3]), view="turned")
    assert identify(piece(outline), library).candidates[0].form == "square"


def test_answer_record_is_json_with_the_contract_keys(library: FormLibrary) -> None:
    """One JSON document; the keys other people's scripts rely on are there."""
    record = json.loads(json.dumps(identify(piece(laid_over(library["twin-a"], 3.0)), library).to_record()))
    assert {"piece", "unlisted", "families", "groups", "candidates", "next_looks"} <= set(record)
    first = record["candidates"][0]
    assert {"form", "probability", "fits", "cover_mm", "evidence"} <= set(first)
    assert {"mean", "min", "max"} <= set(first["cover_mm"])
    assert {"look", "gain_bits", "effort", "caution"} <= set(record["next_looks"][0])
    assert sum(c["probability"] for c in record["candidates"]) + record["rest"] + record["unlisted"] == pytest.approx(
        1, abs=1e-4
    )


@pytest.mark.parametrize(("top", "forms"), [(0, True), (49, True), (10, False)])
def test_identify_refuses_what_makes_no_sense(library: FormLibrary, top: int, forms: bool) -> None:
    """An empty library or an impossible number of candidates is the caller's fault, said in one sentence."""
    with pytest.raises(InputError, match="it should be"):
        identify(Evidence(), library if forms else FormLibrary([]), top=top)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cover=st.floats(0.5, 12.0),
    scale=st.floats(0.97, 1.03),
    index=st.integers(0, 8),
    sd=st.floats(0.1, 3.0),
)
def test_identify_is_a_probability_law_for_any_piece(
    library: FormLibrary, cover: float, scale: float, index: int, sd: float
) -> None:
    """Sums to one, everything finite, cover never said to be negative on average by more than its uncertainty."""
    form = tuple(library)[index]
    outline = laid_over(form, cover, scale=scale)
    answer = identify(piece(dataclasses.replace(outline, sd_mm=np.full(len(outline.points), sd))), library)
    assert total(answer) == pytest.approx(1.0, abs=1e-9)
    for candidate in answer.candidates:
        assert np.isfinite(candidate.vessel).all()
        assert np.isfinite([w.decibans for w in candidate.evidence]).all()
    assert answer.candidates[0].cover.mean_mm > -2.0


def test_glass_as_wide_as_the_whole_piece_loses_to_glass_with_room_for_a_covering() -> None:
    """Two loosely drawn forms; one would leave the covering no thickness at all."""
    loose = {"height_sd": 0.02, "width_sd": 0.02, "shape_sd_mm": 2.0}
    seen = laid_over(plain_form("seen", 230.0, 38.0), 3.0)
    library = FormLibrary(
        [
            plain_form("with room", 230.0, 38.0, tolerance=loose),
            plain_form("no room", 236.0, 42.5, tolerance=loose),
        ]
    )
    answer = identify(piece(seen), library)
    assert answer.candidates[0].form == "with room"
    assert answer.probabilities["no room"] < 0.3


def test_flat_front_face_nearer_than_the_axis_is_allowed_for() -> None:
    """A square vessel seen from 500 mm looks 8 % wider; with the distance known the true size wins."""
    profile = [[0.0, 36.0], [4.0, 38.0], [170.0, 38.0], [190.0, 15.0], [240.0, 14.0]]
    from_record = type(plain_form("x", 100.0, 20.0)).from_record
    forms = []
    for name, share in (("true", 1.0), ("wider", 1.085)):
        rows = [[z, r * (share if r > 30 else 1.0)] for z, r in profile]
        record = {"id": name, "name": name, "section": {"kind": "square"}, "profile": rows}
        forms.append(from_record(record | {"tolerance": {"shape_sd_mm": 0.3}}, name))
    z = np.linspace(0, 243, 150)
    glass = np.interp(z - 3, [r[0] for r in profile], [r[1] for r in profile])
    seen = np.where(glass > 27, glass * 500 / (500 - glass), glass) + 3
    points = np.column_stack([z, seen])
    library = FormLibrary(forms)
    assert identify(piece(Outline.of(points, distance_mm=500.0)), library).candidates[0].form == "true"
    assert identify(piece(Outline.of(points)), library).candidates[0].form == "wider"

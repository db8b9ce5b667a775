"""The bundled scenario is whole: every piece, photograph and truth belongs together."""

import io

import numpy as np
import pytest
from PIL import Image

from weftglass.demo.scenario import form_file, photograph, photographs_of, scenario, truths
from weftglass.evidence import Measurement, Sighting
from weftglass.vessels import FormLibrary

FOCAL_35MM, EXIF_IFD, PRIVATE = 0xA405, 0x8769, (0x010F, 0x013B, 0x8298, 0x8825, 0x9286)


def test_pieces_have_their_own_ids_and_communities_of_the_scenario() -> None:
    told = scenario()
    ids = [piece["id"] for piece in told["pieces"]]
    assert len(ids) == len(set(ids)) >= 24
    known = {community["name"] for community in told["communities"]} | {""}
    assert {piece["community"] for piece in told["pieces"]} <= known
    makers = {maker["name"] for maker in told["makers"]}
    assert {piece["maker"] for piece in told["pieces"] if "maker" in piece} <= makers


def test_readings_and_sightings_are_evidence_the_engine_takes() -> None:
    for piece in scenario()["pieces"]:
        for reading in piece["measurements"]:
            record = {key: value for key, value in reading.items() if key != "how"}
            assert Measurement.from_record(record, piece["id"], "measurement").value > 0
        for seen in piece["sightings"]:
            assert Sighting.from_record(seen, piece["id"], "sighting").value == seen["value"]


def test_own_forms_carry_lettering_and_new_ids() -> None:
    forms = FormLibrary.of_bytes(form_file()[1], form_file()[0])
    starter = FormLibrary.starter()
    assert len(forms) >= 4
    assert all(form.letters and form.id not in starter for form in forms)


def test_truth_names_forms_of_the_library_and_leaves_three_pieces_without() -> None:
    library = FormLibrary.starter().with_forms(FormLibrary.of_bytes(form_file()[1], form_file()[0]).forms)
    fronts = [truth for truth in truths().values() if truth["role"] == "front"]
    assert all(truth["form"] is None or truth["form"] in library for truth in fronts)
    unlisted = {truth["piece"] for truth in fronts if truth["form"] is None}
    assert unlisted <= {"p-25", "p-26", "p-27"}


@pytest.mark.parametrize("name", sorted(truths()))
def test_photograph_is_small_names_its_lens_and_nobody(name: str) -> None:
    content = photograph(name)
    assert content is not None
    assert len(content) < 250_000
    picture = Image.open(io.BytesIO(content))
    assert list(picture.size) == truths()[name]["image_size"]
    exif = picture.getexif()
    assert exif.get_ifd(EXIF_IFD)[FOCAL_35MM] == round(truths()[name]["camera"]["focal_35mm"])
    assert not set(PRIVATE) & (set(exif) | set(exif.get_ifd(EXIF_IFD)))


@pytest.mark.parametrize("name", sorted(truths()))
def test_silhouette_is_as_wide_as_the_scale_bar_says(name: str) -> None:
    """The mask, the scale bar and the outer profile come from different ways through the scene and agree."""
    truth = truths()[name]
    if truth["role"] not in ("front", "side") or "scale_bar" not in truth:
        return
    ends = np.array(truth["scale_bar"]["ends_px"])
    mm_per_px = truth["scale_bar"]["mm"] / np.hypot(*(ends[1] - ends[0]))
    across = np.ptp(np.array(truth["polygon_px"])[:, 0]) * mm_per_px
    true = 2 * max(half for _, half in truth["outer_profile"])
    nearness = 1 + 0.6 * true / truth["camera"]["distance_mm"]  # a flat front stands nearer than the axis
    assert 0.985 * true < across < 1.02 * true * nearness


def test_photographs_of_a_piece_begin_with_its_front() -> None:
    for piece in {truth["piece"] for truth in truths().values()}:
        shown = photographs_of(piece)
        assert [truth["role"] == "front" for _, truth, _ in shown].index(True) == 0

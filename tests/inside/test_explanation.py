"""Why, and what would change it: what the answer hangs on, what would tip it, and what can be checked."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.evidence import Covering, Evidence, Measurement, Sighting
from weftglass.inside import Answer, identify
from weftglass.vessels import FormLibrary, outer_volume_ml

from .conftest import laid_over, piece, plain_form


@pytest.fixture(scope="module")
def twins() -> FormLibrary:
    """Two forms of one shape that differ in height, finish and mass, and one that is quite different."""
    return FormLibrary(
        [
            plain_form("short", 230.0, 38.0, finish=["blob"], weight_g=[480, 520]),
            plain_form("tall", 236.0, 38.0, finish=["crown"], weight_g=[560, 600]),
            plain_form("other", 150.0, 50.0, finish=["blob"], weight_g=[400, 440]),
        ]
    )


def seen(library: FormLibrary, *measurements: Measurement, sightings: tuple[Sighting, ...] = ()) -> Answer:
    """The answer to an outline over the short form, and more."""
    return identify(piece(laid_over(library["short"], 3.0), measurements=measurements, sightings=sightings), library)


def test_answer_hangs_on_the_item_without_which_it_would_change(twins: FormLibrary) -> None:
    """A tape alone speaks for the tall form against the outline's even view: without the tape the answer is another."""
    answer = seen(twins, Measurement("height", 242.5, 0.5), sightings=(Sighting("colour", "amber", 0.5),))
    assert answer.hinge is not None
    assert answer.hinge.item == "height 242.5 mm"
    assert answer.hinge.chance > answer.hinge.chance_without


def test_tipping_reading_tips_the_answer(twins: FormLibrary) -> None:
    """With the height moved just past the tipping point, the runner-up does lead; just before it, it does not."""
    answer = seen(twins, Measurement("height", 236.2, 1.0))
    assert answer.candidates[0].form == "short"
    tip = next(tip for tip in answer.tips if tip.item.startswith("height"))
    assert tip.runner_up == "tall"
    assert tip.tips_at is not None
    assert seen(twins, Measurement("height", tip.tips_at + 0.6, 1.0)).candidates[0].form == "tall"
    assert seen(twins, Measurement("height", tip.tips_at - 0.6, 1.0)).candidates[0].form == "short"


def test_tipping_sighting_tips_the_answer(twins: FormLibrary) -> None:
    """The lip that the runner-up has would put it ahead, and it does."""
    answer = seen(twins, sightings=(Sighting("finish", "blob", 0.7),))
    tip = next(tip for tip in answer.tips if tip.instead)
    assert tip.instead == "crown"
    assert seen(twins, sightings=(Sighting("finish", "crown", 0.7),)).candidates[0].form == "tall"


def test_one_item_alone_has_no_hinge(twins: FormLibrary) -> None:
    """With a single item everything hangs on it; that is not worth saying."""
    assert seen(twins).hinge is None


def test_foretold_capacity_and_glass_fill_the_vessel(twins: FormLibrary) -> None:
    """Capacity plus glass over its density is the outer volume, and both lie in their intervals."""
    told = {one.what: one for one in seen(twins).candidates[0].foretold}
    outer = outer_volume_ml(twins["short"].profile)
    assert told["glass weight"].value == pytest.approx(500.0, rel=0.05)
    assert told["capacity"].value + told["glass weight"].value / 2.52 == pytest.approx(outer, rel=0.03)
    assert told["capacity"].low < told["capacity"].value < told["capacity"].high
    assert told["weight"].value > told["glass weight"].value + 0.5 * told["covering weight"].value


def test_foretold_weight_follows_what_was_measured(twins: FormLibrary) -> None:
    """A heavy piece has heavier glass and holds less; what was measured is not foretold."""
    plain = {one.what: one for one in seen(twins).candidates[0].foretold}
    heavy = {one.what: one for one in seen(twins, Measurement("weight", 700.0, 5.0)).candidates[0].foretold}
    assert "weight" not in heavy
    assert heavy["glass weight"].value > plain["glass weight"].value
    assert heavy["capacity"].value < plain["capacity"].value
    assert heavy["glass weight"].sd < plain["glass weight"].sd


@pytest.mark.parametrize("cover_mm", [2.0, 5.0])
def test_foretold_thickness_holds_the_truth(twins: FormLibrary, cover_mm: float) -> None:
    """An even covering: at each height told, the true thickness lies within three of the stated standard deviations."""
    answer = identify(piece(laid_over(twins["short"], cover_mm)), twins)
    rows = answer.candidates[0].thickness
    assert len(rows) >= 5
    assert np.all(np.abs(rows[:, 1] - cover_mm) < 3 * rows[:, 2] + 0.2)


def test_foretold_intervals_hold_nine_in_ten_on_simulated_vessels() -> None:
    """Glass drawn from the form's own spread: the stated interval of its mass holds it about nine times in ten."""
    rng = np.random.default_rng(3)
    form = plain_form("one", 230.0, 38.0, weight_g=[460, 540])
    library = FormLibrary([form, plain_form("two", 120.0, 60.0)])
    evidence = Evidence(measurements=(Measurement("height", 236.0, 1.0),), covering=Covering("plain twining", "willow"))
    told = {one.what: one for one in identify(evidence, library).candidates[0].foretold}["glass weight"]
    drawn = 500 * (1 + 0.08 * rng.standard_normal(2000)) + 24 * rng.standard_normal(2000)
    held = (told.low <= drawn) & (drawn <= told.high)
    assert 0.86 < np.mean(held) < 0.94


def test_records_keep_the_contract_and_add_the_explanation(twins: FormLibrary) -> None:
    """New keys stand beside the old ones; every number is finite."""
    record = seen(twins, Measurement("height", 236.2, 1.0)).to_record()
    assert {"hangs_on", "would_tip", "excluded"} <= set(record)
    first = record["candidates"][0]
    assert {"form", "probability", "fits", "cover_mm", "evidence", "foretold", "thickness"} <= set(first)
    assert all(one["interval_90"][0] <= one["value"] <= one["interval_90"][1] for one in first["foretold"])


def test_form_taller_than_the_piece_is_excluded_with_place_and_millimetres() -> None:
    """A tape alone: glass that would stand out at the top names the height and by how much."""
    library = FormLibrary([plain_form(f"b{h}", float(h), 38.0) for h in (200, 205, 210, 300, 320)])
    answer = identify(Evidence(measurements=(Measurement("height", 210.0, 1.0),)), library)
    told = {one.form: one for one in answer.excluded}
    assert set(told) == {"b300", "b320"}
    assert told["b300"].by_mm == pytest.approx(90.0, abs=1.0)
    assert told["b300"].z_mm == pytest.approx(210.0)

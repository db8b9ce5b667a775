"""Advice: what is worth looking at next, worded for owner and seller, with the reading to expect."""

from __future__ import annotations

import re

import numpy as np
import pytest

from weftglass.evidence import Evidence, Measurement, Outline, Sighting
from weftglass.inside import identify
from weftglass.inside.answer import NextLook
from weftglass.inside.asks import MEASURED, SEEN, Ask
from weftglass.inside.bank import FormBank
from weftglass.inside.next_look import all_looks, next_looks, ranked, told_by_photograph
from weftglass.inside.posterior import posterior
from weftglass.vessels import Form, FormLibrary

from .conftest import laid_over, piece, plain_form

SIZES = ("height", "body_width", "base_diameter", "girth", "lip_diameter", "neck_diameter", "bore")


def look(kind: str, gain: float, minutes: float, risk: float = 0.0) -> NextLook:
    """A look with a gain and a price."""
    return NextLook("look", gain, "low", minutes, None, kind, risk_minutes=risk)


def test_ranking_is_by_bits_a_minute_and_risk_makes_dearer() -> None:
    """Half the bits in a tenth of the time come first; the same look with a risk comes later."""
    ranked_kinds = [one.kind for one in ranked([look("slow", 1.0, 12.0), look("quick", 0.5, 0.5)])]
    assert ranked_kinds == ["quick", "slow"]
    assert [one.kind for one in ranked([look("risky", 0.5, 0.5, 2.0), look("safe", 0.4, 0.5)])] == ["safe", "risky"]


def test_look_that_tells_nothing_is_not_offered() -> None:
    """Below a hundredth of a bit a look is not worth anybody's time."""
    assert ranked([look("nothing", 0.009, 0.1)]) == ()


def test_with_shape_only_a_measured_size_comes_first() -> None:
    """Four shapes in three sizes each, outlines without a calibrated scale: first comes one height or diameter."""
    library = FormLibrary(
        [
            plain_form(f"{shape}-{size}", 230 * size, radius * size, shoulder=shape, neck=14.0 * size)
            for shape, radius in ((0.45, 40.0), (0.55, 34.0), (0.62, 44.0), (0.7, 30.0))
            for size in (0.8, 1.0, 1.25)
        ]
    )
    bank = FormBank.of(library.forms)
    first = []
    for form in library:
        seen = Outline.of(laid_over(form, 3.0).points, sd_mm=0.4, scale_sd=0.3)
        first += [one.kind for one in next_looks(posterior(piece(seen), bank), most=1)]
    assert len(first) >= 9
    assert np.mean([kind in SIZES for kind in first]) >= 0.9


def test_sure_answer_needs_nothing_more() -> None:
    """Two forms that everything tells apart: once the finish is known there is nothing left worth doing."""
    one = plain_form("one", 120.0, 25.0, finish=["blob"])
    other = plain_form("other", 300.0, 50.0, finish=["crown"])
    answer = identify(piece(laid_over(one, 3.0)), FormLibrary([one, other]))
    assert answer.candidates[0].probability > 0.8
    assert answer.next_looks == ()


def test_expected_reading_carries_its_uncertainty(library: FormLibrary) -> None:
    """Every number that is expected is followed by how well it is known and its unit."""
    answer = identify(piece(Outline.of(laid_over(library["b230-38"], 3.0).points, scale_sd=0.3)), library)
    measured = [one for one in answer.next_looks if one.kind in SIZES]
    assert measured
    for one in measured:
        assert re.match(r"about \d+(\.\d)? ± \d+(\.\d)? mm", one.expected)


def test_expected_reading_is_what_the_true_form_gives(library: FormLibrary) -> None:
    """The height told before it is measured is the true one within three of its own standard deviations."""
    bank = FormBank.of(library.forms)
    found = posterior(piece(laid_over(library["b230-38"], 3.0)), bank)
    told = next(one.expected for one in all_looks(found) if one.kind == "height")
    figures = [float(text) for text in re.findall(r"\d+(?:\.\d+)?", told)]
    assert abs(figures[0] - (230.0 + 6.0)) < 3 * figures[1]


def test_what_was_taken_carefully_is_not_asked_again_but_a_rough_guess_is(library: FormLibrary) -> None:
    """A seller's height, ten millimetres either way, leaves the height worth taking; a careful one does not."""
    seen = Outline.of(laid_over(library["b230-38"], 3.0).points, sd_mm=0.4, scale_sd=0.3)
    bank = FormBank.of(library.forms)

    def kinds(sd: float) -> set[str]:
        evidence = piece(seen, measurements=(Measurement("height", 236.0, sd),))
        return {one.kind for one in all_looks(posterior(evidence, bank))}

    assert "height" not in kinds(1.0)
    assert "height" in kinds(10.0)


def test_without_a_photograph_one_is_asked_for(library: FormLibrary) -> None:
    """With nothing but a colour, a photograph tells most of all."""
    bank = FormBank.of(library.forms)
    evidence = Evidence(sightings=(Sighting("colour", "amber"),))
    looks = all_looks(posterior(evidence, bank))
    assert max(looks, key=lambda one: one.gain_bits).kind == "view front"


@pytest.mark.parametrize("ask", [*MEASURED, *SEEN], ids=lambda ask: ask.kind)
def test_every_observation_has_its_words_and_its_price(ask: Ask) -> None:
    """Owner's words end like a heading, a seller's like a question; opening and filling carry a caution."""
    assert ask.words
    assert not ask.words.endswith(".")
    assert ask.seller == "" or ask.seller.endswith("?")
    assert ask.minutes > 0
    if ask.kind in ("tone", "capacity", "bore", "weight", "cover_thickness"):
        assert ask.caution
        assert ask.risk_minutes > 0


def test_photograph_tells_nothing_of_equal_forms() -> None:
    """The control: what looks alike on a photograph is not told apart by one."""
    told = told_by_photograph(np.full((3, 4), 80.0), np.full(4, 2.0), np.full(3, 1 / 3))
    assert (told.bits, told.settles) == (pytest.approx(0.0, abs=1e-9), 0.0)


def test_side_photograph_is_worth_nothing_among_round_vessels_and_much_for_a_flat_one(library: FormLibrary) -> None:
    """Seen from the front, a round form and a flask of the same front: the side parts them."""
    round_form = library["b230-38"]
    record = round_form.to_record() | {"id": "flat", "section": {"kind": "oval"}}
    flat_side = [[z, min(r, 20.0)] for z, r in record["profile"]]
    flat = type(round_form).from_record(record | {"side_profile": flat_side}, "flat")

    def gain(forms: list[Form]) -> float:
        bank = FormBank.of(forms)
        looks = all_looks(posterior(piece(laid_over(round_form, 3.0)), bank))
        return next((one.gain_bits for one in looks if one.kind == "view side"), 0.0)

    assert gain([round_form, library["b230-32"]]) == 0.0
    assert gain([round_form, flat]) > 0.5


def test_a_look_that_settles_the_question_comes_before_one_that_tells_as_much_and_leaves_it_open() -> None:
    def told(kind: str, settles: float) -> NextLook:
        return NextLook(kind, 0.5, "low", 0.5, None, kind, settles=settles)

    assert [look.kind for look in ranked([told("open", 0.1), told("settling", 0.6)])] == ["settling", "open"]

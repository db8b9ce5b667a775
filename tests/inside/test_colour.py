"""Colour sampled where light passes: readings meet the named colours of the forms."""

from __future__ import annotations

import pytest

from weftglass.evidence import Evidence, Sighting
from weftglass.inside import identify
from weftglass.inside.likelihood.colour import NAMED, colour_density, lab_in, nearest_colours
from weftglass.inside.likelihood.sighting import fold, sighting_likelihood
from weftglass.vessels import FormLibrary

from .conftest import plain_form


@pytest.mark.parametrize("name", NAMED)
def test_each_colour_is_most_probable_at_its_own_reading(name: str) -> None:
    """The middle of a colour belongs to it, or to one that shades into it."""
    near = [other for other, _ in nearest_colours(NAMED[name])[:2]]
    assert name in near


@pytest.mark.parametrize(
    ("written", "lab"),
    [("lab 42 -8 31", (42, -8, 31)), ("CIELAB(42.5, -8, 31)", (42.5, -8, 31)), ("amber", None), ("lab 42 -8", None)],
)
def test_readings_are_told_from_words(written: str, lab: tuple[float, float, float] | None) -> None:
    """Three numbers after the word lab, in any usual writing."""
    assert lab_in(written) == lab


def test_every_usual_colour_of_the_bundled_forms_is_known() -> None:
    """All but made-up glass has a place; compound names go to their longest known part."""
    named = {fold(colour) for form in FormLibrary.starter() for colour in form.colours}
    unknown = {name for name in named if colour_density((50.0, 0.0, 0.0), name) is None}
    assert unknown <= {"coloured art glass"}
    assert colour_density((18.0, -1.0, 14.0), "dark olive green") == colour_density((18.0, -1.0, 14.0), "olive green")


def test_deeper_glass_of_one_hue_is_still_that_colour() -> None:
    """Twice the wall is darker and deeper; a turn of the hue is another colour."""
    amber, deeper, turned = (42.0, 22.0, 48.0), (30.0, 27.0, 58.0), (42.0, -30.0, 40.0)
    own, deep, other = (colour_density(lab, "amber") for lab in (amber, deeper, turned))
    assert own is not None
    assert deep is not None
    assert other is not None
    assert deep > 0.3 * own
    assert other < 0.01 * own


def test_sampled_colour_picks_the_form_as_the_word_does() -> None:
    """Amber light names the amber form; a form that lists no colour is left as it was."""
    forms = [
        plain_form("brown", 200.0, 35.0, colours=["amber"]),
        plain_form("sea", 200.0, 35.0, colours=["aqua"]),
        plain_form("silent", 200.0, 35.0),
    ]
    sampled, general = sighting_likelihood(Sighting("colour", "lab 40 20 45", 0.8), forms)
    assert sampled[0] > sampled[2] > sampled[1] > 0
    assert sampled[2] == pytest.approx(general)
    answer = identify(Evidence(sightings=(Sighting("colour", "lab 40 20 45", 0.8),)), FormLibrary(forms))
    assert answer.candidates[0].form == "brown"

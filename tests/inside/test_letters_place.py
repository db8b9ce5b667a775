"""Letters read at a height and on a side, against inscriptions whose place the form records."""

from __future__ import annotations

import numpy as np
import pytest

from tests.inside.conftest import plain_form
from weftglass.evidence import Evidence, Sighting
from weftglass.inside import identify
from weftglass.inside.likelihood.letters import MISPLACED, in_place, letters_likelihood, said_before
from weftglass.vessels import Form, FormLibrary


def lettered(
    name: str, z: tuple[float, float] | None, face: str | None, text: str = "ASTREL", kind: str = "round"
) -> Form:
    """A form 210 mm tall with one inscription."""
    letter: dict[str, object] = {"text": text}
    letter |= {} if z is None else {"z": list(z)}
    letter |= {} if face is None else {"face": face}
    return plain_form(name, 210.0, 35.0, letters=[letter], section={"kind": kind})


def read(z: tuple[float, float] | None = None, face: str | None = None, value: str = "ASTR??") -> Sighting:
    """A reading."""
    return Sighting("letters", value, 0.9, z, face)


def test_the_height_tells_two_forms_with_the_same_words_apart() -> None:
    """In place above elsewhere by the odds of being misplaced; a form that says no height lies between."""
    forms = (lettered("low", (30, 60), None), lettered("high", (150, 180), None), lettered("open", None, None))
    low, high, unsaid = letters_likelihood(read((35, 55)), forms)[0]
    assert low > unsaid > high
    assert low / high > 20
    level = letters_likelihood(read(), forms)[0]
    assert level == pytest.approx(np.full(3, level[0]))


def test_one_wrong_letter_in_place_still_beats_every_form_without_such_words() -> None:
    """A misread letter is outweighed by the rest, at the right height all the more."""
    forms = (
        lettered("right", (30, 60), "front"),
        lettered("other", (30, 60), "front", "MORROW"),
        plain_form("bare", 210.0, 35.0),
    )
    wrong = letters_likelihood(read((35, 55), "front", "AKTREL"), forms)[0]
    nowhere = letters_likelihood(read((150, 170), "front", "AKTREL"), forms)[0]
    assert wrong[0] > 50 * max(wrong[1:])
    assert wrong[0] > nowhere[0] > max(nowhere[1:])


@pytest.mark.parametrize(
    ("kind", "seen", "own", "agree"),
    [
        ("rectangle", "front", "back", True),  # a covered flask has no front of its own
        ("rectangle", "side", "front", False),
        ("round", "side", "front", True),  # nor a round one a side
        ("round", "base", "front", False),
        ("rectangle", "base", "base", True),
    ],
)
def test_sides_agree_as_far_as_a_covered_vessel_tells_them_apart(kind: str, seen: str, own: str, agree: bool) -> None:
    """Above 1 where they agree, the chance of a mistake where not; a shoulder tells nothing."""
    form = lettered("one", None, own, kind=kind)
    weight = in_place(read(face=seen), form.letters[0], form)
    assert weight > 1 if agree else weight == MISPLACED
    shoulder = lettered("two", None, "shoulder", kind=kind)
    assert in_place(read(face=seen), shoulder.letters[0], shoulder) == 1.0


def test_place_is_no_evidence_on_average() -> None:
    """Over all heights at which letters of any vessel may stand the weight is 1: telling one gains nothing."""
    form = lettered("one", (80, 110), None)
    heights = np.arange(0.0, 210.0, 0.5)
    weights = [in_place(read((z, z + 0.1)), form.letters[0], form) for z in heights]
    assert np.mean(weights) == pytest.approx(1.0, abs=0.02)


def test_the_same_letters_read_twice_count_once(library: FormLibrary) -> None:
    """A shorter reading of them adds nothing, in whatever order; other letters do, and so do they elsewhere."""
    whole, part = Sighting("letters", "ASTREL", 0.9), Sighting("letters", "A?TR*", 0.9)
    once = identify(Evidence(sightings=(whole,)), library)
    for twice in ((whole, part), (part, whole), (whole, whole)):
        again = identify(Evidence(sightings=twice), library)
        assert again.candidates[0].probability == pytest.approx(once.candidates[0].probability)
        assert again.unlisted == pytest.approx(once.unlisted)
    more = identify(Evidence(sightings=(whole, Sighting("letters", "VOON", 0.9))), library)
    assert more.unlisted < once.unlisted
    apart = (Sighting("letters", "ASTREL", 0.9, (60.0, 90.0)), Sighting("letters", "AST", 0.9, (150.0, 160.0)))
    assert said_before(apart) == (False, False)


def test_identify_uses_the_height(library: FormLibrary) -> None:
    """The library's lettered form is surer in place than with the letters told to be at its mouth."""
    form = library["lettered"]
    low, mouth = (letters_likelihood(read(z, value="ASTREL"), (form,)) for z in ((70.0, 110.0), (185.0, 200.0)))
    assert low[0][0] / low[1] > 10 * mouth[0][0] / mouth[1]

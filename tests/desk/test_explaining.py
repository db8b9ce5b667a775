"""Explanations read as sentences: names of items, hinges, tips, foretold figures, and when to stop looking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from weftglass.desk.explaining import (
    excluded_sentences,
    foretold_lines,
    hinge_sentence,
    item_words,
    no_more_looks_sentence,
    tip_sentences,
    track_record_sentence,
)
from weftglass.evidence import Evidence, Measurement, Sighting
from weftglass.inside import Answer, identify
from weftglass.inside.answer import Excluded, Hinge, Tip
from weftglass.vessels import FormLibrary


@pytest.fixture(scope="module")
def library() -> FormLibrary:
    """The bundled forms."""
    return FormLibrary.starter()


@pytest.fixture(scope="module")
def answer(library: FormLibrary) -> Answer:
    """The answer to a height, a weight and a colour."""
    readings = (Measurement("height", 300.0, 2.0), Measurement("weight", 700.0, 10.0))
    return identify(Evidence("p", (), readings, (Sighting("colour", "green"),)), library)


@pytest.mark.parametrize(
    ("item", "words"),
    [
        ("outline front", "the outline from the front"),
        ("outline side 2", "the outline from the side, photograph 2"),
        ("outline turned", "the outline from an unknown side"),
        ("girth at 80 mm 256 mm", "the girth at 80 mm, 256 mm"),
        ("weight 812 g", "the weight, 812 g"),
        ("letters H?R??W", "the letters “H?R??W”"),
        ("seller old wine bottle", "the seller’s words “old wine bottle”"),
        ("base pontil scar", "the base seen as “pontil scar”"),
    ],
)
def test_items_are_named_as_a_person_would(item: str, words: str) -> None:
    """Every kind of item has plain words."""
    assert item_words(item) == words


def test_every_item_of_an_answer_has_plain_words(answer: Answer) -> None:
    """No name of the program's own is left over."""
    for weight in answer.candidates[0].evidence:
        assert item_words(weight.item).startswith("the ")


def test_hinge_says_who_would_lead_without_the_item(answer: Answer, library: FormLibrary) -> None:
    """Another leader is named with its chance; the same leader is said to stay."""
    first, second = answer.candidates[0].form, answer.candidates[1].form
    hangs = replace(answer, hinge=Hinge("height 300 mm", 0.7, 0.1, second, 0.5))
    assert hinge_sentence(hangs, library).startswith("The answer hangs on the height over all, 300 mm: without it, ")
    stays = replace(answer, hinge=Hinge("height 300 mm", 0.7, 0.6, first, 0.6))
    assert "would still lead, with about 60\u00a0% instead of 70\u00a0%" in hinge_sentence(stays, library)
    assert hinge_sentence(replace(answer, hinge=None), library) == ""


def test_turns_say_how_far_the_reading_would_have_to_go(answer: Answer, library: FormLibrary) -> None:
    """Or more, or less, with the unit, and never twice the same figure."""
    two = replace(answer.candidates[1], probability=0.3)
    told = replace(answer, candidates=(answer.candidates[0], two))
    high = Tip("height 300 mm", two.form, 300.0, 300.4, "mm", "")
    seen = Tip("colour green", two.form, None, None, "", "amber")
    sentences = tip_sentences(replace(told, tips=(high, seen)), library)
    assert "would have to be 300.4 mm or more, not 300.0 mm" in sentences[0]
    assert sentences[1].startswith("If the colour of the glass were “amber” rather than “green”, ")
    assert "No single reading" in tip_sentences(replace(told, tips=()), library)[0]


def test_foretold_figures_carry_interval_and_check(answer: Answer) -> None:
    """Every figure has its uncertainty; what can be checked says how."""
    lines = foretold_lines(replace(answer.candidates[0], thickness=np.array([[40.0, 3.1, 0.4]])))
    assert all("±" in line.value and "–" in line.interval for line in lines)
    assert any("millet" in line.check for line in lines)
    assert lines[-1].what == "Thickness of the covering"
    assert "3.1\u00a0±\u00a00.4\u00a0mm at 40\u00a0mm" in lines[-1].value


def test_excluded_forms_name_height_and_millimetres(answer: Answer) -> None:
    """The place and the size of what can't be."""
    shut = replace(answer, excluded=(Excluded("x", "globe flask", "quart", 120.0, 4.24),))
    assert excluded_sentences(shut) == (
        "Globe flask, quart can’t be inside: its glass would stand out by 4.2 mm at 120 mm height.",
    )


def test_track_record_is_told_of_the_class_of_answers_this_one_belongs_to(answer: Answer) -> None:
    """A surer answer has the record of surer ones; where none of the forms leads there is none to tell."""
    best = answer.candidates[0]
    unsure = track_record_sentence(replace(answer, candidates=(replace(best, probability=0.4),), unlisted=0.0))
    sure = track_record_sentence(replace(answer, candidates=(replace(best, probability=0.99),), unlisted=0.0))
    assert unsure != sure
    assert "tests" in unsure
    assert "tests" in sure
    assert track_record_sentence(replace(answer, unlisted=0.9)) == ""


def test_track_record_says_that_none_of_these_stands_apart_from_it(answer: Answer) -> None:
    """Beside 44 % for the first form and 31 % for none of these, no share of all answers is claimed."""
    best = replace(answer.candidates[0], probability=0.44)
    told = track_record_sentence(replace(answer, candidates=(best,), unlisted=0.31))
    assert told.startswith("In tests on pieces whose vessel was among the forms listed, ")
    assert told.endswith("The 31\u00a0% for none of these forms is not counted in that.")
    assert "none of these" not in track_record_sentence(replace(answer, candidates=(best,), unlisted=0.01))


def test_nothing_more_is_needed_only_when_sure(answer: Answer) -> None:
    """A sure answer stops the looking; an unsure one admits that it stays open."""
    sure = replace(answer, candidates=(replace(answer.candidates[0], probability=0.98),), unlisted=0.01)
    assert no_more_looks_sentence(sure).startswith("Nothing more is needed")
    open_still = replace(answer, candidates=(replace(answer.candidates[0], probability=0.5),), unlisted=0.01)
    assert "stays open" in no_more_looks_sentence(open_still)

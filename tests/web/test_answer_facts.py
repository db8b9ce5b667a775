"""What the answer's page shows: words no surer than the numbers, every number with its unit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from weftglass.evidence import Evidence, Measurement, Outline
from weftglass.inside import Answer, identify
from weftglass.vessels import FormLibrary
from weftglass.web.pages.inside import answer_facts, moved_facts, verdict_sentence

FORM = 20
COVER_MM = 3.0


@pytest.fixture(scope="module")
def library() -> FormLibrary:
    """The bundled forms."""
    return FormLibrary.starter()


@pytest.fixture(scope="module")
def evidence(library: FormLibrary) -> Evidence:
    """An outline 3 mm outside a known form, its top bare, and a measured height."""
    form = library.forms[FORM]
    tall = form.profile.height_mm
    z = np.linspace(0.0, tall, 100)
    half = form.profile.half_width_at(z) + np.where(z < 0.85 * tall, COVER_MM, 0.0)
    outline = Outline.of(np.column_stack([z, half]), bare=[(0.86 * tall, tall)])
    return Evidence("p-1", (outline,), (Measurement("height", tall, 1.0),))


@pytest.fixture(scope="module")
def answer(evidence: Evidence, library: FormLibrary) -> Answer:
    """The answer on it."""
    return identify(evidence, library)


def test_answer_names_the_form_and_draws_it(answer: Answer, evidence: Evidence, library: FormLibrary) -> None:
    """The leading form is current, its drawing is there, and the verdict names it."""
    facts = answer_facts(answer, evidence, library, "/piece/p-1/inside")
    assert facts.candidates[0].current
    assert facts.drawing is not None
    assert "clearance, mm" in facts.drawing
    assert facts.candidates[0].name in facts.verdict


def test_another_candidate_can_be_drawn(answer: Answer, evidence: Evidence, library: FormLibrary) -> None:
    """Choosing a candidate redraws it and explains it, and leaves the order alone."""
    second = answer.candidates[1]
    facts = answer_facts(answer, evidence, library, "/piece/p-1/inside", chosen=second.form)
    assert [row.current for row in facts.candidates[:2]] == [False, True]
    assert facts.chosen_form == second.form
    assert len(facts.weights) == len(second.evidence)


def test_chances_shown_add_up(answer: Answer, evidence: Evidence, library: FormLibrary) -> None:
    """Bars of all candidates, 'none of the forms' and the rest are the whole: nothing is left out silently."""
    facts = answer_facts(answer, evidence, library, "/inside")
    shown = sum(float(row.bar.rstrip("%")) for row in facts.candidates) + float(facts.unlisted_bar.rstrip("%"))
    listed = {row.form for row in facts.candidates}
    rest = answer.rest + sum(c.probability for c in answer.candidates if c.form not in listed)
    assert shown + 100 * rest == pytest.approx(100, abs=0.5)


def test_commonness_is_one_click_away_and_keeps_the_candidate(
    answer: Answer, evidence: Evidence, library: FormLibrary
) -> None:
    """The switch goes there and back."""
    second = answer.candidates[1].form
    there = answer_facts(answer, evidence, library, "/inside", chosen=second).commonness_href
    assert there == f"/inside?form={second}&commonness=even"
    back = answer_facts(answer, evidence, library, "/inside", chosen=second, with_commonness=False).commonness_href
    assert back == f"/inside?form={second}"


def test_nothing_known_says_so(library: FormLibrary) -> None:
    """Without evidence the page does not pretend."""
    nothing = Evidence("p-2")
    facts = answer_facts(identify(nothing, library), nothing, library, "/inside")
    assert "Nothing is known of this piece yet" in facts.verdict
    assert facts.drawing is None


def test_unlisted_leads_the_verdict_when_it_leads(answer: Answer, library: FormLibrary) -> None:
    """No form is named when none of the forms is the likeliest."""
    assert "none of the forms listed" in verdict_sentence(replace(answer, unlisted=0.7), library)


def test_equals_are_named_as_equals(answer: Answer, library: FormLibrary) -> None:
    """Forms that cannot be told apart are not ranked in the verdict."""
    first, second = (replace(c, probability=0.45) for c in answer.candidates[:2])
    twins = replace(answer, candidates=(first, second), groups=((first.form, second.form),))
    assert verdict_sentence(twins, library).startswith("One of 2 forms that this evidence cannot tell apart")


def test_what_moved_names_before_and_after(answer: Answer, library: FormLibrary) -> None:
    """The table holds the forms whose chance changed, and says when the lead changed hands."""
    first, second = answer.candidates[0].form, answer.candidates[1].form
    earlier = replace(
        answer,
        candidates=(answer.candidates[1], answer.candidates[0]),
        probabilities={first: 0.2, second: 0.7},
        unlisted=answer.unlisted,
    )
    moved = moved_facts("you measured the height", earlier, answer, library)
    assert moved.sentence.startswith("The lead went from")
    row = next(row for row in moved.rows if row.name == library[first].title)
    assert (row.before, row.words) == ("20\u00a0%", "gained")
    assert "none of the forms listed" not in [row.name for row in moved.rows]


def test_every_weight_is_explained(answer: Answer, evidence: Evidence, library: FormLibrary) -> None:
    """Each item has its weight with a sign or nought, and what it does to the odds."""
    for row in answer_facts(answer, evidence, library, "/inside").weights:
        assert row.weight.endswith("\u00a0db")
        assert row.words.startswith("makes it ") or row.words == "says next to nothing"


def test_answer_is_explained_in_words_a_collector_reads(
    answer: Answer, evidence: Evidence, library: FormLibrary
) -> None:
    """Items by their trade names, what can be checked with its interval, and a look worded for a seller."""
    facts = answer_facts(answer, evidence, library, "/inside")
    assert facts.weights[0].item == "The outline from the front"
    assert facts.weights[1].item.startswith("The height over all, ")
    assert {"Capacity", "Weight of the glass alone", "Tone"} <= {line.what for line in facts.foretold}
    assert all("±" in line.value for line in facts.foretold)
    assert facts.no_more_looks
    asked = [look for look in facts.looks if look.seller]
    assert all(look.seller.endswith("?") for look in asked)


def test_tone_and_photograph_are_taken_where_they_can_be(library: FormLibrary) -> None:
    """A look at the tone leads to the tone's page, one at a view to where photographs are added."""
    measured = Evidence("p-3", (), (Measurement("height", 300.0, 1.0),))
    found = identify(measured, library)
    looks = tuple(replace(found.next_looks[0], kind=kind) for kind in ("tone", "view front", "height"))
    facts = answer_facts(replace(found, next_looks=looks), measured, library, "/inside")
    assert [look.href for look in facts.looks] == ["/piece/p-3/tone", "/piece/p-3", ""]


def test_answer_tells_how_often_such_answers_were_right(
    answer: Answer, evidence: Evidence, library: FormLibrary
) -> None:
    """Measured in tests, never a promise; nothing is told where nothing is known."""
    assert "In tests" in answer_facts(answer, evidence, library, "/inside").track_record
    nothing = Evidence("p-2")
    assert answer_facts(identify(nothing, library), nothing, library, "/inside").track_record == ""

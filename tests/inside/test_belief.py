"""Outlines count less where simulation shows answers to be too sure, and measurements count as before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from weftglass.evidence import Evidence, Measurement, Sighting
from weftglass.inside.bank import FormBank
from weftglass.inside.belief import PASSED_OVER, Doubt, believed, doubt_of_outlines, with_passed_over
from weftglass.inside.first_look import first_look
from weftglass.inside.posterior import posterior
from weftglass.inside.weighing import Case, Weighed, weigh
from weftglass.vessels import Form

from .conftest import laid_over, plain_form

FORMS = [plain_form("small", 220.0, 36.0), plain_form("middle", 230.0, 38.0), plain_form("large", 236.0, 40.0)]
EVEN = np.log(np.full(3, 1 / 3))


def weighed(evidence: Evidence, forms: list = FORMS) -> tuple[Case, FormBank, Weighed]:
    """A case weighed against all forms, exactly."""
    bank = FormBank.of(forms)
    case = Case.of(evidence, any_flat=False)
    return case, bank, weigh(case, bank, around=weigh(case, bank).state)


def seen(cover_mm: float = 2.5, **known: object) -> Evidence:
    """The middle form under an even covering."""
    outline = laid_over(FORMS[1], cover_mm)
    return Evidence("p", outlines=(replace(outline, **known),))


def belief(evidence: Evidence, forms: list = FORMS) -> float:
    return doubt_of_outlines(*weighed(evidence, forms), EVEN).belief


def test_a_close_covering_of_known_forms_is_believed_nearly_wholly() -> None:
    assert 0.85 < belief(seen()) <= 1.0


def test_thick_coverings_lost_scale_hidden_parts_and_mere_drawings_are_believed_less() -> None:
    plain = belief(seen())
    assert belief(seen(cover_mm=9.0)) < 0.9 * plain
    assert belief(seen(scale_sd=0.3)) < 0.85 * plain
    assert belief(seen(hidden=((0.0, 180.0),))) < 0.95 * plain
    drawn = [replace(form, tolerance=replace(form.tolerance, shape_sd_mm=0.6)) for form in FORMS]
    assert belief(seen(), drawn) < 0.9 * plain


def test_a_measured_length_gives_an_outline_without_scale_its_belief_back() -> None:
    unscaled = seen(scale_sd=0.3)
    told = replace(unscaled, measurements=(Measurement("height", 232.0, 1.0),))
    assert belief(told) > 1.15 * belief(unscaled)


def test_evidence_without_outlines_is_believed_as_it_is() -> None:
    assert belief(Evidence("p", measurements=(Measurement("height", 232.0, 1.0),))) == 1.0


def test_believed_shrinks_what_outlines_say_and_leaves_what_was_measured() -> None:
    evidence = replace(seen(), measurements=(Measurement("height", 232.0, 1.0),))
    *_, plain = weighed(evidence)
    less = believed(plain, 1, 0.6)
    lead = plain.running - plain.running.max(axis=1, keepdims=True)
    assert less.running[1] - less.running[1].max() == pytest.approx(0.6 * lead[1])
    assert np.diff(less.running, axis=0)[1] == pytest.approx(np.diff(plain.running, axis=0)[1])
    assert less.running[1].max() == pytest.approx(plain.running[1].max())
    assert less.state.log_likelihood() == pytest.approx(less.running[-1])
    assert less.state.class_weight == pytest.approx(plain.state.class_weight)


def test_posterior_takes_outlines_by_their_belief() -> None:
    found = posterior(seen(cover_mm=9.0), FormBank.of(FORMS), with_commonness=False)
    *_, plain = weighed(seen(cover_mm=9.0))
    sure = np.exp(plain.total - plain.total.max())
    assert found.probability.max() / (1 - found.unlisted) < sure.max() / sure.sum() - 0.005


PRIOR = np.array([0.5, 0.3, 0.2])
SURE = np.array([1.0, 0.0, 0.0])  # of three forms only the first was weighed exactly
FIRST = np.array([0])


def passed_over(evidence: Evidence, chance: float, forms: list[Form] = FORMS) -> np.ndarray:
    case, bank, every = weighed(evidence, forms)
    look = first_look(case, bank, np.log(PRIOR))
    return with_passed_over(SURE, PRIOR, look, FIRST, every.part(FIRST), chance)


def test_forms_not_weighed_keep_the_share_of_what_a_first_look_passes_over() -> None:
    shared = passed_over(seen(), 0.03)
    assert shared == pytest.approx([0.97, 0.03 * 0.6, 0.03 * 0.4])
    assert passed_over(seen(), 0.0) == pytest.approx(SURE)


def test_a_colour_that_only_a_weighed_form_comes_in_leaves_the_others_next_to_nothing() -> None:
    forms = [replace(form, colours=(colour,)) for form, colour in zip(FORMS, ("cobalt", "amber", "aqua"), strict=True)]
    only_outline = passed_over(seen(), 0.03, forms)
    told = replace(seen(), sightings=(Sighting("colour", "cobalt", 0.95),))
    assert passed_over(told, 0.03, forms)[0] > 1.0 - 0.3 * (1.0 - only_outline[0])
    against = replace(seen(), sightings=(Sighting("colour", "aqua", 0.95),))
    shared = passed_over(against, 0.03, forms)
    assert shared[2] > 2.0 * only_outline[2]
    assert shared[1] < only_outline[1]


def test_only_what_is_not_seen_lets_a_first_look_pass_a_form_over() -> None:
    assert Doubt(seen=0.0, known=0.5).passed_over == 0.0
    assert Doubt(seen=0.3, known=0.5).passed_over == pytest.approx(PASSED_OVER * (1 - np.exp(-0.3)))
    assert Doubt(seen=0.3, known=0.5).belief == pytest.approx(np.exp(-0.8))

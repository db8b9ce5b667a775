"""Coverings as they are: feet, straps, two views, cropped and unscaled outlines, readings that disagree."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.evidence import Covering, Evidence, Measurement, Outline
from weftglass.inside import identify
from weftglass.inside.bank import FormBank
from weftglass.inside.conflict import conflicts_of
from weftglass.inside.contour import contour_of
from weftglass.inside.cover import CoverPrior, faces_for
from weftglass.inside.posterior import posterior
from weftglass.inside.state import THICKNESS
from weftglass.inside.surprise import Surprise
from weftglass.vessels import FormLibrary

from .conftest import laid_over, piece, plain_form


def changed(outline: Outline, **more: object) -> Outline:
    """The outline with other points or flags."""
    kept = {"view": outline.view, "sd_mm": 0.4, "scale_sd": outline.scale_sd, "bare": outline.bare}
    return Outline.of(more.pop("points", outline.points), **(kept | more))  # type: ignore[arg-type]


def with_strap(outline: Outline, low: float, high: float, out_mm: float) -> Outline:
    """The outline with a strap round it."""
    points = outline.points.copy()
    points[:, 1] += out_mm * np.clip(np.minimum(points[:, 0] - low, high - points[:, 0]) / 2.0, 0.0, 1.0)
    return changed(outline, points=points)


@pytest.fixture(scope="module")
def bank(library: FormLibrary) -> FormBank:
    """The small library as arrays."""
    return FormBank.of(tuple(library))


def test_habits_share_out_all_pieces() -> None:
    """Shares of what an edge may look like sum to one, and what reaches beyond the glass only where something can."""
    assert sum(share for share, _, _ in faces_for((0.01, 0.001))) == pytest.approx(1.0)
    plain = CoverPrior.for_covering(Covering(technique="wicker"))
    bare, free = plain.with_ends(below=False, above=False), plain.with_ends(below=True, above=True)
    assert bare.weight.sum() == pytest.approx(1.0)
    assert free.weight.sum() == pytest.approx(1.0)
    assert not bare.foot[0].any()
    assert free.foot[0].any()
    assert free.rise[0].any()


def test_strap_is_found_where_it_is_and_the_form_still_named(library: FormLibrary, bank: FormBank) -> None:
    """Six mm out over 24 mm: a bulge overlapping it, and the right form first."""
    seen = with_strap(laid_over(library["b230-38"], 3.0), 60.0, 84.0, 6.0)
    found = posterior(piece(seen), bank)
    assert bank.forms[found.survivors[0]].id == "b230-38"
    assert any(bulge.low_mm < 84.0 and bulge.high_mm > 60.0 for bulge in found.case.bulges)
    assert not posterior(piece(laid_over(library["b230-38"], 3.0)), bank).case.bulges


def test_foot_ring_below_the_glass_does_not_make_a_taller_vessel(library: FormLibrary) -> None:
    """Twenty mm of basketry under a 230 mm bottle: not the 250 mm one."""
    seen = laid_over(library["b230-38"], 3.0)
    low = np.arange(0.0, 20.0, 1.0)
    foot = np.column_stack([low, np.full(len(low), 41.0)])
    body = np.column_stack([seen.points[:, 0] + 20.0, seen.points[:, 1]])
    answer = identify(piece(changed(seen, points=np.vstack([foot, body]))), library)
    assert answer.candidates[0].form == "b230-38"
    assert answer.candidates[0].probability > 0.6


@pytest.mark.parametrize("beyond_mm", [12.0, 30.0])
@pytest.mark.parametrize("above", [False, True])
def test_covering_beyond_the_glass_is_thought_of_from_the_first_look_on(beyond_mm: float, above: bool) -> None:
    """
    Basketry below the base or above the lip, in a library large enough to be screened by heights: the right form.
    """
    heights, radii = np.linspace(180.0, 300.0, 13), np.linspace(30.0, 46.0, 9)
    bank = FormBank.of([plain_form(f"{h:.0f}-{r:.0f}", h, r) for h in heights for r in radii])
    seen = laid_over(bank.forms[58], 3.0)
    assert bank.forms[58].id == "240-38"
    more = np.arange(0.0, beyond_mm, 1.0)
    edge = seen.points[-8 if above else 8, 1]
    if above:
        points = np.vstack([seen.points, np.column_stack([seen.points[-1, 0] + 1.0 + more, np.full(len(more), edge)])])
    else:
        body = np.column_stack([seen.points[:, 0] + beyond_mm, seen.points[:, 1]])
        points = np.vstack([np.column_stack([more, np.full(len(more), edge)]), body])
    found = posterior(piece(changed(seen, points=points)), bank)
    assert bank.forms[found.survivors[0]].id == "240-38"
    assert found.probability[58] > 0.5


def test_wide_strap_does_not_pass_for_a_thick_covering(library: FormLibrary, bank: FormBank) -> None:
    """Seven mm out over 40 mm of a 2 mm covering: found end to end, and the covering still thin."""
    seen = with_strap(laid_over(library["b230-38"], 2.0), 50.0, 90.0, 7.0)
    found = posterior(piece(seen), bank)
    assert bank.forms[found.survivors[0]].id == "b230-38"
    assert len(found.bulges) == 1
    assert found.bulges[0].low_mm == pytest.approx(50.0, abs=6.0)
    assert found.bulges[0].high_mm == pytest.approx(90.0, abs=6.0)
    k = int(found.exact.state.log_weight[0].argmax())
    assert found.case.cover.mean_mm[k] + found.exact.state.mean[0, k, THICKNESS] == pytest.approx(2.0, abs=1.0)


def test_second_view_of_one_covering_does_not_take_back_what_the_first_said(library: FormLibrary) -> None:
    """Front and side of a round piece, the side 1 mm thicker: still the same form, no less fitting."""
    front = laid_over(library["b230-38"], 3.0)
    side = changed(laid_over(library["b230-38"], 4.0), view="side")
    one = identify(piece(front), library)
    both = identify(piece(front, side), library)
    assert both.candidates[0].form == one.candidates[0].form == "b230-38"
    assert both.candidates[0].probability > 0.8


def test_cropped_base_still_names_the_form(library: FormLibrary) -> None:
    """The lowest 60 mm cut off: heights count from the cut, the base lies somewhere below."""
    seen = laid_over(library["b230-38"], 3.0)
    points = seen.points[seen.points[:, 0] > 60.0] - np.array([60.0, 0.0])
    answer = identify(piece(changed(seen, points=points, base_unseen=True)), library)
    assert answer.candidates[0].form == "b230-38"
    assert answer.candidates[0].probability > 0.8
    taken_as_whole = identify(piece(changed(seen, points=points)), library)
    assert taken_as_whole.probabilities["b230-38"] < 0.5


def test_middle_of_a_piece_still_tells_what_it_can(library: FormLibrary) -> None:
    """Neither base nor lip in the picture, the shoulder is: a form of that width and shoulder leads."""
    seen = laid_over(library["b230-38"], 3.0)
    middle = (seen.points[:, 0] > 70.0) & (seen.points[:, 0] < 200.0)
    points = seen.points[middle] - np.array([70.0, 0.0])
    answer = identify(piece(changed(seen, points=points, base_unseen=True, top_unseen=True)), library)
    assert answer.candidates[0].form in ("b230-38", "twin-a", "twin-b", "lettered")
    assert answer.probabilities["b230-38"] > 0.1
    assert answer.probabilities["b180-46"] + answer.probabilities["b280-32"] < 0.05


def test_shape_alone_tells_forms_of_other_proportions(library: FormLibrary) -> None:
    """No scale at all, drawn 250 mm tall: slender and stout are still told apart."""
    seen = laid_over(library["b180-46"], 3.0)
    points = seen.points * (250.0 / seen.points[-1, 0])
    answer = identify(piece(changed(seen, points=points, scale_sd=0.5)), library)
    assert answer.candidates[0].form == "b180-46"


def test_photograph_and_tape_that_disagree_are_both_said(library: FormLibrary) -> None:
    """A tape 30 mm off the photograph: both numbers in one sentence; an honest tape says nothing."""
    seen = laid_over(library["b230-38"], 3.0)
    wrong = Evidence(outlines=(seen,), measurements=(Measurement("height", 206.0, 1.0),))
    conflict = conflicts_of(wrong)[0]
    assert "236" in conflict.sentence
    assert "206" in conflict.sentence
    assert conflict.sds > 3.5
    assert not conflicts_of(Evidence(outlines=(seen,), measurements=(Measurement("height", 236.0, 1.0),)))


def test_photograph_and_tape_that_disagree_are_not_averaged(library: FormLibrary) -> None:
    """Each is believed half: the form that fits the photograph keeps a fair share, one in between gets none."""
    seen = laid_over(library["b280-38"], 3.0)
    answer = identify(piece(seen, measurements=(Measurement("height", 236.0, 1.0),)), library)
    assert answer.probabilities["b280-38"] > 0.1
    assert answer.probabilities["twin-a"] < 0.1


def test_covering_over_a_rough_drawing_keeps_the_thickness_coverings_have() -> None:
    """The drawing is 3 mm too wide, and may be: the covering does not come out at nothing, nor below it."""
    rough = plain_form("rough", 230.0, 41.0, tolerance={"height_sd": 0.01, "width_sd": 0.005, "shape_sd_mm": 3.0})
    bank = FormBank.of([rough, plain_form("other", 300.0, 30.0)])
    seen = laid_over(plain_form("true", 230.0, 38.0), 3.0)
    contour = contour_of(posterior(piece(seen), bank), 0)
    assert contour is not None
    assert contour.mean_mm > 1.0
    assert abs(contour.mean_mm - 3.0) < 2.5 * contour.mean_sd_mm
    assert np.all(contour.thickness_mm[contour.covered] > 0)
    assert contour.shift_mm.mean() < -0.3


def test_contour_of_a_well_known_form_follows_the_covering(library: FormLibrary, bank: FormBank) -> None:
    """Three mm everywhere, told within its uncertainty at nearly every height; nothing on bare glass."""
    contour = contour_of(posterior(piece(laid_over(library["b230-38"], 3.0, bare_from=190.0)), bank), 0)
    assert contour is not None
    off = np.abs(contour.thickness_mm - 3.0) / np.maximum(contour.thickness_sd_mm, 1e-9)
    assert np.mean(off[contour.covered] < 2.5) > 0.9
    assert np.all(contour.thickness_mm[~contour.covered] == 0)


def test_contour_is_none_without_an_outline(bank: FormBank) -> None:
    """A height alone draws no contour."""
    assert contour_of(posterior(Evidence(measurements=(Measurement("height", 236.0, 1.0),)), bank), 0) is None


def test_surprise_has_mean_square_one_for_readings_of_the_model_itself() -> None:
    """Draws from the very law: both parts average to one (chi-square); three times the law gives nine."""
    rng = np.random.default_rng(5)
    z = np.arange(60.0)
    smooth, white = 4.0 * np.exp(-np.abs(z[:, None] - z[None, :]) / 15.0), np.full(60, 0.5)
    root = np.linalg.cholesky(smooth + np.diag(white))
    draws = [root @ rng.standard_normal(60) for _ in range(300)]
    parts = np.array(
        [[np.exp(one.smooth), np.exp(one.white)] for one in (Surprise.of(d, smooth, white) for d in draws)]
    )
    wide = np.mean([np.exp(Surprise.of(3 * d, smooth, white).smooth) for d in draws])
    assert parts.mean(axis=0) == pytest.approx([1.0, 1.0], abs=0.08)
    assert wide == pytest.approx(9.0, abs=0.8)

"""Repeats, palette and symmetry of bands drawn with a known answer."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from weftglass.errors import InputError
from weftglass.weave.design import band_words, design_of
from weftglass.weave.friezes import GROUPS, symmetry_of
from weftglass.weave.palette import palette_of
from weftglass.weave.repeats import repeats_round, repeats_seen

CELL = gaussian_filter(np.random.default_rng(8).normal(size=(24, 40)), 2.0, mode=["nearest", "wrap"])
CELL /= CELL.std()


def generated(group: str) -> np.ndarray:
    """A repeat with exactly the operations of a frieze group, from one shapeless cell (volume E's generators)."""
    has = GROUPS[group][0]
    band = CELL.copy()
    if "v" in has:
        band = band + band[:, ::-1]
    if "h" in has:
        band = band + band[::-1]
    if has == "r":
        band = band + band[::-1, ::-1]
    if "g" in has:
        band = band + np.roll(band[::-1], band.shape[1] // 2, axis=1)
    return band / band.std()


def noisy_round(motif: np.ndarray, count: int, noise: float, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    rough = gaussian_filter(rng.normal(size=(len(motif), motif.shape[1] * count)), 1.2, mode=["nearest", "wrap"])
    return (np.tile(motif, (1, count)) + noise * rough / rough.std())[..., None]


@pytest.mark.parametrize("group", GROUPS)
@pytest.mark.parametrize("noise", [0.0, 0.5])
def test_each_frieze_group_is_named_from_bands_made_by_its_operations(group, noise):
    found = repeats_round(noisy_round(generated(group), 7, noise, 3))
    assert found is not None
    assert found.count == 7
    symmetry = symmetry_of(found.motif, found.alike)
    assert symmetry.group == group, symmetry
    assert symmetry.probability > 0.8


def test_a_tail_on_one_side_is_no_mirror_and_a_plain_lozenge_is():
    """A small part that plainly differs settles it, though most of the figure is alike."""
    rows, columns = np.mgrid[0:40, 0:50]
    lozenge = (np.abs(rows - 19.5) / 19 + np.abs(columns - 24.5) / 15 < 1).astype(float)
    assert symmetry_of(lozenge[..., None]).group == "p2mm"
    tailed = lozenge.copy()
    tailed[24:32, 36:44] = 1.0
    assert symmetry_of(tailed[..., None]).group not in ("p2mm", "p11m", "p1m1", "p2", "p2mg")


def test_symmetry_half_there_cannot_be_told():
    """Between no mirror and a mirror there is a stretch where the answer is that it cannot be told."""
    plain, mirrored = generated("p1"), generated("p1m1")
    answers = [symmetry_of((mirrored + share * plain)[..., None]).group for share in np.linspace(0, 1.5, 31)]
    assert answers[0] == "p1m1"
    assert answers[-1] == "p1"
    assert None in answers


@pytest.mark.parametrize("count", [2, 3, 5, 7, 8, 11, 16])
def test_repeats_are_counted_with_noise_as_strong_as_the_design(count):
    motif = CELL if count < 12 else CELL[:, :20] - CELL[:, :20].mean()
    found = repeats_round(noisy_round(motif, count, 0.8, count))
    assert found is not None
    assert found.count == count
    assert found.width == pytest.approx(motif.shape[1])


def test_no_repeat_is_made_up_where_there_is_none():
    """Control: bands without a repeat, of the same texture; at 1 % each, 3 or more of 60 would be too many."""
    rng = np.random.default_rng(11)
    made_up = 0
    for _ in range(60):
        band = gaussian_filter(rng.normal(size=(24, 280)), 3.0, mode=["nearest", "wrap"])
        made_up += repeats_round((band / band.std())[..., None]) is not None
    assert made_up <= 2


def test_one_figure_alone_does_not_repeat():
    band = np.zeros((24, 280))
    band[:, 60:100] = CELL
    assert repeats_round(band[..., None]) is None


def test_uneven_repeats_are_counted_and_their_unevenness_told():
    rng = np.random.default_rng(4)
    off = np.rint(rng.normal(0, 1.5, 8)).astype(int)
    band = np.zeros((24, 320))
    for k in range(8):
        band[:, (np.arange(30) + 40 * k + off[k]) % 320] += CELL[:, :30]
    found = repeats_round(band[..., None])
    assert found is not None
    assert found.count == 8
    assert found.uneven == pytest.approx(np.std(np.diff(off, append=off[:1])), rel=0.35)


def test_repeats_start_where_least_happens():
    band = np.zeros((24, 280))
    for k in range(7):
        band[:, 40 * k + 10 : 40 * k + 34] = CELL[:, :24] + 2
    found = repeats_round(band[..., None])
    assert found is not None
    starts = np.sort(np.mod(found.starts, 40))
    assert np.all((starts < 10) | (starts > 33))


def test_a_part_of_the_round_gives_width_and_a_count_only_when_sure():
    whole = noisy_round(CELL, 7, 0.4, 9)
    found = repeats_seen(whole[:, :93], 280.0, 0.02)
    assert found is not None
    assert found.width == pytest.approx(40, abs=0.8)
    assert found.count_range[0] <= 7 <= found.count_range[1]
    unsure = repeats_seen(whole[:, :93], 280.0, 0.2)
    assert unsure is not None
    assert unsure.count is None
    assert repeats_seen(whole[:, :60], 280.0, 0.02) is None


def test_palette_finds_the_colours_painted_and_their_shares():
    rng = np.random.default_rng(2)
    colours = np.array([[62.0, 10, 28], [25, 8, 10], [38, 34, 26]])
    kind = np.zeros((120, 300), dtype=int)
    kind[20:40, (np.arange(300) % 30) < 12] = 1
    kind[80:90] = 2
    lab = colours[kind] + rng.normal(0, 2.0, (120, 300, 3))
    found, label = palette_of(lab, np.ones(kind.shape, dtype=bool))
    assert len(found) == 3
    for colour, true, share in zip(found, colours[[0, 2, 1]], (0.85, 0.0833, 0.0667), strict=True):
        np.testing.assert_allclose(colour.lab, true, atol=0.5)
        assert colour.share == pytest.approx(share, abs=0.005)
    assert np.mean(label == np.array([0, 2, 1])[kind]) > 0.999


def test_a_picture_without_anything_seen_has_no_palette():
    assert palette_of(np.zeros((5, 5, 3)), np.zeros((5, 5), dtype=bool))[0] == ()


def drawn_rollout(px_per_mm: float = 4.0, girth: float = 280.0, tall: float = 100.0):
    """A woven-looking rollout: ground with stitches, seven blocks at 30-50 mm, a plain red band at 70-76 mm."""
    rows, columns = round(tall * px_per_mm), round(girth * px_per_mm)
    z = (np.arange(rows)[::-1, None] + 0.5) / px_per_mm
    u = (np.arange(columns)[None] + 0.5) / columns
    rng = np.random.default_rng(6)
    ground = np.array([0.70, 0.58, 0.40])
    colours = np.broadcast_to(ground, (rows, columns, 3)).copy()
    block = (np.mod(u * 7 + 0.3, 1) < 0.45) & (z > 30) & (z < 50)
    colours[block] = [0.22, 0.12, 0.10]
    colours[np.broadcast_to((z > 70) & (z < 76), (rows, columns))] = [0.50, 0.16, 0.12]
    stitch = 1 + 0.18 * np.sin(2 * np.pi * u * 90) * np.sin(2 * np.pi * z / 3)
    strand = np.exp(0.06 * gaussian_filter(rng.normal(size=(rows, columns)), 3) * 8)
    picture = np.clip(colours * (stitch * strand)[..., None] * 255, 0, 255).astype(np.uint8)
    return picture, np.ones((rows, columns), dtype=bool), np.broadcast_to(z[:, 0], rows), np.full(rows, girth)


def test_a_design_study_finds_bands_repeats_widths_and_colours():
    picture, seen, height, girth = drawn_rollout()
    study = design_of(
        picture, seen, px_per_mm=4, height_mm=height, girth_at_mm=girth, girth_rel_sd=0.01, stitches_per_cm=(3.2, 0.1)
    )
    assert len(study.palette) == 3
    figured = [band for band in study.bands if band.figured]
    assert len(figured) == 1
    assert figured[0].low_mm == pytest.approx(30, abs=1.5)
    assert figured[0].high_mm == pytest.approx(50, abs=1.5)
    assert figured[0].repeats == 7
    assert figured[0].width_mm == pytest.approx(40, rel=0.02)
    assert figured[0].width_stitches == pytest.approx(12.8, rel=0.02)
    assert figured[0].symmetry is not None
    assert figured[0].symmetry.group == "p2mm"
    red = [band for band in study.bands if not band.figured and 70 < (band.low_mm + band.high_mm) / 2 < 76]
    assert len(red) == 1
    assert red[0].tall_mm == pytest.approx(6, abs=1.5)
    words = band_words(figured[0], study.palette)
    assert "7 repeats of 40.0 ± 0.4 mm" in words
    assert "p2mm" in words


def test_part_of_the_round_is_studied_where_it_was_seen():
    picture, seen, height, girth = drawn_rollout()
    angle = (np.arange(picture.shape[1]) + 0.5) / picture.shape[1] * 360 - 180
    part = seen & (np.abs(angle) < 60)[None]
    study = design_of(
        np.where(part[..., None], picture, 255).astype(np.uint8), part,
        px_per_mm=4, height_mm=height, girth_at_mm=girth, girth_rel_sd=0.02, whole_round=False,
    )  # fmt: skip
    band = next(band for band in study.bands if band.figured)
    assert band.width_mm == pytest.approx(40, rel=0.02)
    assert band.repeats_range is not None
    assert band.repeats_range[0] <= 7 <= band.repeats_range[1]


def test_nothing_seen_or_an_impossible_gauge_is_refused():
    picture, seen, height, girth = drawn_rollout()
    with pytest.raises(InputError, match="covering seen"):
        design_of(picture, ~seen, px_per_mm=4, height_mm=height, girth_at_mm=girth)
    with pytest.raises(InputError, match="stitches per cm"):
        design_of(picture, seen, px_per_mm=4, height_mm=height, girth_at_mm=girth, stitches_per_cm=(0, 1))

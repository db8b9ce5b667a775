"""What each form lets a tape, calliper or balance read, as one linear row in the unknowns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Measurement
from weftglass.inside.bank import STEPS, FormBank, looked_up
from weftglass.inside.cover import UNEVENNESS, CoverPrior
from weftglass.inside.state import ABOVE, BELOW, STRETCH, THICKNESS, WIDENING
from weftglass.vessels import CONTAINER_GLASS_G_PER_ML

FloatArray = NDArray[np.float64]

COVER_G_PER_ML = 0.45  # woven fibre with its air, g/ml; working figure, no source
COVER_SHARE_SD = 0.35  # relative sd of the covering's weight at a given thickness; working figure, no source
SPREAD = {  # relative sd between two vessels of one form beyond the form's own width tolerance; from memory
    "lip_diameter": 0.03,
    "bore": 0.12,
    "neck_diameter": 0.025,
    "base_diameter": 0.01,
    "body_width": 0.003,
    "body_depth": 0.006,
    "girth": 0.003,
    "capacity": 0.025,
    "weight": 0.08,
}
BORE_SHARE = 0.58  # bore over outer lip diameter of corked finishes; middle of published finish tables
UNKNOWN_WEIGHT_SD = 0.28  # relative sd of glass weight guessed from capacity when a form lists none; working figure
SOUND_MM_PER_S = 343_400.0  # at 20 C and 50 % humidity (Cramer 1993)
TONE_SPREAD = 0.11  # relative sd of a tone predicted from capacity and lip alone: 15 to 25 % in volume (see docs)


@dataclass(frozen=True, eq=False)
class Row:
    """Prediction with all unknowns 0 (F, K), its slope (F, K, p), and the model's own variance (F, K)."""

    predicted: FloatArray
    slope: FloatArray
    variance: FloatArray


@dataclass(frozen=True, eq=False)
class Setting:
    """What a prediction needs besides the form: thickness classes, number of unknowns, how the lip and base stand."""

    cover: CoverPrior
    size: int
    top_bare: bool
    base_bare: bool

    def blank(self, bank: FormBank) -> FloatArray:
        """A slope of zeros, (F, K, p)."""
        return np.zeros((len(bank), len(self.cover.mean_mm), self.size))

    def base_mm(self) -> FloatArray:
        """Mean covering below the base in each thickness class, (K,)."""
        return np.zeros_like(self.cover.mean_mm) if self.base_bare else self.cover.mean_mm

    def top_mm(self) -> FloatArray:
        """Mean covering above the lip in each thickness class, (K,)."""
        return np.zeros_like(self.cover.mean_mm) if self.top_bare else self.cover.mean_mm


def predict(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row | None:
    """
    What a measurement of this kind would read for every form; ``None`` where forms say nothing about it.

    Parameters
    ----------
    what : str
        A kind of measurement.
    z_mm : float or None
        Height above the standing plane of the piece, mm, for girth and cover_thickness.
    covered : bool
        Whether the instrument lies on the covering.
    """
    maker = ROWS.get(what)
    return None if maker is None else maker(what, z_mm, covered, bank, setting)


def row_for(measurement: Measurement, bank: FormBank, setting: Setting) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Residual (F, K), slope (F, K, p) and variance (F, K) for a `State`."""
    row = predict(measurement.what, measurement.z_mm, measurement.covered, bank, setting)
    if row is None:
        raise ValueError(measurement.what)
    return measurement.value - row.predicted, row.slope, row.variance + measurement.sd**2


def _height(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    whole = bank.heights[:, None] + setting.base_mm()[None, :] + setting.top_mm()[None, :]
    slope = setting.blank(bank)
    slope[..., STRETCH] = bank.heights[:, None]
    slope[..., BELOW] = 1.0
    slope[..., ABOVE] = 1.0
    return Row(whole, slope, np.full_like(whole, 0.2**2))


def _across(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    width = ACROSS[what](bank)
    share = 1.0 if what != "bore" else 0.5
    glass = np.broadcast_to(width[:, None], (len(bank), len(setting.cover.mean_mm)))
    slope = setting.blank(bank)
    slope[..., WIDENING] = glass * share
    variance = (SPREAD[what] * glass) ** 2 + (2.0 * LOOSE_SHAPE[what] * bank.shape_sd[:, None]) ** 2
    if not covered:
        return Row(glass, slope, variance)
    slope[..., THICKNESS] = 2.0
    local = 2.0 * (UNEVENNESS * setting.cover.mean_mm) ** 2  # two sides, each with its own unevenness
    return Row(glass + 2.0 * setting.cover.mean_mm[None, :], slope, variance + local[None, :])


def _girth(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    share = ((z_mm or 0.0) - setting.base_mm()[None, :]) / bank.heights[:, None]
    glass = np.stack([looked_up(bank.girth, share[:, [k]])[:, 0] for k in range(share.shape[1])], axis=1)
    slope = setting.blank(bank)
    slope[..., WIDENING] = glass
    variance = (SPREAD[what] * glass) ** 2 + (2 * np.pi * 0.5 * bank.shape_sd[:, None]) ** 2
    if not covered:
        return Row(glass, slope, variance)
    slope[..., THICKNESS] = 2 * np.pi
    local = (2 * np.pi * 0.5 * UNEVENNESS * setting.cover.mean_mm) ** 2  # averaged round the piece
    return Row(glass + 2 * np.pi * setting.cover.mean_mm[None, :], slope, variance + local[None, :])


def _cover_thickness(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    mean = np.broadcast_to(setting.cover.mean_mm[None, :], (len(bank), len(setting.cover.mean_mm)))
    slope = setting.blank(bank)
    slope[..., THICKNESS] = 1.0
    return Row(mean, slope, (UNEVENNESS * mean) ** 2 + 0.1**2)


def _capacity(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    held, spread = capacities(bank)
    wide = np.broadcast_to(held[:, None], (len(bank), len(setting.cover.mean_mm)))
    slope = setting.blank(bank)
    slope[..., STRETCH] = wide
    slope[..., WIDENING] = 2.0 * wide
    return Row(wide, slope, ((spread * held) ** 2)[:, None] + 0.0 * wide)


def _weight(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass, sd = glass_weights(bank)
    area_mm2 = wall_areas(bank)
    fibre = area_mm2[:, None] * setting.cover.mean_mm[None, :] * COVER_G_PER_ML / 1000.0
    slope = setting.blank(bank)
    slope[..., THICKNESS] = (area_mm2 * COVER_G_PER_ML / 1000.0)[:, None]
    return Row(glass[:, None] + fibre, slope, sd[:, None] ** 2 + (COVER_SHARE_SD * fibre) ** 2)


def _tone(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    held, _ = capacities(bank)
    bore = BORE_SHARE * lip_widths(bank)
    neck = np.maximum(neck_lengths(bank), 5.0) + 0.75 * bore  # both end corrections together: 1.5 bore radii
    opening = np.pi * (bore / 2) ** 2
    tone = SOUND_MM_PER_S / (2 * np.pi) * np.sqrt(opening / (held * 1000.0 * neck))
    wide = np.broadcast_to(tone[:, None], (len(bank), len(setting.cover.mean_mm)))
    return Row(wide, setting.blank(bank), (TONE_SPREAD * wide) ** 2)


def lip_widths(bank: FormBank) -> FloatArray:
    """Greatest width of the topmost twentieth of each vessel, mm, (F,)."""
    return np.asarray(2.0 * bank.front[:, -STEPS // 20 :].max(axis=1))


def neck_widths(bank: FormBank) -> FloatArray:
    """Least width of the upper part below the lip's edge, mm, (F,)."""
    return np.asarray(2.0 * bank.front[:, int(0.55 * STEPS) : int(0.985 * STEPS)].min(axis=1))


def base_widths(bank: FormBank) -> FloatArray:
    """Greatest width of the lowest twelfth of each vessel, mm, (F,)."""
    return np.asarray(2.0 * bank.front[:, : STEPS // 12].max(axis=1))


def body_widths(bank: FormBank) -> FloatArray:
    """Greatest width of each vessel seen from the front, mm, (F,)."""
    return np.asarray(2.0 * bank.front.max(axis=1))


def body_depths(bank: FormBank) -> FloatArray:
    """Greatest depth of each vessel, mm, (F,)."""
    return np.asarray(2.0 * bank.side.max(axis=1))


def bores(bank: FormBank) -> FloatArray:
    """Bore guessed from the lip, mm, (F,)."""
    return BORE_SHARE * lip_widths(bank)


def neck_lengths(bank: FormBank) -> FloatArray:
    """Length of the upper part no wider than 1.5 times the neck, mm, (F,)."""
    narrow = bank.front <= 0.75 * neck_widths(bank)[:, None]
    wide_below = np.argmax(~narrow[:, ::-1], axis=1)
    return np.asarray(np.maximum(wide_below, 1) * bank.heights / STEPS)


def wall_areas(bank: FormBank) -> FloatArray:
    """Area of the outer wall and the base, mm², (F,)."""
    step = bank.heights / STEPS
    middle = 0.5 * (bank.girth[:, 1:] + bank.girth[:, :-1])
    along = np.hypot(np.diff(bank.front, axis=1), step[:, None])
    return np.asarray((middle * along).sum(axis=1) + np.pi * bank.front[:, 0] * bank.side[:, 0])


def outer_volumes(bank: FormBank) -> FloatArray:
    """Volume inside the outer wall, ml, (F,): round and oval exact to the table, other sections by their girth."""
    factor = np.where(bank.is_round, np.pi, 0.0)
    for i in np.flatnonzero(~bank.is_round):
        widest = int(bank.front[i].argmax())
        a, b = bank.front[i, widest], bank.side[i, widest]
        factor[i] = float(bank.forms[i].section.area_mm2(a, b)) / (a * b)
    section = bank.front * bank.side
    mean = 0.5 * (section[:, 1:] + section[:, :-1]).sum(axis=1)
    return np.asarray(factor * mean * bank.heights / STEPS / 1000.0)


def glass_weights(bank: FormBank) -> tuple[FloatArray, FloatArray]:
    """Mean and sd of the empty glass, g, (F,) each: the form's own range, else a share of its outer volume."""
    guess = 0.75 * outer_volumes(bank) / (1 + 0.75 / CONTAINER_GLASS_G_PER_ML)
    mean, sd = guess.copy(), UNKNOWN_WEIGHT_SD * guess
    for i, form in enumerate(bank.forms):
        if form.weight_g is not None:
            low, high = form.weight_g
            mean[i] = 0.5 * (low + high)
            sd[i] = max((high - low) / 3.3, SPREAD["weight"] * mean[i])
    return mean, sd


def capacities(bank: FormBank) -> tuple[FloatArray, FloatArray]:
    """Brimful capacity in ml and its relative sd, (F,) each: as listed, else outer volume less glass."""
    weight, _ = glass_weights(bank)
    held = np.maximum(outer_volumes(bank) - weight / CONTAINER_GLASS_G_PER_ML, 1.0)
    spread = np.full(len(bank), 0.08)
    for i, form in enumerate(bank.forms):
        if form.capacity_ml is not None:
            held[i] = 1.035 * form.capacity_ml  # brimful over nominal: 2 to 7 %, from memory
            spread[i] = 0.03
    return held, spread


Maker = Callable[[str, float | None, bool, FormBank, Setting], Row]
ACROSS: dict[str, Callable[[FormBank], FloatArray]] = {
    "lip_diameter": lip_widths,
    "bore": bores,
    "neck_diameter": neck_widths,
    "base_diameter": base_widths,
    "body_width": body_widths,
    "body_depth": body_depths,
}
LOOSE_SHAPE = {  # how much of the drawing's error a width at this place carries
    "lip_diameter": 0.5,
    "bore": 0.5,
    "neck_diameter": 0.6,
    "base_diameter": 0.8,
    "body_width": 0.5,
    "body_depth": 0.6,
}
ROWS: dict[str, Maker] = {
    "height": _height,
    "girth": _girth,
    "cover_thickness": _cover_thickness,
    "capacity": _capacity,
    "weight": _weight,
    "tone": _tone,
    **dict.fromkeys(ACROSS, _across),
}

__all__ = ["ROWS", "Row", "Setting", "predict", "row_for"]

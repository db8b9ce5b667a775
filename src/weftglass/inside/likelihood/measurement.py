"""What each form lets a tape, calliper, balance or ear read, as linear rows in the unknowns with what they share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Covering, Measurement
from weftglass.inside.bank import FormBank, looked_up
from weftglass.inside.cover import UNEVENNESS, CoverPrior
from weftglass.inside.covering_mass import fibre_g_per_ml, stopper_g
from weftglass.inside.glass import Glass, glass_of, tones_of
from weftglass.inside.state import ABOVE, BELOW, DEEPENING, STRETCH, THICKNESS, WIDENING
from weftglass.vessels import CONTAINER_GLASS_G_PER_ML
from weftglass.vessels.air import MODEL_SD, PER_BORE, PER_HEIGHT, PER_MASS, PER_WIDTH

FloatArray = NDArray[np.float64]

SPREAD = {  # relative sd between two vessels of one form beyond the form's own width tolerance; from memory
    "lip_diameter": 0.03,
    "bore": 0.02,
    "neck_diameter": 0.025,
    "base_diameter": 0.01,
    "body_width": 0.003,
    "body_depth": 0.006,
    "girth": 0.003,
}
LOOSE_SHAPE = {  # how much of the drawing's error a width at this place carries
    "lip_diameter": 0.5,
    "neck_diameter": 0.6,
    "base_diameter": 0.8,
    "body_width": 0.5,
    "body_depth": 0.6,
}
GLASS_WEIGHT, COVERING_WEIGHT = "glass weight", "covering weight"  # foretold, never measured by themselves
OWN_GLASS, FORMS_GLASS, BORE = "glass of this vessel", "glass of the form", "bore of this vessel"  # shared by readings


@dataclass(frozen=True, eq=False)
class Row:
    """
    Prediction of a reading with all unknowns 0, (F, K), and its slope, (F, K, p).

    ``errors`` holds standard deviations, (F, K), of what the model leaves open, by what they come from: two readings
    that name the same source miss together.
    """

    predicted: FloatArray
    slope: FloatArray
    errors: dict[str, FloatArray]

    @property
    def variance(self) -> FloatArray:
        """Variance of all that is left open, (F, K)."""
        return np.asarray(sum(sd**2 for sd in self.errors.values()) + np.zeros_like(self.predicted))


@dataclass(frozen=True, eq=False)
class Setting:
    """
    What a prediction needs besides the form.

    Attributes
    ----------
    cover : CoverPrior
        Thickness classes.
    size : int
        Number of unknowns.
    top_bare, base_bare : bool
        How lip and base stand.
    covering : Covering
        What it is made of, for its weight.
    closure : str or None
        What closes the mouth, for its weight.
    exact : bool
        Whether tones are worth the waveguide.
    """

    cover: CoverPrior
    size: int
    top_bare: bool
    base_bare: bool
    covering: Covering = field(default_factory=Covering)
    closure: str | None = None
    exact: bool = True

    def blank(self, bank: FormBank) -> FloatArray:
        """A slope of zeros, (F, K, p)."""
        return np.zeros((len(bank), len(self.cover.mean_mm), self.size))

    def wide(self, values: FloatArray) -> FloatArray:
        """Figures of the forms, (F,), for every thickness class, (F, K)."""
        return np.broadcast_to(values[:, None], (len(values), len(self.cover.mean_mm)))

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


@dataclass(frozen=True, eq=False)
class _Taken:
    """One reading freed of what it shares with the readings before it."""

    errors: dict[str, FloatArray]
    residual: FloatArray
    slope: FloatArray
    variance: FloatArray
    earlier: tuple[tuple[int, FloatArray], ...]


@dataclass(frozen=True, eq=False)
class Chain:
    """Readings of one piece, each freed of what it shares with those before it, and what the next one would be."""

    bank: FormBank
    setting: Setting
    taken: tuple[_Taken, ...] = ()

    @classmethod
    def of(cls, measurements: Sequence[Measurement], bank: FormBank, setting: Setting) -> Chain:
        """
        Take readings in one after another.

        Raises
        ------
        ValueError
            A kind that no form says anything about.
        """
        chain = cls(bank, setting)
        for measurement in measurements:
            chain = replace(chain, taken=(*chain.taken, chain._next(measurement)))
        return chain

    def rows(self) -> Iterator[tuple[FloatArray, FloatArray, FloatArray]]:
        """Residual (F, K), slope (F, K, p) and variance (F, K) of each reading for a `State`."""
        for one in self.taken:
            yield one.residual, one.slope, one.variance

    def after(self, measurement: Measurement) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The same of one more reading."""
        one = self._next(measurement)
        return one.residual, one.slope, one.variance

    def _next(self, measurement: Measurement) -> _Taken:
        row = predict(measurement.what, measurement.z_mm, measurement.covered, self.bank, self.setting)
        if row is None:
            raise ValueError(measurement.what)
        return _freed(row, measurement, self.taken)


def measured_rows(
    measurements: Sequence[Measurement], bank: FormBank, setting: Setting
) -> Iterator[tuple[FloatArray, FloatArray, FloatArray]]:
    """
    Residual (F, K), slope (F, K, p) and variance (F, K) of each measurement for a `State`.

    What two readings share (the glass of this one vessel makes it heavier and holds less; one lip measured twice errs
    twice the same) is taken out by conditioning each row on those before it, so the rows are independent and their
    densities multiply to that of the joint normal law.
    """
    return Chain.of(measurements, bank, setting).rows()


def _freed(row: Row, measurement: Measurement, before: Sequence[_Taken]) -> _Taken:
    """One step of the LDL' factorisation of the readings' shared covariance (Golub & Van Loan 2013, section 4.1)."""
    residual, slope = measurement.value - row.predicted, row.slope
    variance = row.variance + measurement.sd**2
    earlier: list[tuple[int, FloatArray]] = []
    for j, other in enumerate(before):
        shared = set(row.errors) & set(other.errors)
        chain = [(share, gain) for k, share in earlier for i, gain in other.earlier if i == k]
        if not shared and not chain:
            continue
        both = sum(row.errors[name] * other.errors[name] for name in sorted(shared)) + np.zeros_like(variance)
        for share, gain in chain:
            both = both - share * gain
        gain = both / other.variance
        residual = residual - gain * other.residual
        slope = slope - gain[..., None] * other.slope
        variance = variance - gain * both
        earlier.append((j, both))
    gains = tuple((j, both / before[j].variance) for j, both in earlier)
    return _Taken(row.errors, residual, slope, np.maximum(variance, 1e-9), gains)


def _height(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    whole = bank.heights[:, None] + setting.base_mm()[None, :] + setting.top_mm()[None, :]
    slope = setting.blank(bank)
    slope[..., STRETCH] = bank.heights[:, None]
    slope[..., BELOW] = 1.0
    slope[..., ABOVE] = 1.0
    return Row(whole, slope, {what: np.full_like(whole, 0.2)})


def _across(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass = setting.wide(ACROSS[what](glass_of(bank)))
    slope = setting.blank(bank)
    slope[..., WIDENING] = glass * (1.0 if what != "bore" else 0.5)
    slope[..., DEEPENING] = glass if what == "body_depth" else 0.0
    if what == "bore":
        return Row(glass, slope, {BORE: np.hypot(setting.wide(glass_of(bank).bore_sd), SPREAD[what]) * glass})
    errors = {what: np.hypot(SPREAD[what] * glass, 2.0 * LOOSE_SHAPE[what] * bank.shape_sd[:, None])}
    if not covered:
        return Row(glass, slope, errors)
    slope[..., THICKNESS] = 2.0
    local = np.sqrt(2.0) * UNEVENNESS * setting.cover.mean_mm  # two sides, each with its own unevenness
    errors[f"covering at {what}"] = np.broadcast_to(local[None, :], glass.shape)
    return Row(glass + 2.0 * setting.cover.mean_mm[None, :], slope, errors)


def _girth(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    share = ((z_mm or 0.0) - setting.base_mm()[None, :]) / bank.heights[:, None]
    glass = np.stack([looked_up(bank.girth, share[:, [k]])[:, 0] for k in range(share.shape[1])], axis=1)
    slope = setting.blank(bank)
    slope[..., WIDENING] = glass
    slope[..., DEEPENING] = 0.5 * glass
    where = f"girth at {z_mm or 0.0:.0f}"
    errors = {where: np.hypot(SPREAD[what] * glass, 2 * np.pi * 0.5 * bank.shape_sd[:, None])}
    if not covered:
        return Row(glass, slope, errors)
    slope[..., THICKNESS] = 2 * np.pi
    local = 2 * np.pi * 0.5 * UNEVENNESS * setting.cover.mean_mm  # averaged round the piece
    errors[f"covering at {z_mm or 0.0:.0f}"] = np.broadcast_to(local[None, :], glass.shape)
    return Row(glass + 2 * np.pi * setting.cover.mean_mm[None, :], slope, errors)


def _cover_thickness(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    mean = np.broadcast_to(setting.cover.mean_mm[None, :], (len(bank), len(setting.cover.mean_mm)))
    slope = setting.blank(bank)
    slope[..., THICKNESS] = 1.0
    return Row(mean, slope, {f"{what} at {z_mm or 0.0:.0f}": np.hypot(UNEVENNESS * mean, 0.1)})


def _capacity(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass = glass_of(bank)
    slope = setting.blank(bank)
    slope[..., STRETCH] = glass.outer_ml[:, None]  # outer volume = capacity + glass mass / density
    slope[..., WIDENING] = 2.0 * glass.outer_ml[:, None]
    slope[..., DEEPENING] = glass.outer_ml[:, None]
    forms = np.where(glass.capacity_listed, 0.0, glass.weight_sd_g)
    errors = {
        what: setting.wide(glass.capacity_sd_ml),
        OWN_GLASS: setting.wide(-glass.own_weight_sd_g / CONTAINER_GLASS_G_PER_ML),
        FORMS_GLASS: setting.wide(-forms / CONTAINER_GLASS_G_PER_ML),
    }
    return Row(setting.wide(glass.capacity_ml), slope, errors)


def _weight(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass = _glass_weight(what, z_mm, covered, bank, setting)
    fibre = _covering_weight(what, z_mm, covered, bank, setting)
    stopper, stopper_sd = stopper_g(setting.closure)
    whole = glass.predicted + fibre.predicted + stopper
    errors = {**glass.errors, **fibre.errors, "weight of the stopper": np.full_like(whole, stopper_sd)}
    return Row(whole, fibre.slope, errors)


def _glass_weight(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass = glass_of(bank)
    errors = {OWN_GLASS: setting.wide(glass.own_weight_sd_g), FORMS_GLASS: setting.wide(glass.weight_sd_g)}
    return Row(setting.wide(glass.weight_g), setting.blank(bank), errors)


def _covering_weight(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    area = glass_of(bank).area_mm2
    density, density_sd = fibre_g_per_ml(setting.covering)
    fibre = area[:, None] * setting.cover.mean_mm[None, :] * density / 1000.0
    slope = setting.blank(bank)
    slope[..., THICKNESS] = (area * density / 1000.0)[:, None]
    return Row(fibre, slope, {"weight of the covering": density_sd * fibre})


def _tone(what: str, z_mm: float | None, covered: bool, bank: FormBank, setting: Setting) -> Row:
    glass = glass_of(bank)
    tone, computed_sd = tones_of(bank, exact=setting.exact)
    slope = setting.blank(bank)
    slope[..., STRETCH] = (PER_HEIGHT * tone)[:, None]
    slope[..., WIDENING] = (PER_WIDTH * tone)[:, None]
    drawn = PER_WIDTH * 0.5 * bank.shape_sd / (0.5 * glass.width)
    own = np.sqrt(MODEL_SD**2 + drawn**2 + computed_sd**2)
    errors = {
        what: setting.wide(own * tone),
        OWN_GLASS: setting.wide(PER_MASS * glass.own_weight_sd_g / glass.weight_g * tone),
        FORMS_GLASS: setting.wide(PER_MASS * glass.weight_sd_g / glass.weight_g * tone),
        BORE: setting.wide(PER_BORE * glass.bore_sd * tone),
    }
    return Row(setting.wide(tone), slope, errors)


Maker = Callable[[str, float | None, bool, FormBank, Setting], Row]
ACROSS: dict[str, Callable[[Glass], FloatArray]] = {
    "lip_diameter": lambda glass: glass.lip,
    "bore": lambda glass: glass.bore,
    "neck_diameter": lambda glass: glass.neck,
    "base_diameter": lambda glass: glass.base,
    "body_width": lambda glass: glass.width,
    "body_depth": lambda glass: glass.depth,
}
ROWS: dict[str, Maker] = {
    "height": _height,
    "girth": _girth,
    "cover_thickness": _cover_thickness,
    "capacity": _capacity,
    "weight": _weight,
    "tone": _tone,
    GLASS_WEIGHT: _glass_weight,
    COVERING_WEIGHT: _covering_weight,
    **dict.fromkeys(ACROSS, _across),
}

__all__ = ["COVERING_WEIGHT", "GLASS_WEIGHT", "ROWS", "Chain", "Row", "Setting", "measured_rows", "predict"]

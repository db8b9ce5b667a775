"""What the glass of every form weighs, holds and sounds like: worked out once for a bank and kept with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.bank import STEPS, FormBank
from weftglass.vessels import CONTAINER_GLASS_G_PER_ML, Form
from weftglass.vessels.air import BORE_SD_BLOWN, BORE_SD_MACHINE, BORE_SD_UNKNOWN, MACHINE_HEIGHT_SD, ROOM, form_tones
from weftglass.vessels.drafting import BRIM_OVER_NOMINAL, PUSH_UP_SHARE
from weftglass.vessels.interior import NECK, NECK_ENDS, UNKNOWN_WEIGHT_G_PER_ML

FloatArray = NDArray[np.float64]

BORE_SHARE = 0.58  # bore over outer lip diameter of corked finishes; middle of published finish tables
OWN_WEIGHT_SD = 0.08  # relative sd between the masses of two vessels of one form; from memory
UNKNOWN_WEIGHT_SD = 0.28  # relative sd of glass weight guessed from capacity when a form lists none; working figure
BRIM_SD = 0.03  # relative sd of brimful over nominal capacity, 2 to 7 %; from memory
OUTER_SD = 0.025  # relative sd of an outer volume read from a drawing; as in `weftglass.vessels.interior`
EXACT_TONES = 64  # forms of a bank up to which each tone comes from the waveguide; larger banks take the lumped tone
LUMPED_OVER, LUMPED_SD = 1.03, 0.07  # lumped tone over the waveguide's, and relative sd; starter library
BLOCK = 8192  # forms worked out together, so that a million need little memory
MOUTH_RADII = 0.70  # end correction outside, bore radii: 0.61 for a thin lip to 0.82 for a flange

_kept: WeakKeyDictionary[FormBank, Glass] = WeakKeyDictionary()
_lumped: WeakKeyDictionary[FormBank, FloatArray] = WeakKeyDictionary()
_tones: WeakKeyDictionary[Form, float] = WeakKeyDictionary()


@dataclass(frozen=True, eq=False)
class Glass:
    """
    Figures of F forms, (F,) each; masses in g, volumes in ml, lengths in mm, areas in mm².

    Attributes
    ----------
    outer_ml : array
        Volume inside the outer wall, the push-up's hollow taken off: capacity plus glass.
    area_mm2 : array
        Outer wall and base.
    weight_g, weight_sd_g : array
        Empty glass of the form, and how well the form's own mean is known.
    own_weight_sd_g : array
        Between two vessels of the form.
    capacity_ml, capacity_sd_ml : array
        Brimful, and its standard deviation beyond what the glass and the size of one vessel do to it.
    capacity_listed : array of bool
        Whether the form lists its capacity, or it follows from outer volume and glass.
    lip, neck, base, width, depth, bore : array
        Diameters.
    bore_sd : array
        Relative.
    """

    outer_ml: FloatArray
    area_mm2: FloatArray
    weight_g: FloatArray
    weight_sd_g: FloatArray
    own_weight_sd_g: FloatArray
    capacity_ml: FloatArray
    capacity_sd_ml: FloatArray
    capacity_listed: NDArray[np.bool_]
    lip: FloatArray
    neck: FloatArray
    base: FloatArray
    width: FloatArray
    depth: FloatArray
    bore: FloatArray
    bore_sd: FloatArray


def glass_of(bank: FormBank) -> Glass:
    """The figures of a bank's forms; computed at the first call and kept as long as the bank."""
    found = _kept.get(bank)
    if found is None:
        blocks = [_worked_out(block) for block in _blocks(bank)]
        columns = [np.concatenate([getattr(block, item.name) for block in blocks]) for item in fields(Glass)]
        found = Glass(*columns)
        _kept[bank] = found
    return found


def _blocks(bank: FormBank) -> Iterator[FormBank]:
    if len(bank) <= BLOCK:
        yield bank
        return
    for first in range(0, len(bank), BLOCK):
        yield bank.part(np.arange(first, min(first + BLOCK, len(bank)), dtype=np.int64))


def _worked_out(bank: FormBank) -> Glass:
    lightest = bank.listed(lambda form: form.weight_g[0] if form.weight_g else None)
    heaviest = bank.listed(lambda form: form.weight_g[1] if form.weight_g else None)
    nominal = bank.listed(lambda form: form.capacity_ml)
    listed_bore = bank.listed(lambda form: form.bore_mm)
    area, outer = wall_areas(bank), outer_volumes(bank) - _hollows(bank)
    brim = BRIM_OVER_NOMINAL * nominal
    weight, weight_sd = _weights(np.column_stack([lightest, heaviest]), outer, brim)
    holds = np.maximum(outer - weight / CONTAINER_GLASS_G_PER_ML, 0.02 * outer)
    drawn = 0.5 * bank.shape_sd * area / 1000.0
    lip = 2.0 * bank.front[:, -STEPS // 20 :].max(axis=1)
    blown = np.where(bank.height_sd > MACHINE_HEIGHT_SD, BORE_SD_BLOWN, BORE_SD_MACHINE)
    return Glass(
        outer,
        area,
        weight,
        weight_sd,
        OWN_WEIGHT_SD * weight,
        np.where(np.isnan(brim), holds, brim),
        np.where(np.isnan(brim), np.hypot(0.01 * outer, drawn), BRIM_SD * brim),
        ~np.isnan(brim),
        lip,
        2.0 * bank.front[:, int(0.55 * STEPS) : int(0.985 * STEPS)].min(axis=1),
        2.0 * bank.front[:, : STEPS // 12].max(axis=1),
        2.0 * bank.front.max(axis=1),
        2.0 * bank.side.max(axis=1),
        np.where(np.isnan(listed_bore), BORE_SHARE * lip, listed_bore),
        np.where(np.isnan(listed_bore), BORE_SD_UNKNOWN, blown),
    )


def _weights(listed: FloatArray, outer: FloatArray, brim: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Mean and sd of each form's glass: as listed, rows of (low, high), and by outer volume less capacity."""
    guess = outer * UNKNOWN_WEIGHT_G_PER_ML / (1 + UNKNOWN_WEIGHT_G_PER_ML / CONTAINER_GLASS_G_PER_ML)
    left = CONTAINER_GLASS_G_PER_ML * (outer - brim)
    left_sd = CONTAINER_GLASS_G_PER_ML * np.hypot(BRIM_SD * brim, OUTER_SD * outer)
    middle = listed.mean(axis=1)
    middle_sd = np.maximum((listed[:, 1] - listed[:, 0]) / 3.3, 0.04 * middle)
    precision = np.nan_to_num(1 / left_sd**2) + np.where(
        np.isnan(middle), 1 / (UNKNOWN_WEIGHT_SD * guess) ** 2, np.nan_to_num(1 / middle_sd**2)
    )
    told = np.nan_to_num(left / left_sd**2) + np.where(
        np.isnan(middle), guess / (UNKNOWN_WEIGHT_SD * guess) ** 2, np.nan_to_num(middle / middle_sd**2)
    )
    most = 0.9 * CONTAINER_GLASS_G_PER_ML * outer
    return np.clip(told / precision, 0.02 * most, most), np.sqrt(1 / precision)


def wall_areas(bank: FormBank) -> FloatArray:
    """Area of the outer wall and the base, mm², (F,)."""
    step = bank.heights / STEPS
    middle = 0.5 * (bank.girth[:, 1:] + bank.girth[:, :-1])
    along = np.hypot(np.diff(bank.front, axis=1), step[:, None])
    return np.asarray((middle * along).sum(axis=1) + np.pi * bank.front[:, 0] * bank.side[:, 0])


def section_factors(bank: FormBank) -> FloatArray:
    """Area of each body's section over half-width times half-depth, (F,): pi for round, 4 for a sharp square."""
    factor = np.full(len(bank), np.pi)
    for i in np.flatnonzero(~bank.is_round):
        widest = int(bank.front[i].argmax())
        a, b = bank.front[i, widest], bank.side[i, widest]
        factor[i] = float(bank.forms[i].section.area_mm2(a, b)) / (a * b)
    return factor


def outer_volumes(bank: FormBank) -> FloatArray:
    """Volume inside the outer wall, ml, (F,): round and oval exact to the table, others by their body's plan."""
    section = bank.front * bank.side
    mean = 0.5 * (section[:, 1:] + section[:, :-1]).sum(axis=1)
    return np.asarray(section_factors(bank) * mean * bank.heights / STEPS / 1000.0)


def _hollows(bank: FormBank) -> FloatArray:
    """Volume of each push-up, ml, (F,): a cone, as in `weftglass.vessels.interior`."""
    push = np.minimum(np.nan_to_num(bank.listed(lambda form: form.push_up_mm)), 0.5 * bank.heights)
    slim = np.minimum(bank.front.max(axis=1), bank.side.max(axis=1))
    return np.asarray(np.pi / 3 * (PUSH_UP_SHARE * slim) ** 2 * push / 1000.0)


def tones_of(bank: FormBank, *, exact: bool = True) -> tuple[FloatArray, FloatArray]:
    """
    Tone of a vessel of each form at 20 °C and 50 %, Hz, and the relative sd of how it was computed, (F,) each.

    Parameters
    ----------
    bank : FormBank
    exact : bool
        Up to 64 forms by the waveguide through each form's own inside, kept form by form; False, or a larger bank: the
        lumped tone, good enough to find the survivors.
    """
    if not exact or len(bank) > EXACT_TONES:
        found = _lumped.get(bank)
        if found is None:
            found = np.concatenate([lumped_tones(block) for block in _blocks(bank)])
            _lumped[bank] = found
        return found, np.full(len(bank), LUMPED_SD)
    forms = tuple(bank.forms)
    unknown = [form for form in forms if form not in _tones]
    for form, tone in zip(unknown, form_tones(unknown), strict=True):
        _tones[form] = float(tone)
    tones = np.array([_tones[form] for form in forms])
    lost = np.isnan(tones)
    return (np.where(lost, lumped_tones(bank), tones), 3 * LUMPED_SD * lost) if lost.any() else (tones, 0.0 * tones)


def lumped_tones(bank: FormBank) -> FloatArray:
    """
    Tone of each form by one spring and one mass, Hz, (F,).

    Rayleigh's quotient with the flow at each height taken as the volume below it: right where the body's air is
    squeezed evenly (Rayleigh, Theory of Sound, sections 88 and 304); brought down by its median error.
    """
    glass = glass_of(bank)
    wall = 1000.0 * glass.weight_g / CONTAINER_GLASS_G_PER_ML / glass.area_mm2
    inside, deep = (_with_bore(side - wall[:, None], 0.5 * glass.bore) for side in (bank.front, bank.side))
    area = section_factors(bank)[:, None] * inside * deep
    step = (bank.heights / STEPS)[:, None]
    slices = 0.5 * (area[:, 1:] + area[:, :-1]) * step
    below = np.cumsum(slices, axis=1) / slices.sum(axis=1, keepdims=True)
    inertance = (below**2 * step / np.sqrt(area[:, 1:] * area[:, :-1])).sum(axis=1)
    inertance += MOUTH_RADII / (np.pi * 0.5 * glass.bore)
    volume = 1000.0 * glass.capacity_ml
    return np.asarray(1000.0 * ROOM.speed_m_s / (2 * np.pi) / np.sqrt(volume * inertance) / LUMPED_OVER)


def _with_bore(inside: FloatArray, half_bore: FloatArray) -> FloatArray:
    """Inside half-widths brought to the bore in the neck, straight from the neck's narrowest to the mouth, (F, n)."""
    low, high = int(NECK[0] * STEPS), int(NECK[1] * STEPS)
    inside = np.maximum(inside, 0.3 * half_bore[:, None])
    narrow = inside[:, low:high].min(axis=1, keepdims=True)
    fade = np.clip((NECK_ENDS * narrow - inside) / ((NECK_ENDS - 1.0) * narrow), 0.0, 1.0)
    fade[:, :low] = 0.0
    fitted = inside + (half_bore[:, None] - narrow) * fade
    above = np.arange(inside.shape[1])[None, :] >= low + inside[:, low:high].argmin(axis=1)[:, None]
    return np.where(above, half_bore[:, None], fitted)

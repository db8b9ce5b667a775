"""Vessels measured by an invented owner: tone, bore and neck read with errors, with and without dry fills."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.tone import Capacity, Fill, capacity_from_tone
from weftglass.vessels import Form
from weftglass.vessels.air import air_tones
from weftglass.vessels.interior import LEVELS, Interior, interior_of

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Reading:
    """What the owner finds, and the truth."""

    form: str
    capacity_ml: float
    found: Capacity


def neck_by_tape(form: Form, swell: float) -> float:
    """Length from the lip to where the outside is wider than the neck by a share, mm; 0 where it has no neck."""
    z = np.linspace(0.0, form.profile.height_mm, 1500)
    width = form.profile.half_width_at(z)
    upper = np.flatnonzero((z > 0.5 * z[-1]) & (z < 0.97 * z[-1]))
    narrowest = upper[int(width[upper].argmin())]
    below = np.flatnonzero(width[:narrowest] > (1 + swell) * width[narrowest])
    return float(z[-1] - z[below[-1]]) if below.size else 0.0


def filled(interior: Interior, fill_ml: float) -> Interior:
    """The room left over a dry fill that lies level."""
    step = np.diff(interior.z_mm)
    below = np.concatenate([[0.0], np.cumsum(0.5 * (interior.area_mm2[1:] + interior.area_mm2[:-1]) * step)]) / 1000.0
    level = float(np.interp(fill_ml, below, interior.z_mm))
    z = np.linspace(level, float(interior.z_mm[-1]), LEVELS)
    area = np.interp(z, interior.z_mm, interior.area_mm2)
    edge = np.interp(z, interior.z_mm, interior.edge_mm)
    return Interior(z, area, edge, interior.lip_half_width_mm)


def read(form: Form, fills: int, rng: np.random.Generator) -> Reading | None:
    """
    One vessel of a form as its owner measures it; None where it has no neck to read.

    Bore by callipers within 0.4 mm, neck by tape to where it seems to swell (10 to 100 % wider, by temper) within 2 mm,
    all pitches shifted together by blowing (1.5 %), each read within 0.3 %; fills known to 1 %.
    """
    neck = neck_by_tape(form, float(np.exp(rng.uniform(np.log(0.1), 0.0))))
    if neck < 5 or form.weight_g is None:
        return None
    mass = 0.5 * sum(form.weight_g) * (1 + 0.08 * rng.standard_normal())
    bore = (form.bore_mm or 18.0) * (1 + 0.04 * rng.standard_normal())
    inside = interior_of(form, weight_g=mass, bore_mm=bore)
    held = np.sort(rng.uniform(0.15, 0.7, fills)) * inside.capacity_ml
    rooms = [inside, *(filled(inside, volume) for volume in held)]
    shift = 1 + 0.015 * rng.standard_normal()
    tones = air_tones(rooms) * shift * (1 + 0.003 * rng.standard_normal(fills + 1))
    told = held * (1 + 0.01 * rng.standard_normal(fills))
    known = [Fill(float(v), float(hz), 0.003 * float(hz)) for v, hz in zip(told, tones[1:], strict=True)]
    own = inside.bore_mm + 0.4 * rng.standard_normal()
    tape = max(neck + 2.0 * rng.standard_normal(), 1.0)
    hz = float(tones[0])
    found = capacity_from_tone(hz, 0.0155 * hz, own, tape, fills=known, reading_sd_hz=0.003 * hz)
    return Reading(form.id, inside.capacity_ml, found)

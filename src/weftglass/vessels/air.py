"""
The lowest tone of the air in a vessel, from the shape of its inside.

The inside is a row of short pieces of tube from the closed floor to the open mouth; each passes pressure and flow on by
a transfer matrix with the losses of heat and friction at the wall. The tone is where the mouth's reactance, that of the
inside and that of the air outside together, is nought.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.vessels.atmosphere import HEAT_RATIO, PRANDTL, Atmosphere
from weftglass.vessels.form import Form
from weftglass.vessels.interior import Interior, interior_of

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

PIECES = 64
BATCH = 256  # vessels worked on together
UNFLANGED, FLANGED = 0.6133, 0.8216  # end corrections in bore radii: Levine & Schwinger 1948; Norris & Sheng 1989
ROOM = Atmosphere()
PER_BORE, PER_HEIGHT, PER_WIDTH, PER_MASS = (
    0.76,
    -1.05,
    -1.06,
    0.12,
)  # tone per cent by per cent; starter library medians
BORE_SD_MACHINE, BORE_SD_BLOWN, BORE_SD_UNKNOWN = 0.02, 0.05, 0.12  # relative; working figures, no source
MACHINE_HEIGHT_SD = 0.008  # a form that keeps its height so well is machine-made
MODEL_SD = 0.01  # relative; waveguide against finite elements


def air_tone(interior: Interior, atmosphere: Atmosphere = ROOM) -> float:
    """
    Lowest resonance of the air in one vessel, open at the mouth.

    Parameters
    ----------
    interior : Interior
        The inner face.
    atmosphere : Atmosphere
        Default 20 °C, 50 %, 1013.25 hPa.

    Returns
    -------
    float
        Hz. See `air_tones`.

    Examples
    --------
    >>> from weftglass.vessels import Profile
    >>> tube = Interior.of_round(Profile.of([[0, 10], [400, 10]]))    # a stopped pipe: a quarter of a wave
    >>> round(air_tone(tube), 0)
    209.0
    """
    return float(air_tones([interior], atmosphere)[0])


def air_tones(interiors: Sequence[Interior], atmosphere: Atmosphere = ROOM) -> FloatArray:
    """
    Lowest resonance of the air in each vessel, Hz, (n,).

    Parameters
    ----------
    interiors : sequence of Interior, length n
        Inner faces, all with the same number of levels.
    atmosphere : Atmosphere
        Default 20 °C, 50 %, 1013.25 hPa.

    Notes
    -----
    Plane waves with the wall's losses after Zwikker and Kosten [1]_, in the expansion for tubes much wider than the
    boundary layer (Keefe [2]_); where the inside widens, the inertance of the cone's wave front, at a flat
    shoulder that of the flange, in place of the plane one's. The
    mouth is between the thin-walled and the flanged pipe, by the width of its lip [3]_, [4]_. Within 2 % of
    finite-element solutions for the starter library (`benchmarks/tone_accuracy.py`).

    References
    ----------
    .. [1] Zwikker & Kosten (1949), Sound Absorbing Materials, chapter 2.
    .. [2] Keefe (1984), Acoustical wave propagation in cylindrical ducts, J. Acoust. Soc. Am. 75, 58-62.
    .. [3] Levine & Schwinger (1948), On the radiation of sound from an unflanged circular pipe, Phys. Rev. 73, 383-406.
    .. [4] Dalmont, Nederveen & Joly (2001), Radiation impedance of tubes with different flanges, J. Sound Vib. 244,
       505-534 (formula for the circular flange from memory).
    """
    found = np.empty(len(interiors))
    for first in range(0, len(interiors), BATCH):
        pipes = _Pipes.of(interiors[first : first + BATCH])
        found[first : first + BATCH] = _lowest(pipes, atmosphere)
    return found


def form_tones(forms: Sequence[Form], atmosphere: Atmosphere = ROOM) -> FloatArray:
    """
    Tone of a vessel of each form, empty and open, Hz, (n,); not a number where a form's glass would fill it.

    Parameters
    ----------
    forms : sequence of Form, length n
        Each through its own inside: see `weftglass.vessels.interior.interior_of`.
    atmosphere : Atmosphere
        Default 20 °C, 50 %, 1013.25 hPa.

    Examples
    --------
    >>> from weftglass.vessels import FormLibrary
    >>> claret = FormLibrary.starter()["wine-bordeaux-mod"]
    >>> float(form_tones([claret])[0].round()), round(tone_spread(claret), 3)
    (99.0, 0.056)
    """
    found = np.full(len(forms), np.nan)
    insides = {}
    for i, form in enumerate(forms):
        try:
            insides[i] = interior_of(form)
        except InputError:
            continue
    if insides:
        found[list(insides)] = air_tones(list(insides.values()), atmosphere)
    return found


def tone_spread(form: Form) -> float:
    """
    Relative standard deviation of the tone of one vessel about `form_tones`.

    From the form's tolerance in height, width and drawing, the bore's own spread, the mass and the waveguide's error;
    the weather and the way of sounding come on top.

    Parameters
    ----------
    form : Form
        Its tolerance, bore and mass are used.
    """
    tolerance = form.tolerance
    bore = BORE_SD_BLOWN if tolerance.height_sd > MACHINE_HEIGHT_SD else BORE_SD_MACHINE
    bore = BORE_SD_UNKNOWN if form.bore_mm is None else bore
    drawn = 0.5 * tolerance.shape_sd_mm / form.profile.widest_mm
    mass = 0.1 if form.weight_g is not None or form.capacity_ml is not None else 0.3
    shares = (
        PER_BORE * bore,
        PER_HEIGHT * tolerance.height_sd,
        PER_WIDTH * np.hypot(tolerance.width_sd, drawn),
        PER_MASS * mass,
        MODEL_SD,
    )
    return float(np.linalg.norm(shares))


@dataclass(frozen=True, eq=False)
class _Pipes:
    """Vessels as pieces from the floor up, SI units, (n, PIECES), and their mouths, (n,)."""

    volume: FloatArray
    mass: FloatArray  # length over area of each piece, 1/m: times density it is the inertance
    wall: FloatArray
    mouth_radius: FloatArray
    lip_radius: FloatArray

    @classmethod
    def of(cls, interiors: Sequence[Interior]) -> _Pipes:
        z = np.stack([interior.z_mm for interior in interiors]) / 1e3
        area = np.stack([interior.area_mm2 for interior in interiors]) / 1e6
        edge = np.stack([interior.edge_mm for interior in interiors]) / 1e3
        radius = np.sqrt(area / np.pi)
        step = np.diff(z, axis=1)
        r1, r2 = radius[:, :-1], radius[:, 1:]
        slant = np.sqrt(1.0 + ((r2 - r1) / step) ** 2)
        volume = step * np.pi / 3 * (r1 * r1 + r1 * r2 + r2 * r2)
        mass = step / (np.pi * r1 * r2) * (1.0 + (slant - 1.0) * _spreading(slant))
        wall = step * slant * 0.5 * (edge[:, :-1] + edge[:, 1:])
        wall[:, 0] += area[:, 0]
        group = np.linspace(0, step.shape[1], PIECES + 1).round().astype(int)[:-1]
        pieces = [np.add.reduceat(values, group, axis=1) for values in (volume, mass, wall)]
        lips = np.array([interior.lip_half_width_mm for interior in interiors]) / 1e3
        return cls(pieces[0], pieces[1], pieces[2], radius[:, -1], lips)

    def reactance(self, omega: FloatArray, air: Atmosphere) -> FloatArray:
        """Angular frequency times the reactance at the mouth, inside and outside together, (n,)."""
        density, speed = air.density_kg_m3, air.speed_m_s
        layer = np.sqrt(1j * omega[:, None] * density / air.viscosity_pa_s)
        half = 2.0 * self.volume / self.wall  # the radius of a round tube with the same wall to volume
        series = 1j * omega[:, None] * density * self.mass / (1.0 - _drag(half * layer))
        warmth = 1.0 + (HEAT_RATIO - 1.0) * _drag(half * layer * np.sqrt(PRANDTL))
        shunt = 1j * omega[:, None] * self.volume / (density * speed**2) * warmth
        product = series * shunt
        through = 1.0 + product / 2 + product**2 / 24
        over, under = series * (1.0 + product / 6), shunt * (1.0 + product / 6)
        pressure = np.ones(len(omega), dtype=np.complex128)
        flow = np.zeros(len(omega), dtype=np.complex128)
        for i in range(self.volume.shape[1]):
            pressure, flow = (
                through[:, i] * pressure + over[:, i] * flow,
                under[:, i] * pressure + through[:, i] * flow,
            )
        outside = omega * density * self.outside_length() / (np.pi * self.mouth_radius**2)
        return np.asarray(omega * ((pressure / flow).imag + outside))

    def outside_length(self) -> FloatArray:
        """Length of tube, m, as heavy as the air that moves outside the mouth."""
        share = np.clip(self.mouth_radius / self.lip_radius, 0.0, 1.0)
        blend = FLANGED + share * (UNFLANGED - FLANGED) + 0.057 * share * (1.0 - share**5)
        return np.asarray(blend * self.mouth_radius)


def _spreading(slant: FloatArray) -> FloatArray:
    """
    What a widening adds to the inertance, over the wall's extra length: 1/2 for a slender cone, more for a flat flange.

    A cone's spherical wave front gives (1 + slant) / 2 times the plane wave's inertance; at a flat shoulder it is the
    flange's end correction. Between them by the wall's angle: within 1 % of finite elements for the starter library.
    """
    return np.asarray(0.5 + (FLANGED - 0.5) * np.arccos(1.0 / slant) / (np.pi / 2))


def _drag(q: ComplexArray) -> ComplexArray:
    """2 I1(q) / (q I0(q)) for |q| well above 1 by the asymptotic series; error below 1e-4 for |q| > 6."""
    ratio = 1.0 - 1.0 / (2 * q) - 1.0 / (8 * q**2) - 1.0 / (8 * q**3)
    return np.asarray(2.0 * ratio / q)


def _lowest(pipes: _Pipes, air: Atmosphere) -> FloatArray:
    """
    Angular frequencies squared at which the reactance passes nought from below, by the Illinois rule; in Hz.

    Times the frequency the reactance is nearly straight in the frequency squared, so a few steps do.
    """
    heavy = pipes.mass.sum(axis=1) + pipes.outside_length() / (np.pi * pipes.mouth_radius**2)
    lumped = air.speed_m_s**2 / (heavy * pipes.volume.sum(axis=1))
    low, high = 0.6 * lumped, 1.6 * lumped
    below, above = pipes.reactance(np.sqrt(low), air), pipes.reactance(np.sqrt(high), air)
    for _ in range(12):
        off_low, off_high = below > 0, above < 0
        if not (off_low.any() or off_high.any()):
            break
        low, high = np.where(off_low, 0.6 * low, low), np.where(off_high, 1.15 * high, high)
        below, above = pipes.reactance(np.sqrt(low), air), pipes.reactance(np.sqrt(high), air)
    middle = low
    for _ in range(9):
        middle = (low * above - high * below) / (above - below)
        value = pipes.reactance(np.sqrt(middle), air)
        rising = value < 0
        low, below, above = (
            np.where(rising, middle, low),
            np.where(rising, value, 0.5 * below),
            np.where(rising, 0.5 * above, value),
        )
        high = np.where(rising, high, middle)
        if np.all(high - low < 1e-7 * middle) or np.all(np.abs(value) < 1e-9 * np.abs(above - below)):
            break
    return np.asarray(np.sqrt(middle) / (2 * np.pi))

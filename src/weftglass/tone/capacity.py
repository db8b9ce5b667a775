"""Capacity of a vessel from its tone: by bore and neck alone, or narrowed by known dry fills."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from weftglass.errors import InputError, Unfit
from weftglass.vessels.atmosphere import Atmosphere

FloatArray = NDArray[np.float64]

OUTER_RADII = 0.70  # end correction outside, bore radii: 0.61 for a thin lip to 0.82 for a flange
INNER_RADII = 0.65  # end correction inside, bore radii: 0.85 (1 - 1.25 bore / body), Ingard 1953, for a usual body
BORE_SD_MM, NECK_SD_MM = 0.4, 2.0  # callipers in a mouth, a tape on a neck; common practice, no source
SLENDER_FROM, SLENDER_SLOPE, SLENDER_LIMITS = 2.5, 0.055, (-0.05, 0.25)
GEOMETRY_SD = 0.15  # relative, of a capacity from bore and neck; see the notes of `capacity_from_tone`
FILL_MODEL_SD = 0.003  # relative, of a tone under a fill, beyond its reading; working figure
LEVEL_SD = 0.01  # relative, of a dry fill's volume
NECK_SHARE = (0.77, 0.2)  # of the neck's content that counts as not squeezed, mean and sd; starter library
BODY_SLENDERNESS, BEND_SD = 2.5, 0.56  # body's length over width in the usual bend, and sd of its logarithm; the same
NINETY = 1.6449
ROOM = Atmosphere()


@dataclass(frozen=True)
class Fill:
    """A known dry fill and the tone the vessel then has: ml and Hz, and the tone's standard deviation in Hz."""

    fill_ml: float
    tone_hz: float
    sd_hz: float


@dataclass(frozen=True)
class Capacity:
    """
    Brimful capacity from the tone.

    Parameters
    ----------
    capacity_ml, sd_ml : float or None
        Best value and standard deviation; None when nothing can be said.
    low_ml, high_ml : float or None
        An interval that holds the truth in 9 cases of 10.
    how : str
        What it rests on.
    reason : str or None
        Why there is none.
    """

    capacity_ml: float | None
    sd_ml: float | None
    low_ml: float | None = None
    high_ml: float | None = None
    how: str = ""
    reason: str | None = None

    def to_record(self) -> dict[str, Any]:
        """The capacity's part of the `weftglass tone --json` contract."""
        interval = None if self.low_ml is None or self.high_ml is None else [_tidy(self.low_ml), _tidy(self.high_ml)]
        return {
            "capacity_ml": _tidy(self.capacity_ml),
            "sd_ml": _tidy(self.sd_ml),
            "interval_90_ml": interval,
            "how": self.how or None,
        }


def resonator_capacity_ml(
    tone_hz: float,
    bore_mm: float,
    neck_length_mm: float,
    atmosphere: Atmosphere = ROOM,
    *,
    end_radii: float = OUTER_RADII + INNER_RADII,
) -> float | None:
    """
    Brimful capacity of a body with a straight neck.

    Parameters
    ----------
    tone_hz : float
        Above 0.
    bore_mm, neck_length_mm : float
        Inner diameter and length of the neck, mm.
    atmosphere : Atmosphere
        Default 20 °C, 50 %, 1013.25 hPa.
    end_radii : float
        Both end corrections together, in bore radii. With 0, and a short neck, this is Helmholtz's own formula.

    Returns
    -------
    float or None
        ml: the body's air, a spring, and the neck's content; None where so high a tone needs no body at all.

    Notes
    -----
    V = A / (k tan(k L')) + A L with wave number k and L' = L + end corrections; for k L' small the first term is
    A c² / (omega² L').

    Examples
    --------
    >>> round(resonator_capacity_ml(132.5, 19.544, 50, end_radii=0.0) - 15, -1)    # about a litre
    1020.0
    """
    area = math.pi * (bore_mm / 2000.0) ** 2
    k = 2 * math.pi * tone_hz / atmosphere.speed_m_s
    turn = k * (neck_length_mm / 1000.0 + end_radii * bore_mm / 2000.0)
    if turn >= math.pi / 2:
        return None
    return 1e6 * (area / (k * math.tan(turn)) + area * neck_length_mm / 1000.0)


def capacity_from_tone(
    tone_hz: float,
    sd_hz: float,
    bore_mm: float,
    neck_length_mm: float,
    atmosphere: Atmosphere = ROOM,
    fills: Sequence[Fill] = (),
    *,
    reading_sd_hz: float | None = None,
    bore_sd_mm: float = BORE_SD_MM,
    neck_sd_mm: float = NECK_SD_MM,
) -> Capacity:
    """
    Brimful capacity from the tone of the empty vessel.

    Parameters
    ----------
    tone_hz, sd_hz : float
        Of the empty vessel, above 0.
    bore_mm, neck_length_mm : float
        Inner diameter of the mouth, 1 to 500 mm; length of the neck by tape, from the lip to where the outside begins
        to swell, 0 to 1500 mm.
    atmosphere : Atmosphere
        Air of the room.
    fills : sequence of Fill
        Tones with known volumes of dry fill in it, if any.
    reading_sd_hz : float, optional
        Of the empty vessel's pitch as sounded, without what shifts all its pitches alike. Default: sd_hz.
    bore_sd_mm, neck_sd_mm : float
        Of the two readings, mm.

    Returns
    -------
    Capacity
        With no fill about 16 % sd; with one or two, 2 to 5 %.

    Raises
    ------
    InputError
        A number out of range; a fill that lowers the tone.

    Notes
    -----
    A neck's length by tape is not the length the air moves in: necks taper and open into the shoulder. Over the
    starter library, with necks read where they are 10 to 100 % wider than at their narrowest, true capacity over the
    formula's has a median that rises with the neck's slenderness, from 0.95 to 1.28, and scatters by 15 %; it is
    corrected by that median. Published bottles lie 17 to 33 % above the formula, inside the interval.
    Fills: 1 / f² = K (C - fill - share of the neck) (1 + bend (C - fill) / C) with K unknown, its prior from bore and
    neck; share and bend have priors from the starter library. What shifts all pitches of one vessel alike drops out,
    so there the reading's own uncertainty counts.
    """
    _check(tone_hz, sd_hz, bore_mm, neck_length_mm)
    raw = resonator_capacity_ml(tone_hz, bore_mm, neck_length_mm, atmosphere)
    if raw is None:
        reason = "so high a tone does not belong to a vessel with a neck that long: check tone, bore and neck"
        return Capacity(None, None, reason=reason)
    length = neck_length_mm + (OUTER_RADII + INNER_RADII) * bore_mm / 2
    slender = min(max(SLENDER_SLOPE * (neck_length_mm / bore_mm - SLENDER_FROM), SLENDER_LIMITS[0]), SLENDER_LIMITS[1])
    spread = math.hypot(GEOMETRY_SD, 2 * bore_sd_mm / bore_mm, neck_sd_mm / length, 2 * sd_hz / tone_hz)
    log_guess = math.log(raw) + slender
    if not fills:
        return _stated(log_guess, spread, "bore and neck by tape")
    own = np.array([reading_sd_hz or sd_hz, *(fill.sd_hz for fill in fills)])
    tones = np.array([tone_hz, *(fill.tone_hz for fill in fills)])
    return _with_fills(
        _Fills(
            held_ml=np.array([0.0, *(fill.fill_ml for fill in fills)]),
            tones_hz=tones,
            sd=np.hypot(own / tones, FILL_MODEL_SD),
            log_guess=log_guess,
            spread=spread,
            neck_ml=math.pi * (bore_mm / 2) ** 2 * neck_length_mm / 1000.0,
            bend=_usual_bend(1000.0 * math.exp(log_guess), bore_mm, length),
        )
    )


def _usual_bend(capacity_mm3: float, bore_mm: float, length_mm: float) -> float:
    """A third of a usual body's inertance over the neck's: what a resonator with a long body adds to 1 / f²."""
    width = math.cbrt(4 * capacity_mm3 / (math.pi * BODY_SLENDERNESS))
    body = capacity_mm3 / (math.pi * width**2 / 4) ** 2
    return body / (length_mm / (math.pi * bore_mm**2 / 4)) / 3.0


@dataclass(frozen=True, eq=False)
class _Fills:
    """
    One vessel under several fills: 1 / f² in proportion to (air - share x neck) (1 + bend x air / capacity).

    The neck's own air is hardly squeezed (share), and air moving in the body weighs less as the body fills up (bend).
    Unknowns: log capacity, log stiffness over its guess, share, log bend over its guess, and each fill's true volume.
    """

    held_ml: FloatArray
    tones_hz: FloatArray
    sd: FloatArray  # relative
    log_guess: float
    spread: float
    neck_ml: float
    bend: float

    def stiffness(self, capacity: float, share: float, bend: float, held: FloatArray) -> FloatArray:
        """Logarithm of what 1 / f² is in proportion to."""
        air = np.maximum(capacity - held, 0.01 * capacity)
        return np.asarray(np.log(np.maximum(air - share * self.neck_ml, 0.01 * air)) + np.log1p(bend * air / capacity))

    def misses(self, theta: FloatArray) -> FloatArray:
        """Tones and prior beliefs against the unknowns, in standard deviations."""
        held = self.held_ml * np.concatenate([[0.0], theta[4:]])
        now = self.stiffness(math.exp(theta[0]), theta[2], self.bend * math.exp(theta[3]), held)
        usual = self.stiffness(math.exp(self.log_guess), NECK_SHARE[0], self.bend, np.zeros(1))
        predicted = math.log(self.tones_hz[0]) + theta[1] - 0.5 * (now - usual)
        beliefs = [theta[1] / (0.5 * self.spread), (theta[2] - NECK_SHARE[0]) / NECK_SHARE[1], theta[3] / BEND_SD]
        return np.concatenate([(np.log(self.tones_hz) - predicted) / self.sd, beliefs, (theta[4:] - 1) / LEVEL_SD])


def _with_fills(fills: _Fills) -> Capacity:
    """Least squares, normal near the best."""
    count = len(fills.held_ml) - 1
    if np.any(fills.tones_hz[1:] <= fills.tones_hz[0]):
        said = ", ".join(
            f"{ml:g} ml at {hz:.1f} Hz" for ml, hz in zip(fills.held_ml, fills.tones_hz, strict=True) if ml
        )
        raise Unfit(
            "tone",
            "fill",
            f"a filled vessel sounds no higher ({said})",
            f"tones above the empty vessel's {fills.tones_hz[0]:.1f} Hz",
        )
    guess = max(_two_point(fills.held_ml, fills.tones_hz), 1.05 * (float(fills.held_ml.max()) + fills.neck_ml))
    best = least_squares(fills.misses, np.array([math.log(guess), 0.0, NECK_SHARE[0], 0.0, *np.ones(count)]))
    slopes = np.asarray(best.jac)
    covariance = np.linalg.inv(slopes.T @ slopes)
    how = f"bore, neck and {count} dry fill{'s' if count > 1 else ''}"
    return _stated(float(best.x[0]), float(math.sqrt(covariance[0, 0])), how)


def _two_point(held: FloatArray, tones: FloatArray) -> float:
    """Air volume of the empty vessel from emptiest and fullest, the squares of their periods being in proportion."""
    most = int(held.argmax())
    return float(held[most] / (1.0 - (tones[0] / tones[most]) ** 2))


def _stated(log_mean: float, spread: float, how: str) -> Capacity:
    mean = math.exp(log_mean)
    low, high = math.exp(log_mean - NINETY * spread), math.exp(log_mean + NINETY * spread)
    return Capacity(mean, mean * spread, low, high, how)


def _check(tone_hz: float, sd_hz: float, bore_mm: float, neck_length_mm: float) -> None:
    for field, value, low, high, expected in (
        ("tone_hz", tone_hz, 10.0, 5000.0, "a tone from 10 to 5000 Hz"),
        ("sd_hz", sd_hz, 1e-9, 1000.0, "a standard deviation above 0, in Hz"),
        ("bore_mm", bore_mm, 1.0, 500.0, "a bore from 1 to 500 mm"),
        ("neck_length_mm", neck_length_mm, 0.0, 1500.0, "a neck length from 0 to 1500 mm"),
    ):
        if not low <= value <= high:
            raise InputError("tone", field, value, expected)


def _tidy(value: float | None) -> float | None:
    """Four figures: more than any of these numbers can bear."""
    return None if value is None else float(f"{value:.4g}")

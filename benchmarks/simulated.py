"""Invented vessels and coverings with a known answer: the raw material of every figure about the engine.

Every constant here was set before the engine was run on it. Laws follow the exploratory figures stated in
docs/why/how-it-reasons.md: vessels 90 to 350 mm tall, mean covering 1.5 to 5 mm with an sd of 20 to 40 % of it and a
correlation length of 10 to 40 mm, row ripple 0.3 to 0.8 mm, base always covered, lip bare in half, scale 1.5 % off.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from weftglass.evidence import Evidence, Measurement, Outline, Sighting
from weftglass.vessels import Form
from weftglass.vessels.form import Letters

FloatArray = NDArray[np.float64]
GRID = 241


@dataclass(frozen=True)
class Shape:
    """Parameters of a round vessel, lengths in mm."""

    height: float
    radius: float
    heel: float
    taper: float
    shoulder: float
    softness: float
    neck: float
    lip: float
    finish: float
    neck_taper: float
    waist: float


def any_shape(rng: np.random.Generator) -> Shape:
    """One vessel sampled widely."""
    height = float(rng.uniform(90, 350))
    radius = float(np.clip(height * rng.uniform(0.11, 0.30), 16, 75))
    neck = float(np.clip(radius * rng.uniform(0.28, 0.62), 8, 32))
    return Shape(
        height,
        radius,
        float(rng.uniform(2, 10)),
        float(rng.normal(0, 0.06)),
        float(rng.uniform(0.42, 0.78)),
        float(rng.uniform(0.06, 0.32)),
        neck,
        neck + float(rng.uniform(0.5, 4.0)),
        float(rng.uniform(5, 22)),
        float(rng.uniform(0.0, 0.15)),
        float(rng.uniform(-0.04, 0.04)),
    )


def relative_of(shape: Shape, rng: np.random.Generator) -> Shape:
    """A near-twin: height sd 2.5 %, radius sd 2 %, a shifted shoulder; lip and neck close to the parent's."""
    radius = 1 + 0.02 * rng.standard_normal()
    neck = radius * (1 + 0.02 * rng.standard_normal())
    return Shape(
        shape.height * (1 + 0.025 * float(rng.standard_normal())),
        shape.radius * float(radius),
        max(1.0, shape.heel * (1 + 0.1 * float(rng.standard_normal()))),
        shape.taper + 0.008 * float(rng.standard_normal()),
        float(np.clip(shape.shoulder + 0.012 * rng.standard_normal(), 0.35, 0.85)),
        float(np.clip(shape.softness * (1 + 0.06 * rng.standard_normal()), 0.04, 0.4)),
        shape.neck * float(neck),
        shape.lip * float(neck),
        shape.finish * (1 + 0.05 * float(rng.standard_normal())),
        shape.neck_taper,
        shape.waist,
    )


def drawn(shape: Shape) -> FloatArray:
    """Profile of a shape, rows of (z, half-width), 241 of them."""
    z = np.linspace(0.0, shape.height, GRID)
    u = z / shape.height
    body = shape.radius * (
        1 + shape.taper * (u / shape.shoulder - 0.5) + shape.waist * np.sin(np.pi * u / shape.shoulder)
    )
    heel = np.where(z < shape.heel, shape.heel - np.sqrt(np.maximum(shape.heel**2 - (shape.heel - z) ** 2, 0.0)), 0.0)
    top = min(shape.shoulder + shape.softness, 0.93)
    ease = PchipInterpolator([shape.shoulder, 0.45 * shape.shoulder + 0.55 * top, top], [0.0, 0.42, 1.0])
    share = np.where(u <= shape.shoulder, 0.0, np.where(u >= top, 1.0, ease(np.clip(u, shape.shoulder, top))))
    neck = shape.neck * (1 + shape.neck_taper * (1 - u) / max(1 - top, 0.05))
    half = (body - heel) * (1 - share) + neck * share
    half = np.where(z > shape.height - shape.finish, np.maximum(half, shape.lip), half)
    return np.column_stack([z, np.maximum(half, 3.0)])


def warped(profile: FloatArray, share: float, rng: np.random.Generator) -> FloatArray:
    """The profile with a smooth relative warp of its half-widths (sd ``share``, about five waves)."""
    u = np.linspace(0, 1, len(profile))
    wave = sum(float(rng.standard_normal()) * np.cos(np.pi * k * u + float(rng.uniform(0, np.pi))) for k in range(1, 6))
    return np.column_stack([profile[:, 0], profile[:, 1] * (1 + share * np.asarray(wave) * np.sqrt(2 / 5))])


def form_of(name: str, family: str, profile: FloatArray, *, shape_sd_mm: float, hand: bool) -> Form:
    """A library form with the tolerance of its kind of making."""
    half = 0.5 if not hand else 1.0
    record = {
        "id": name,
        "name": name,
        "family": family,
        "section": {"kind": "round"},
        "profile": profile.tolist(),
        "tolerance": {
            "height_sd": 0.005 + 0.007 * (half > 0.5),
            "width_sd": 0.005 + 0.007 * (half > 0.5),
            "shape_sd_mm": shape_sd_mm,
        },
    }
    return Form.from_record(record, name)


def broad_library(count: int, rng: np.random.Generator) -> list[Form]:
    """``count`` vessels sampled widely, each its own family; half machine-made, half mouth-blown."""
    return [
        form_of(f"broad-{i}", f"family-{i}", drawn(any_shape(rng)), shape_sd_mm=0.15, hand=bool(rng.random() < 0.5))
        for i in range(count)
    ]


def twins_library(families: int, members: int, rng: np.random.Generator) -> list[Form]:
    """``families`` of ``members`` near-twins each."""
    forms = []
    for i in range(families):
        parent, hand = any_shape(rng), bool(rng.random() < 0.5)
        for j in range(members):
            profile = warped(drawn(relative_of(parent, rng)), 0.01, rng)
            forms.append(form_of(f"twin-{i}-{j}", f"family-{i}", profile, shape_sd_mm=0.15, hand=hand))
    return forms


def smooth_noise(z: FloatArray, length: float, rng: np.random.Generator) -> FloatArray:
    """A stationary smooth random function of height with mean 0 and variance 1 (squared-exponential, exact draw)."""
    gap = (z[:, None] - z[None, :]) / length
    values, vectors = np.linalg.eigh(np.exp(-0.5 * gap**2))
    return np.asarray(vectors @ (np.sqrt(np.maximum(values, 0)) * rng.standard_normal(len(z))))


@dataclass(frozen=True, eq=False)
class Covered:
    """A simulated covered piece: its evidence and what is true."""

    evidence: Evidence
    height_mm: float
    vessel: FloatArray
    mean_cover_mm: float
    scale: float


def individual(form: Form, rng: np.random.Generator) -> FloatArray:
    """One vessel of a form, within the form's own tolerance."""
    tolerance = form.tolerance
    points = np.asarray(form.profile.points)
    height = 1 + tolerance.height_sd * rng.standard_normal()
    width = 1 + tolerance.width_sd * rng.standard_normal()
    return np.column_stack([points[:, 0] * height, points[:, 1] * width])


@dataclass(frozen=True)
class Circumstances:
    """
    How pieces are covered and seen; the defaults are the plain case.

    Attributes
    ----------
    cover_mm : (low, high)
        Mean thickness, uniform.
    scale_error : float
        Log sd of the photograph's scale, and what the outline says of it.
    bare_lip : float
        Share of pieces whose lip is bare.
    bands, straps : int
        Most bands (thickness times 1.4 to 2.2 over 8 to 30 mm) and straps (2 to 8 mm out over 15 to 40 mm), at least 1.
    bridge_mm : (low, high) or None
        Radius of the disc that closes hollows: stout stakes bridge a shoulder instead of following it.
    hidden : float
        Share of the height that is hidden, in one run at the top, the base or between, alike often.
    shape_only : bool
        No scale: the outline is drawn 250 mm tall, its scale said to be known to a factor exp(0.5).
    foot_mm, rise_mm : (low, high) or None
        Basketry below the base, above the lip.
    """

    cover_mm: tuple[float, float] = (1.5, 5.0)
    scale_error: float = 0.015
    bare_lip: float = 0.5
    bands: int = 0
    straps: int = 0
    bridge_mm: tuple[float, float] | None = None
    hidden: float = 0.0
    shape_only: bool = False
    foot_mm: tuple[float, float] | None = None
    rise_mm: tuple[float, float] | None = None


PLAIN = Circumstances()
SHAPE_ONLY_MM, SHAPE_ONLY_SD = 250.0, 0.5


def covered(
    vessel: FloatArray,
    rng: np.random.Generator,
    *,
    seen: Circumstances = PLAIN,
    name: str = "piece",
    **changes: Any,
) -> Covered:
    """Cover a vessel and trace its outline, with noise and an unknown scale error; ``changes`` alter circumstances."""
    seen = replace(seen, **changes)
    z = np.linspace(0.0, float(vessel[-1, 0]), 160)
    glass = np.interp(z, vessel[:, 0], vessel[:, 1])
    mean = float(rng.uniform(*seen.cover_mm))
    bare = bool(rng.random() < seen.bare_lip)
    bare_from = float(z[-1] * rng.uniform(0.80, 0.93)) if bare else np.inf
    thickness = _thickness(z, mean, seen, rng)
    thickness = np.where(z >= bare_from, 0.0, thickness)
    outer_z, edge = _laid_on(z, glass, thickness)
    if seen.bridge_mm is not None:
        edge = _bridged(outer_z, edge, float(rng.uniform(*seen.bridge_mm)), bare_from)
    ripple = float(rng.uniform(0.3, 0.8)) / 2 * np.sin(2 * np.pi * outer_z / rng.uniform(3, 8) + rng.uniform(0, 6))
    edge = edge + np.where(outer_z < bare_from, ripple + _straps(outer_z, bare_from, seen, rng), 0.0)
    outer_z, edge = _ends(outer_z, edge, bare, seen, rng)
    noise = float(rng.uniform(0.3, 0.5))
    slope = np.gradient(edge, outer_z)
    edge = edge + noise * np.sqrt(1 + np.minimum(slope**2, 25.0)) * rng.standard_normal(len(edge))
    tall = float(outer_z[-1] - outer_z[0])
    scale = SHAPE_ONLY_MM / tall if seen.shape_only else float(np.exp(seen.scale_error * rng.standard_normal()))
    points = np.column_stack([(outer_z - outer_z[0]) * scale, np.maximum(edge, 0.5) * scale])
    ends = bare_from + (float(thickness[z < bare_from][-1]) if bare else 0.0)  # where the covering's own edge has ended
    low = (ends - outer_z[0]) * scale
    outline = Outline.of(
        points,
        sd_mm=noise * scale,
        scale_sd=SHAPE_ONLY_SD if seen.shape_only else max(seen.scale_error, 0.002),
        bare=[(low, points[-1, 0] + 5.0)] if bare else [],
        hidden=_hidden(float(points[-1, 0]), seen, rng),
    )
    return Covered(Evidence(piece=name, outlines=(outline,)), tall, vessel, mean, scale)


def _thickness(z: FloatArray, mean: float, seen: Circumstances, rng: np.random.Generator) -> FloatArray:
    uneven = smooth_noise(z, float(rng.uniform(10, 40)), rng)
    thickness = np.maximum(mean * (1 + rng.uniform(0.2, 0.4) * uneven), 0.25 * mean)
    for _ in range(int(rng.integers(1, seen.bands + 1)) if seen.bands else 0):
        start = float(z[-1] * rng.uniform(0.05, 0.75))
        band = (z >= start) & (z <= start + float(rng.uniform(8, 30)))
        thickness = np.where(band, thickness * float(rng.uniform(1.4, 2.2)), thickness)
    return thickness


def _laid_on(z: FloatArray, glass: FloatArray, thickness: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Outer edge: the envelope of discs of the local thickness about the glass."""
    outer_z = np.linspace(-float(thickness[0]), float(z[-1] + thickness[-1]), 220)
    gap = outer_z[:, None] - z[None, :]
    lift = np.where(
        np.abs(gap) <= thickness[None, :],
        glass[None, :] + np.sqrt(np.maximum(thickness[None, :] ** 2 - gap**2, 0)),
        -np.inf,
    )
    edge = np.maximum(lift.max(axis=1), np.interp(outer_z, z, glass, left=-np.inf, right=-np.inf))
    keep = np.isfinite(edge)
    return outer_z[keep], edge[keep]


def _bridged(z: FloatArray, edge: FloatArray, radius: float, bare_from: float) -> FloatArray:
    """The covered edge closed by a disc (dilation, then erosion): nothing enters a hollow narrower than the disc."""
    own = z < bare_from
    gap = z[own, None] - z[None, own]
    arc = np.where(np.abs(gap) <= radius, np.sqrt(np.maximum(radius**2 - gap**2, 0)), -np.inf)
    grown = (edge[own][None, :] + arc).max(axis=1)
    closed = (grown[None, :] - arc).min(axis=1)
    result = edge.copy()
    result[own] = np.maximum(edge[own], closed)
    return result


def _straps(z: FloatArray, bare_from: float, seen: Circumstances, rng: np.random.Generator) -> FloatArray:
    """What straps add to the half-width: flat in the middle, 3 mm of slope at each edge."""
    lift = np.zeros_like(z)
    for _ in range(int(rng.integers(1, seen.straps + 1)) if seen.straps else 0):
        width = float(rng.uniform(15, 40))
        low = float(rng.uniform(0.08, 0.85) * min(z[-1], bare_from)) - width / 2
        edge = np.clip(np.minimum(z - low, low + width - z) / 3.0, 0.0, 1.0)
        lift = np.maximum(lift, float(rng.uniform(2, 8)) * edge)
    return lift


def _ends(
    z: FloatArray, edge: FloatArray, bare: bool, seen: Circumstances, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Basketry below the base and above the lip, as wide as the edge next to it give or take 2 mm."""
    if seen.foot_mm is not None:
        low = np.arange(-float(rng.uniform(*seen.foot_mm)), 0.0, 1.5)
        foot = edge[min(6, len(edge) - 1)] + float(rng.normal(0, 2)) + 0 * low
        z, edge = np.concatenate([z[0] + low, z]), np.concatenate([foot, edge])
    if seen.rise_mm is not None and not bare:
        high = np.arange(1.5, float(rng.uniform(*seen.rise_mm)), 1.5)
        rise = edge[-min(6, len(edge))] + float(rng.normal(0, 2)) + 0 * high
        z, edge = np.concatenate([z, z[-1] + high]), np.concatenate([edge, rise])
    return z, edge


def _hidden(tall: float, seen: Circumstances, rng: np.random.Generator) -> list[tuple[float, float]]:
    if seen.hidden <= 0:
        return []
    place = int(rng.integers(3))
    low = (0.0, (1 - seen.hidden) * tall, float(rng.uniform(0.1, 0.9 - seen.hidden)) * tall)[place]
    return [(low - 0.01 * (place == 0), low + seen.hidden * tall + 0.01)]


def measured(piece: Covered, form: Form, thickness_g_per_ml: float, rng: np.random.Generator) -> Evidence:
    """
    The piece's evidence with what else an owner takes in five minutes: weight, two callipers, the lip, two letters.

    Callipers go over the covering at the widest body and the narrowest neck; the lip is measured on the glass. Glass of
    the form's listed mass with 5 % between vessels; covering of the mean thickness at a density 25 % uncertain.
    """
    z, half = piece.vessel[:, 0], piece.vessel[:, 1]
    outline = piece.evidence.outlines[0]
    true = outline.points / piece.scale
    upper = true[:, 0] > 0.55 * true[-1, 0]
    area = float((2 * np.pi * 0.5 * (half[1:] + half[:-1]) * np.hypot(np.diff(z), np.diff(half))).sum())
    low, high = form.weight_g or (0.0, 0.0)
    glass_g = 0.5 * (low + high) * (1 + 0.05 * float(rng.standard_normal()))
    fibre_g = area * piece.mean_cover_mm / 1000 * thickness_g_per_ml * float(np.exp(0.25 * rng.standard_normal()))
    lip = 2 * float(half[z > 0.95 * z[-1]].max()) * (1 + 0.01 * float(rng.standard_normal()))
    readings = [
        Measurement("weight", glass_g + fibre_g + float(rng.normal(0, 5)), 5.0),
        Measurement("body_width", 2 * float(np.median(np.sort(true[:, 1])[-5:])) + float(rng.normal(0, 0.7)), 1.0),
        Measurement("neck_diameter", 2 * float(np.sort(true[upper, 1])[:5].mean()) + float(rng.normal(0, 0.7)), 0.8)
        if not outline.bare
        else Measurement("height", piece.height_mm + float(rng.normal(0, 1.0)), 1.0),
        Measurement("lip_diameter", lip + float(rng.normal(0, 0.4)), 0.5, None, False),
    ]
    text = form.letters[0].text.replace(" ", "")
    start = int(rng.integers(len(text) - 1))
    letters = Sighting("letters", text[start : start + 2], 0.9)
    return replace(piece.evidence, measurements=tuple(readings), sightings=(letters,))


def with_marks(form: Form, rng: np.random.Generator) -> Form:
    """The form with a listed mass (walls 12 % apart between forms, known to 8 %) and an inscription of its own."""
    points = np.asarray(form.profile.points)
    steps = np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1]))
    area = float((np.pi * (points[1:, 1] + points[:-1, 1]) * steps).sum())
    grams = area * 3.2e-3 * 2.5 * float(np.exp(0.12 * rng.standard_normal()))
    text = "".join(rng.choice(list("ABCDEFGHIKLMNOPRSTUVW"), int(rng.integers(8, 15))))
    return replace(form, weight_g=(0.92 * grams, 1.08 * grams), letters=(Letters(text),))

"""Invented vessels and coverings with a known answer: the raw material of every figure about the engine.

Every constant here was set before the engine was run on it. Laws follow the exploratory figures stated in
docs/why/how-it-reasons.md: vessels 90 to 350 mm tall, mean covering 1.5 to 5 mm with an sd of 20 to 40 % of it and a
correlation length of 10 to 40 mm, row ripple 0.3 to 0.8 mm, base always covered, lip bare in half, scale 1.5 % off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from weftglass.evidence import Evidence, Outline
from weftglass.vessels import Form

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


def covered(
    vessel: FloatArray,
    rng: np.random.Generator,
    *,
    cover_mm: tuple[float, float] = (1.5, 5.0),
    scale_error: float = 0.015,
    bare_lip: float = 0.5,
    name: str = "piece",
) -> Covered:
    """Cover a vessel and trace its outline, with noise and an unknown scale error."""
    z = np.linspace(0.0, float(vessel[-1, 0]), 160)
    glass = np.interp(z, vessel[:, 0], vessel[:, 1])
    mean = float(rng.uniform(*cover_mm))
    uneven = smooth_noise(z, float(rng.uniform(10, 40)), rng)
    thickness = np.maximum(mean * (1 + rng.uniform(0.2, 0.4) * uneven), 0.25 * mean)
    bare = bool(rng.random() < bare_lip)
    bare_from = float(z[-1] * rng.uniform(0.80, 0.93)) if bare else np.inf
    thickness = np.where(z >= bare_from, 0.0, thickness)
    outer_z = np.linspace(-float(thickness[0]), float(z[-1] + thickness[-1]), 220)
    gap = outer_z[:, None] - z[None, :]
    lift = np.where(
        np.abs(gap) <= thickness[None, :],
        glass[None, :] + np.sqrt(np.maximum(thickness[None, :] ** 2 - gap**2, 0)),
        -np.inf,
    )
    edge = np.maximum(lift.max(axis=1), np.interp(outer_z, z, glass, left=-np.inf, right=-np.inf))
    keep = np.isfinite(edge)
    outer_z, edge = outer_z[keep], edge[keep]
    ripple = float(rng.uniform(0.3, 0.8)) / 2 * np.sin(2 * np.pi * outer_z / rng.uniform(3, 8) + rng.uniform(0, 6))
    edge = edge + np.where(outer_z < bare_from, ripple, 0.0)
    noise = float(rng.uniform(0.3, 0.5))
    slope = np.gradient(edge, outer_z)
    edge = edge + noise * np.sqrt(1 + np.minimum(slope**2, 25.0)) * rng.standard_normal(len(edge))
    scale = float(np.exp(scale_error * rng.standard_normal()))
    points = np.column_stack([(outer_z - outer_z[0]) * scale, np.maximum(edge, 0.5) * scale])
    ends = bare_from + (float(thickness[z < bare_from][-1]) if bare else 0.0)  # where the covering's own edge has ended
    low = (ends - outer_z[0]) * scale
    outline = Outline.of(
        points, sd_mm=noise, scale_sd=max(scale_error, 0.002), bare=[(low, points[-1, 0] + 5.0)] if bare else []
    )
    return Covered(Evidence(piece=name, outlines=(outline,)), float(outer_z[-1] - outer_z[0]), vessel, mean, scale)

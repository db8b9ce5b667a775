"""
Vessels and units against the world outside: every ``*.toml`` beside this file whose subject is vessels or units.

A file says its citation, page, unit and why its tolerance is what it is; each case in it names the check that reads it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from weftglass import units
from weftglass.vessels import (
    Form,
    FormLibrary,
    Profile,
    Section,
    capacity_from_outer_ml,
    capacity_from_water_ml,
    glass_volume_ml,
    outer_volume_ml,
    permitted_error_ml,
    surface_area_mm2,
    water_density_g_per_ml,
)

Case = dict[str, Any]
PIECES = 4000
LIBRARY = FormLibrary.starter()
FILES = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(Path(__file__).parent.glob("*.toml"))]
CASES = [case for file in FILES if file.get("subject") in ("vessels", "units") for case in file["case"]]


def curve(height: float, radius: Callable[[np.ndarray], np.ndarray]) -> Profile:
    """A curved contour as straight pieces, closer where it ends."""
    share = 0.5 * (1 - np.cos(np.pi * np.linspace(0, 1, PIECES + 1)))
    z = share * height
    return Profile.of(np.column_stack([z, radius(z)]))


SOLIDS: dict[str, Callable[..., Profile]] = {
    "cylinder": lambda r, h: Profile.of([[0, r], [h, r]]),
    "cone": lambda r, h: Profile.of([[0, r], [h, 0]]),
    "frustum": lambda R, r, h: Profile.of([[0, R], [h, r]]),
    "cap": lambda R, h: curve(h, lambda z: np.sqrt(np.maximum(R**2 - (R - h + z) ** 2, 0))),
    "sphere": lambda R: curve(2 * R, lambda z: np.sqrt(np.maximum(R**2 - (z - R) ** 2, 0))),
    "paraboloid": lambda R, h: curve(h, lambda z: R * np.sqrt(z / h)),
    "spheroid": lambda a, c: curve(2 * c, lambda z: a * np.sqrt(np.maximum(1 - ((z - c) / c) ** 2, 0))),
    "parabolic barrel": lambda D, d, h: curve(h, lambda z: D / 2 - (D - d) / 2 * (2 * z / h - 1) ** 2),
}


def check_solid(case: Case) -> None:
    profile = SOLIDS[case["shape"]](**case["sizes"])
    np.testing.assert_allclose(1000 * outer_volume_ml(profile), case["volume"], rtol=case["rel"])
    if "lateral_area" in case:
        area = surface_area_mm2(profile, with_base=False)
        np.testing.assert_allclose(area, case["lateral_area"], rtol=case["rel"])


def check_ring(case: Case) -> None:
    big, small = case["sizes"]["R"], case["sizes"]["r"]
    outer, inner = (
        curve(2 * small, lambda z, sign=sign: big + sign * np.sqrt(np.maximum(small**2 - (z - small) ** 2, 0)))
        for sign in (1, -1)
    )
    volume = 1000 * (outer_volume_ml(outer) - outer_volume_ml(inner))
    area = surface_area_mm2(outer, with_base=False) + surface_area_mm2(inner, with_base=False)
    np.testing.assert_allclose([volume, area], [case["volume"], case["area"]], rtol=case["rel"])


def check_out_of_round(case: Case) -> None:
    a, b = case["sizes"]["major"] / 2, case["sizes"]["minor"] / 2
    front, side = Profile.of([[0, a], [100, a]]), Profile.of([[0, b], [100, b]])
    oval = outer_volume_ml(front, section=Section("oval"), side_profile=side)
    np.testing.assert_allclose(outer_volume_ml(front) / oval, case["ratio"], rtol=case["rel"])


def check_profile_volume(case: Case) -> None:
    profile = Profile.of(np.column_stack([case["z"], case["r"]]))
    np.testing.assert_allclose(1000 * outer_volume_ml(profile), case["volume"], rtol=case["rel"])


def check_sphere_slices(case: Case) -> None:
    errors = []
    for n in case["n"]:
        z = np.linspace(0, 10, n + 1)
        ball = Profile.of(np.column_stack([z, np.sqrt(np.maximum(25 - (z - 5) ** 2, 0))]))
        errors.append(100 * (1000 * outer_volume_ml(ball) / (4 / 3 * math.pi * 125) - 1))
    np.testing.assert_allclose(errors, case["frusta_error_percent"], atol=case["abs"])


def check_points_needed(case: Case) -> None:
    for name in case["forms"]:
        profile = LIBRARY[name].profile
        coarse = outer_volume_ml(profile.resampled(case["points"]))
        assert abs(100 * (coarse / outer_volume_ml(profile) - 1)) < case["error_percent_below"], name


def check_water_density(case: Case) -> None:
    density = [1000 * water_density_g_per_ml(t) for t in case["temperature"]]
    np.testing.assert_allclose(density, case["density"], atol=case["abs"])


def check_water_factor(case: Case) -> None:
    factor = [capacity_from_water_ml(1.0, t, case["pressure"]) for t in case["temperature"]]
    np.testing.assert_allclose(factor, case["factor"], atol=case["abs"])


def check_water_capacity(case: Case) -> None:
    water, t = case["water_g"], case["temperature"]
    pair = [capacity_from_water_ml(water, t), water / water_density_g_per_ml(t)]
    np.testing.assert_allclose(pair, [case["capacity"], case["capacity_without_buoyancy"]], atol=case["abs"])


def check_permitted_error(case: Case) -> None:
    np.testing.assert_allclose([permitted_error_ml(v) for v in case["nominal"]], case["error"], atol=case["abs"])


def check_typed(reader: Callable[[str], float]) -> Callable[[Case], None]:
    def check(case: Case) -> None:
        np.testing.assert_allclose([reader(text) for text in case["typed"]], case["value"], rtol=0, atol=case["abs"])

    return check


def to_size(case: Case) -> Form:
    """The form's drawing stretched to published height and width."""
    form = LIBRARY[case["form"]]
    height = case["height"] / form.profile.height_mm
    width = case["width"] / 2 / form.profile.widest_mm
    record = form.to_record() | {"profile": form.profile.stretched(height, width).points.tolist()}
    return Form.from_record(record, "stretched")


def check_drawn_to_size(case: Case) -> None:
    outer = outer_volume_ml(to_size(case).profile)
    assert case["outer_low"] <= outer <= case["outer_high"]
    assert case["capacity_low"] <= capacity_from_outer_ml(outer, case["weight"]) <= case["capacity_high"]
    if "glass" in case:
        assert abs(glass_volume_ml(case["weight"]) - case["glass"]) <= 0.5


def check_contents_at_weights(case: Case) -> None:
    form = to_size(case)
    hollow = math.pi / 3 * (0.38 * case["width"]) ** 2 * 16 / 1000  # the sheet's kick of 16 mm as a cone
    outer = outer_volume_ml(form.profile) - hollow
    contents = [capacity_from_outer_ml(outer, weight) for weight in case["weights"]]
    np.testing.assert_allclose(contents, case["contents"], rtol=case["rel"])


def check_girth(case: Case) -> None:
    half = case["diameter"] / 2
    assert abs(float(Section("round").perimeter_mm(half, half)) - case["girth"]) <= math.pi * case["abs"]


def check_sphere_diameter(case: Case) -> None:
    ball = SOLIDS["sphere"](case["diameter"] / 2)
    np.testing.assert_allclose(outer_volume_ml(ball), case["volume"], rtol=3 * case["abs"] / case["diameter"])


def mesh_of(form: Form, around: int = 360) -> trimesh.Trimesh:
    """A closed triangle mesh through the plan's edge at every row and between, fans at both ends."""
    side = form.profile if form.side_profile is None else form.side_profile
    nodes = np.unique(np.concatenate([form.profile.z_mm, side.z_mm, np.linspace(0, form.profile.height_mm, 300)]))
    rings = []
    for z in nodes:
        a, b = float(form.profile.half_width_at(z)), float(side.half_width_at(z))
        rings.append(
            np.column_stack([form.section.edge_points(max(a, 1e-6), max(b, 1e-6), around), np.full(around, z)])
        )
    count = len(rings)
    corner = np.arange(around)
    following = np.roll(corner, -1)
    faces = []
    for i in range(count - 1):
        low, high = i * around, (i + 1) * around
        faces.append(np.column_stack([low + corner, low + following, high + following]))
        faces.append(np.column_stack([low + corner, high + following, high + corner]))
    middle = count * around
    faces.append(np.column_stack([np.full(around, middle), following, corner]))
    top = (count - 1) * around
    faces.append(np.column_stack([np.full(around, middle + 1), top + corner, top + following]))
    ends = np.array([[0, 0, nodes[0]], [0, 0, nodes[-1]]])
    return trimesh.Trimesh(np.vstack([*rings, ends]), np.vstack(faces), process=False)


def check_mesh(case: Case) -> None:
    for name in case["forms"]:
        form = LIBRARY[name]
        mesh = mesh_of(form)
        volume = outer_volume_ml(form.profile, section=form.section, side_profile=form.side_profile)
        area = surface_area_mm2(form.profile, section=form.section, side_profile=form.side_profile, with_top=True)
        assert mesh.is_watertight
        np.testing.assert_allclose(mesh.volume / 1000, volume, rtol=case["rel_volume"], err_msg=name)
        np.testing.assert_allclose(mesh.area, area, rtol=case["rel_area"], err_msg=name)


def check_revolve(case: Case) -> None:
    profile = Profile.of(np.column_stack([case["z"], case["r"]]))
    closed = np.vstack([[0, case["z"][0]], np.column_stack([case["r"], case["z"]]), [0, case["z"][-1]]])
    meshes = [trimesh.creation.revolve(closed, sections=n) for n in case["sides"]]
    ratio = [abs(mesh.volume) / (1000 * outer_volume_ml(profile)) for mesh in meshes]
    np.testing.assert_allclose(ratio, case["ratio"], rtol=case["rel"])


CHECKS: dict[str, Callable[[Case], None]] = {
    "solid": check_solid,
    "ring": check_ring,
    "out_of_round": check_out_of_round,
    "profile_volume": check_profile_volume,
    "sphere_slices": check_sphere_slices,
    "points_needed": check_points_needed,
    "water_density": check_water_density,
    "water_factor": check_water_factor,
    "water_capacity": check_water_capacity,
    "permitted_error": check_permitted_error,
    "typed_length": check_typed(units.length_mm),
    "typed_mass": check_typed(units.mass_g),
    "typed_volume": check_typed(units.volume_ml),
    "drawn_to_size": check_drawn_to_size,
    "contents_at_weights": check_contents_at_weights,
    "girth": check_girth,
    "sphere_diameter": check_sphere_diameter,
    "mesh": check_mesh,
    "revolve": check_revolve,
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_vessels_agree_with_what_is_published(case: Case) -> None:
    """One case of one file; its tolerance is argued in the file's head."""
    CHECKS[case["check"]](case)


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.get("citation"))[:40])
def test_every_published_file_says_where_it_comes_from(file: dict[str, Any]) -> None:
    """Citation, page, unit and the reason for the tolerance are there."""
    for key in ("citation", "page", "unit", "tolerance"):
        assert file.get(key), key

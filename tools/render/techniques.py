"""
How each technique lays its strands on the wall: twining, wicker, coiling, plaiting, netting, hitching, wrapping.

Each function takes the surface, its recipe and a random generator, and gives strands. s runs up the wall (mm), u once
round (0 back, 0.5 front, rising to the right), d outward (mm).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from designs import stitch_colours, tinted
from numpy.typing import NDArray
from surface import Surface
from sweep import Strands

FloatArray = NDArray[np.float64]
Recipe = dict[str, Any]
PER_STITCH = 8


def _strands(
    surface: Surface, s: FloatArray, u: FloatArray, d: FloatArray, half: FloatArray, colours: FloatArray, **more: Any
) -> Strands:
    s, u, d = np.broadcast_arrays(s, u, d)
    points, normals = surface.place(s, u, d)
    return Strands(
        points, normals, np.broadcast_to(half, (*s.shape, 2)), np.broadcast_to(colours, (*s.shape, 3)), **more
    )


def _stakes(
    surface: Surface,
    at: FloatArray,
    low: float,
    high: float,
    depth: float,
    half: tuple[float, float],
    colour: str,
    rng: np.random.Generator,
) -> Strands:
    steps = max(12, int((high - low) / 2.0))
    s = np.linspace(low, high, steps)[None, :]
    count = len(at)
    wander = 0.05 / len(at) * np.cumsum(rng.standard_normal((count, steps)), axis=1) / np.sqrt(steps)
    u = at[:, None] + wander + 0.10 / count * rng.standard_normal((count, 1))
    shade = tinted([colour], np.zeros((count, 1), dtype=np.int64), rng)
    return _strands(surface, s, u, np.array(depth), np.array(half), shade)


def _row_levels(recipe: Recipe, length: float, rng: np.random.Generator) -> FloatArray:
    """Where each row lies along the wall; in open work rows come in groups with a gap between."""
    pitch, group, gap = recipe["pitch"], recipe.get("group", 0), recipe.get("gap", 0.0)
    levels, s = [], pitch * 0.6
    while s < length - pitch * 0.4:
        levels.append(s)
        s += pitch + (gap if group and len(levels) % group == 0 else 0.0)
    return np.array(levels) + 0.06 * pitch * rng.standard_normal(len(levels))


def _stake_counts(recipe: Recipe, surface: Surface, levels: FloatArray, odd: bool) -> NDArray[np.int64]:
    """How many stakes stand at each row: half of them are dropped where the wall grows too narrow."""
    full = round(max(surface.girth) / recipe["spacing"])
    full += (full % 2 == 0) if odd else (full % 4 and 4 - full % 4)
    half = full // 2 + (1 if odd and (full // 2) % 2 == 0 else 0)
    girth = np.array([surface.girth_at(s) for s in levels])
    return np.where(girth / full < 0.5 * recipe["spacing"], half, full)


def twined(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """Two wefts that change places between stakes; ``over`` 2 spans two stakes and steps one a row (twill)."""
    thick, stake = recipe["weft"], recipe["stake"]
    levels = _row_levels(recipe, surface.length, rng)
    counts = _stake_counts(recipe, surface, levels, odd=False)
    over, lean = recipe.get("over", 1), 1 if recipe.get("lean", "right") == "right" else -1
    design = stitch_colours(recipe["design"], len(levels), int(counts.max()))
    path = _twined_path(levels, counts, design, over, rng)
    names = recipe["design"]["colours"]
    rise = 0.33 * recipe["pitch"]
    strands = []
    for start in (0.0, np.pi):
        phase = path["phase"] + start
        outside = np.sin(phase)
        s = path["s"] - lean * rise * np.cos(phase)
        d = stake + thick * 1.3 + (stake + 0.75 * thick) * outside
        bulge = path["jitter"] * (1 + 0.06 * outside)
        half = np.stack([0.43 * recipe["pitch"] * (0.70 + 0.30 * np.abs(outside)) * bulge, thick * np.ones_like(s)], -1)
        colours = tinted(names, path["colour"], rng, 0.08)[path["stitch"]]
        strands.append(
            _strands(
                surface,
                s[None],
                path["u"][None],
                d[None],
                half[None],
                colours[None],
                sides=7,
                finish=recipe.get("finish", "fibre"),
            )
        )
    low, high = levels[0] - recipe["pitch"], levels[-1] + recipe["pitch"]
    return strands + _stake_sets(surface, recipe, counts, levels, (low, high), rng)


def _twined_path(
    levels: FloatArray, counts: NDArray[np.int64], design: NDArray[np.int64], over: int, rng: np.random.Generator
) -> dict[str, Any]:
    """The spiral of one weft pair: per point s, u, twist phase and the stitch it belongs to."""
    s, u, phase, stitch, colour, jitter = [], [], [], [], [], []
    spread = np.append(levels, 2 * levels[-1] - levels[-2]) if len(levels) > 1 else np.append(levels, levels[0] + 1)
    total = 0
    for k, n in enumerate(counts):
        along = np.linspace(0, 1, int(n) * PER_STITCH, endpoint=False)
        column = np.minimum((along * n).astype(int), int(n) - 1)
        rise = spread[k + 1] - levels[k] if spread[k + 1] - levels[k] < 1.6 * np.median(np.diff(spread)) else 0.0
        s.append(
            levels[k]
            + rise * along
            + 0.05 * np.median(np.diff(spread)) * np.sin(2 * np.pi * (along * rng.integers(2, 6) + rng.uniform()))
        )
        nudge = np.interp(along * n, np.arange(n + 1), 0.05 * rng.standard_normal(int(n) + 1))
        u.append(along)
        phase.append(np.pi * (along * n + nudge) / over + (k % over) * np.pi / over)
        stitch.append(total + column // 1)
        colour.append(design[k, (np.arange(n) * design.shape[1] // n)])
        jitter.append(np.repeat(1 + 0.05 * rng.standard_normal(int(n)), PER_STITCH))
        total += int(n)
    return {
        "s": np.concatenate(s), "u": np.concatenate(u), "phase": np.concatenate(phase),
        "stitch": np.concatenate(stitch), "colour": np.concatenate(colour), "jitter": np.concatenate(jitter),
    }  # fmt: skip


def _stake_sets(
    surface: Surface,
    recipe: Recipe,
    counts: NDArray[np.int64],
    levels: FloatArray,
    ends: tuple[float, float],
    rng: np.random.Generator,
) -> list[Strands]:
    colour = recipe.get("stake_colour", recipe["design"]["colours"][0])
    half = (recipe["stake"] * recipe.get("stake_flat", 1.15), recipe["stake"])
    sets = []
    for n in sorted(set(counts.tolist())):
        rows = np.flatnonzero(counts == n)
        for run in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1):
            low = ends[0] if run[0] == 0 else levels[run[0]] - 1.0
            high = ends[1] if run[-1] == len(levels) - 1 else levels[run[-1]] + 1.0
            sets.append(_stakes(surface, (np.arange(n) + 0.5) / n, low, high, recipe["stake"], half, colour, rng))
    return sets


def wicker(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """One weaver in front of one stake and behind the next; an odd number of stakes makes rows alternate."""
    thick, stake = recipe["weft"], recipe["stake"]
    levels = _row_levels(recipe, surface.length, rng)
    counts = _stake_counts(recipe, surface, levels, odd=True)
    design = stitch_colours(recipe["design"], len(levels), int(counts.max()))
    path = _twined_path(levels, counts, design, 1, rng)
    turn = np.concatenate([np.full(int(n) * PER_STITCH, np.pi * (k % 2)) for k, n in enumerate(counts)])
    wave = np.sin(path["phase"] + turn)
    d = stake + thick * 1.05 + (stake * 0.9 + 0.55 * thick) * np.sign(wave) * np.abs(wave) ** 0.8
    half = np.stack([0.47 * recipe["pitch"] * path["jitter"], thick * np.ones_like(d)], -1)
    colours = tinted(recipe["design"]["colours"], path["colour"], rng, 0.05)[path["stitch"]]
    slow = np.exp(
        0.12 * np.interp(np.arange(len(d)), np.arange(0, len(d) + 400, 400), rng.standard_normal(len(d) // 400 + 2))
    )
    weaver = _strands(
        surface, path["s"][None], path["u"][None], d[None], half[None], (colours * slow[:, None])[None], sides=8
    )
    return [
        weaver,
        *_stake_sets(surface, recipe, counts, levels, (levels[0] - recipe["pitch"], levels[-1] + recipe["pitch"]), rng),
    ]


def coiled(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """A foundation that spirals up, wrapped coil by coil in sewing stitches."""
    levels = _row_levels(recipe, surface.length, rng)
    pitch, rod, sew = recipe["pitch"], recipe["rod"], recipe["sew"]
    along = np.linspace(0, len(levels), len(levels) * 160)
    s_core = np.interp(along, np.arange(len(levels)), levels)
    names = recipe["design"]["colours"]
    core_tint = tinted([recipe.get("core", names[0])], np.zeros((1, 1), dtype=np.int64), rng) * 0.7
    core = _strands(surface, s_core[None], along[None], np.array(rod), np.array([pitch * 0.46, rod * 0.92]), core_tint)
    counts = [max(8, round(surface.girth_at(s) / recipe["spacing"])) for s in levels]
    design = stitch_colours(recipe["design"], len(levels), max(counts))
    row = np.repeat(np.arange(len(levels)), counts)
    share = np.concatenate([(np.arange(n) + 0.5) / n for n in counts])
    number = np.concatenate([np.full(n, n) for n in counts])
    colour = design[row, np.minimum((share * design.shape[1]).astype(int), design.shape[1] - 1)]
    t = np.linspace(-1, 1, 9)[None, :]
    lean = recipe.get("slant", 0.35) * (1 if recipe.get("lean", "right") == "right" else -1)
    middle = np.interp(row + share, np.arange(len(levels)), levels)[:, None] + 0.04 * pitch * rng.standard_normal(
        (len(row), 1)
    )
    s = middle + t * 0.58 * pitch
    u = share[:, None] + (lean * t / 2 + 0.10 * rng.standard_normal((len(row), 1))) / number[:, None]
    d = rod * 0.75 + (rod * 1.25 + sew) * np.sqrt(1 - (0.93 * t) ** 2) + 0.05 * sew * rng.standard_normal((len(row), 1))
    gap = np.array([surface.girth_at(x) for x in levels])[row] / number
    flat = (
        0.5
        * recipe.get("cover", 0.96)
        * gap[:, None]
        * (1 + 0.06 * rng.standard_normal((len(row), 1)))
        * np.ones_like(t)
    )
    half = np.stack([flat, np.full_like(flat, sew)], -1)
    tint = tinted(names, colour, rng, 0.09)[:, None, :]
    return [core, _strands(surface, s, u, d, half, tint, sides=6)]


def plaited(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """Two sets of flat strips spiralling at opposite angles, over one under one; glass shows in the diamonds."""
    n, rows = recipe["strips"], recipe["levels"]  # strips a set, levels of crossings
    rate = rows / (2 * n * surface.length)  # turns per mm, so that 2 * rate * n * s counts crossings
    s = np.linspace(0, surface.length, rows * 10)[None, :]
    wave = np.cos(np.pi * 2 * rate * n * s)
    names = recipe["design"]["colours"]
    sets = []
    for side in (1, -1):
        start = np.arange(n)[:, None] / n + 0.02 / n * rng.standard_normal((n, 1)) * 3
        wander = (
            0.10 / n * np.sin(2 * np.pi * (s / surface.length * rng.integers(1, 4, (n, 1)) + rng.uniform(size=(n, 1))))
        )
        u = start + side * rate * s + wander * 0.6
        d = recipe["thick"] * (1.6 + 1.1 * side * wave) + np.zeros_like(u)
        narrow = np.clip(np.array([surface.girth_at(x) for x in s[0]]) / max(surface.girth), 0.55, 1.0)
        width = recipe["width"] / 2 * (1 + 0.08 * rng.standard_normal((n, 1))) * narrow[None]
        half = np.stack([width + np.zeros_like(u), np.full_like(u, recipe["thick"] * 0.5)], -1)
        index = np.full((n, 1), 0 if side == 1 else min(1, len(names) - 1), dtype=np.int64)
        sets.append(_strands(surface, s, u, d, half, tinted(names, index, rng, 0.12), sides=10, finish="strip"))
    return sets


def netted(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """A net of cord with a knot at every corner of its meshes."""
    n, rows, cord = recipe["meshes"], recipe["levels"], recipe["cord"]
    level = np.linspace(0, surface.length, rows + 1)
    sag = 0.10 * (level[1] - level[0]) * rng.standard_normal((rows + 1, n))
    drift = 0.10 / n * rng.standard_normal((rows + 1, n))
    sag[[0, -1]] = 0
    knots_u = np.array([(np.arange(n) + 0.5 * (k % 2)) / n for k in range(rows + 1)]) + drift
    knots_s = level[:, None] + sag
    t = np.linspace(0, 1, 12)
    s_all, u_all = [], []
    for k in range(rows):
        for side in (0, 1):
            shift = side - 1 if k % 2 == 0 else side
            nxt_u = (
                np.roll(knots_u[k + 1], -shift)
                + np.where(np.arange(n) + shift >= n, 1, 0)
                + np.where(np.arange(n) + shift < 0, -1, 0)
            )
            nxt_s = np.roll(knots_s[k + 1], -shift)
            u_all.append(knots_u[k][:, None] * (1 - t) + nxt_u[:, None] * t)
            s_all.append(knots_s[k][:, None] * (1 - t) + nxt_s[:, None] * t)
    s, u = np.concatenate(s_all), np.concatenate(u_all)
    names = recipe["design"]["colours"]
    tint = tinted(names, np.zeros((len(s), 1), dtype=np.int64), rng, 0.05)
    lines = _strands(surface, s, u, np.array(cord * 1.05), np.array([cord, cord]), tint, sides=9, finish="cord")
    return [lines, _knots(surface, knots_s[1:].ravel(), knots_u[1:].ravel(), cord, names, rng)]


def _knots(
    surface: Surface, s0: FloatArray, u0: FloatArray, cord: float, names: list[str], rng: np.random.Generator
) -> Strands:
    """Each knot a trefoil pulled tight."""
    t = np.linspace(0, 2 * np.pi, 46)[None, :] + rng.uniform(0, 6.3, (len(s0), 1))
    size = cord * 0.85 * (1 + 0.08 * rng.standard_normal((len(s0), 1)))
    girth = np.array([surface.girth_at(x) for x in s0])[:, None]
    s = s0[:, None] + size * (np.cos(t) - 2 * np.cos(2 * t))
    u = u0[:, None] + size * (np.sin(t) + 2 * np.sin(2 * t)) / girth
    d = cord * 1.9 - size * 0.9 * np.sin(3 * t)
    tint = tinted(names, np.zeros((len(s0), 1), dtype=np.int64), rng, 0.06)
    return _strands(surface, s, u, d, np.array([cord, cord]), tint, sides=8, finish="cord")


def hitched(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """Rows of half hitches, each loop hung from the row before."""
    levels = _row_levels(recipe, surface.length, rng)
    pitch, cord = recipe["pitch"], recipe["cord"]
    counts = [max(8, round(surface.girth_at(s) / recipe["spacing"])) for s in levels]
    design = stitch_colours(recipe["design"], len(levels), max(counts))
    s_all, u_all, d_all, c_all = [], [], [], []
    names = recipe["design"]["colours"]
    for k, n in enumerate(counts):
        tau = np.linspace(0, 2 * np.pi * n, n * 14, endpoint=False)
        loop = (tau / (2 * np.pi)).astype(int)
        wob = 1 + 0.06 * rng.standard_normal(n)[loop]
        u_all.append((tau / (2 * np.pi) - 0.36 * np.sin(tau) * wob) / n)
        s_all.append(levels[k] + pitch * tau / (2 * np.pi * n) - 0.72 * pitch * np.cos(tau) * wob)
        d_all.append(cord * (1.35 + 0.75 * np.cos(tau) + 0.25 * np.sin(tau)))
        c_all.append(tinted(names, design[k, loop * design.shape[1] // n], rng, 0.02))
    s, u, d = np.concatenate(s_all), np.concatenate(u_all), np.concatenate(d_all)
    half = np.array([cord, cord])
    return [_strands(surface, s[None], u[None], d[None], half, np.concatenate(c_all)[None], sides=8, finish="cord")]


def wrapped(surface: Surface, recipe: Recipe, rng: np.random.Generator) -> list[Strands]:
    """Cord wound round and round, turn against turn."""
    cord = recipe["cord"]
    turns = surface.length / (2 * cord * 0.98)
    along = np.linspace(0, turns, int(turns * 90))
    s = along / turns * surface.length + 0.05 * cord * np.sin(2 * np.pi * along * 3.3)
    tint = tinted(recipe["design"]["colours"][:1], np.zeros((1, 1), dtype=np.int64), rng)
    return [
        _strands(surface, s[None], along[None], np.array(cord), np.array([cord, cord]), tint, sides=9, finish="cord")
    ]


def rope(
    surface: Surface, s: float, radius: float, colour: str, rng: np.random.Generator, depth: float = 0.0, plies: int = 2
) -> list[Strands]:
    """A twisted rope round the wall at s: a border or a foot."""
    turns = max(8, round(surface.girth_at(min(s, surface.length)) / (radius * 5.0)))
    along = np.linspace(0, 1, turns * 16)
    strands = []
    for ply in range(plies):
        angle = 2 * np.pi * (turns * along + ply / plies)
        tint = tinted([colour], np.zeros((1, 1), dtype=np.int64), rng)
        ss = s + 0.52 * radius * np.cos(angle)
        dd = depth + radius * 1.1 + 0.52 * radius * np.sin(angle)
        strands.append(
            _strands(surface, ss[None], along[None], dd[None], np.array([radius * 0.62, radius * 0.62]), tint, sides=8)
        )
    return strands


TECHNIQUES: dict[str, Callable[[Surface, Recipe, np.random.Generator], list[Strands]]] = {
    "twined": twined,
    "wicker": wicker,
    "coiled": coiled,
    "plaited": plaited,
    "netted": netted,
    "hitched": hitched,
    "wrapped": wrapped,
}

"""Colours of strands and the designs worked with them: bands, motifs, numbers and initials."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

FloatArray = NDArray[np.float64]

COLOURS = {  # linear RGB
    "willow": (0.36, 0.20, 0.085),
    "peeled": (0.58, 0.43, 0.25),
    "bleached": (0.68, 0.57, 0.40),
    "brown": (0.105, 0.050, 0.024),
    "chestnut": (0.21, 0.085, 0.035),
    "black": (0.022, 0.019, 0.018),
    "red": (0.30, 0.045, 0.028),
    "ochre": (0.50, 0.26, 0.055),
    "indigo": (0.035, 0.055, 0.135),
    "green": (0.12, 0.15, 0.055),
    "hemp": (0.47, 0.38, 0.25),
    "tarred": (0.060, 0.038, 0.025),
    "rush": (0.36, 0.31, 0.13),
    "white": (0.72, 0.67, 0.58),
    "sea": (0.07, 0.16, 0.17),
}

MOTIFS = {
    "lozenge": [
        "....#....",
        "...###...",
        "..##o##..",
        ".##ooo##.",
        "##oo#oo##",
        ".##ooo##.",
        "..##o##..",
        "...###...",
        "....#....",
    ],
    "step": ["####....", "..####..", "....####", "..####.."],
    "wave": ["##......", ".##...##", "..##.##.", "...###.."],
    "gull": ["#.......#", "##.....##", ".###.###.", "...###...", "....#...."],
    "boat": ["....#....", "....##...", "....###..", "....####.", "....#....", "#.......#", "#########", ".#######."],
    "fish": ["...###....", ".#######.#", "##o######.", "#########.", ".#######.#", "...###...."],
    "heron": [
        "..##....",
        ".#o#....",
        "...#....",
        "...#....",
        "..####..",
        ".######.",
        "..####.#",
        "...##...",
        "...#....",
        "...#....",
        "..##....",
    ],
    "house": ["...#...", "..###..", ".#####.", "#######", ".#o#o#.", ".#####.", ".##o##."],
    "key": ["#######", "#.....#", "#.###.#", "#.#...#", "#.#####", "#......", "#######"],
    "dash": ["##"],
    "checks": ["##..", "##..", "..##", "..##"],
}


def lettering(text: str) -> list[str]:
    """Text as rows of # and . , one character a stitch."""
    font = ImageFont.truetype("DejaVuSansMono-Bold.ttf", 10)
    box = font.getbbox(text)
    picture = Image.new("1", (int(box[2]) + 2, 14), 0)
    draw = ImageDraw.Draw(picture)
    draw.fontmode = "1"
    draw.text((1, 1), text, fill=1, font=font)
    grid = np.asarray(picture)
    rows, cols = np.flatnonzero(grid.any(1)), np.flatnonzero(grid.any(0))
    grid = grid[rows[0] : rows[-1] + 1, cols[0] : cols[-1] + 1]
    return ["".join("#" if cell else "." for cell in row) for row in grid]


def stitch_colours(design: dict[str, Any], rows: int, columns: int) -> NDArray[np.int64]:
    """
    Which colour each stitch has.

    Parameters
    ----------
    design : dict
        ``colours``: names, the ground first; ``bands``: [[from, to, colour]] as shares of the height;
        ``motifs``: [{"motif" or "text", "at": share, "colours": [index of #, index of o], "repeats", "turn"}].

    Returns
    -------
    array, shape (rows, columns)
        Index into ``colours``; row 0 at the base, column 0 at the back.
    """
    grid = np.zeros((rows, columns), dtype=np.int64)
    for low, high, colour in design.get("bands", ()):
        first = round(low * rows)
        grid[first : max(first + 1, round(high * rows))] = colour
    for item in design.get("motifs", ()):
        _set_motif(grid, item)
    return grid


def _set_motif(grid: NDArray[np.int64], item: dict[str, Any]) -> None:
    rows, columns = grid.shape
    pattern = lettering(item["text"]) if "text" in item else MOTIFS[item["motif"]]
    wide, tall = max(map(len, pattern)), len(pattern)
    grow = item.get("grow", 1)
    repeats = item.get("repeats") or max(1, columns // (wide * grow + item.get("gap", 2)))
    top = round(item["at"] * rows) + tall * grow // 2
    for again in range(repeats):
        middle = columns / 2 + again * columns / repeats + item.get("turn", 0) * columns
        for i, line in enumerate(pattern):
            for j, mark in enumerate(line):
                if mark == ".":
                    continue
                colour = item["colours"][0 if mark == "#" else 1]
                for di in range(grow):
                    row = top - i * grow - di
                    for dj in range(grow):
                        column = int(np.floor(middle - wide * grow / 2 + j * grow + dj)) % columns
                        if 0 <= row < rows:
                            grid[row, column] = colour


def tinted(names: list[str], index: NDArray[np.int64], rng: np.random.Generator, spread: float = 0.10) -> FloatArray:
    """Linear RGB for colour indices, each stitch a little lighter or darker than the next, as natural strands are."""
    table = np.array([COLOURS[name] for name in names])
    light = np.exp(spread * rng.standard_normal(index.shape))[..., None]
    warm = 1 + 0.25 * spread * rng.standard_normal((*index.shape, 1)) * np.array([0.6, 0.0, -0.8])
    return np.clip(table[index] * light * warm, 0, 1)

"""What a person should know of a measured outline, in words: bulges, parts not seen, guesses, contradictions."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from weftglass.photos.rows import runs
from weftglass.photos.scale import Scale
from weftglass.photos.solve import Solved, unit_from_bar

FloatArray = NDArray[np.float64]


def bulges(solved: Solved, unit_mm: float) -> tuple[tuple[tuple[float, float], ...], list[str]]:
    hidden: list[tuple[float, float]] = []
    remarks: list[str] = []
    z = (solved.shape.base_drop - solved.sides.y) * unit_mm
    for name, flags in (("left", solved.sides.left_bulge), ("right", solved.sides.right_bulge)):
        for first, last in runs(flags):
            low, high = max(0.0, float(z[last])), float(z[first])
            hidden.append((low, high))
            remarks.append(
                f"The outline stands out on the {name} between {low:.0f} and {high:.0f} mm: a handle or strap? "
                "The other side is drawn there, and the inference reads neither."
            )
    for first, last in runs(solved.sides.cut):
        low, high = max(0.0, float(z[last])), float(z[first])
        hidden.append((low, high))
        remarks.append(f"Between {low:.0f} and {high:.0f} mm both sides leave the picture: nothing is known there.")
    return tuple(sorted(hidden)), remarks


def doubts(
    polygon: FloatArray,
    image_size: tuple[int, int],
    focal_35mm: float | None,
    uncertain: str,
    solved: Solved,
    *,
    guessed: bool,
) -> list[str]:
    """What is guessed, not told or not seen; by how much the height is uncertain comes in words, with its unit."""
    remarks: list[str] = []
    if focal_35mm is None:
        remarks.append(
            "The focal length is not known, so a camera 0.55 to 1.2 m away is assumed: "
            f"the height is uncertain by {uncertain} for that and the tilt."
        )
    if solved.depth is not None and guessed:
        remarks.append(
            "The bottom edge is straight, so the piece is taken to be square or flat and seen square-on; "
            "its depth is not known, which is allowed for. Say what its section is, and it is measured better."
        )
    if solved.tilt.sd > 4:
        remarks.append(
            "The edges at bottom and top do not agree on how far the camera looked down, or do not tell: "
            f"the height, all told, is uncertain by {uncertain}."
        )
    remarks += [
        f"The {name} is not seen: heights count from the lowest point that is, and the piece is taller than this."
        for name, gone in (("base", solved.cut.base), ("top", solved.cut.top))
        if gone
    ]
    sides = {"left": polygon[:, 0].min() < 1, "right": polygon[:, 0].max() > image_size[0] - 2}
    return remarks + [
        f"The outline is cut off by the {name} edge of the picture." for name, cut in sides.items() if cut
    ]


def size_doubts(
    solved: Solved,
    scale: Scale | None,
    height_mm: float | None,
    height_sd_mm: float,
    spread: float,
    *,
    shape_only: bool,
) -> list[str]:
    """No size, a height of which only a part is seen, or a bar and a height that do not agree."""
    if shape_only:
        return ["No size is known: only the shape counts. One measured height or diameter would tell most."]
    if height_mm is None:
        return []
    if solved.cut.any:
        return ["A known height sets the scale badly while a part of the piece is not seen: measure a width instead."]
    if scale is None:
        return []
    by_bar = unit_from_bar(solved.frame, scale) * solved.shape.height
    sd = math.hypot(by_bar * math.hypot(scale.rel_sd, spread / solved.shape.height), height_sd_mm)
    if abs(by_bar - height_mm) <= 2 * sd:
        return []
    return [
        f"Bar and height disagree: by the bar the piece is {by_bar:.0f} ± {sd:.0f} mm tall, by the tape "
        f"{height_mm:g} mm. Check both; until then neither is to be trusted."
    ]

"""
Draws the starter library: from one row of published dimensions to forms with profiles that agree with their capacity.

Dimensions, years, finishes and colours come from ``data/published_dimensions.csv``; each row also holds the proportions
of its drawing. A row with several capacities gives one form a capacity: the least dimensions go with the first, the
greatest with the last, those between follow the capacity. Nothing here runs when weftglass answers;
``tools/make_starter_forms.py`` calls it and writes ``data/forms.jsonl``.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from weftglass.vessels.contours import BODIES, Contour, Draught, neck_rows
from weftglass.vessels.form import Form, Tolerance
from weftglass.vessels.lips import finish_height_mm, lip_contour, neck_below
from weftglass.vessels.profile import Profile
from weftglass.vessels.section import CORNER, Section
from weftglass.vessels.volume import CONTAINER_GLASS_G_PER_ML, outer_volume_ml

Row = Mapping[str, str]

BRIM_OVER_NOMINAL = 1.035  # usual brimful over nominal capacity, 1.02 to 1.07; from memory
COMMONNESS = {"common": 1.0, "uncommon": 0.3, "rare": 0.1}  # working figures, no source
LEAST_STEP_MM = 0.05  # horizontal ledges rise by this much, since z must rise
KEEP_MM = 0.03  # rows are dropped where the contour without them stays this close
NECK_POWER = 0.55  # necks and lips grow with the body's width to this power between sizes of a row; working figure
PUSH_UP_SHARE = 0.38  # radius of a push-up over the greatest half-width, cone taken; working figure

CORKED = "cork"
CLOSURES = {
    "crown": "crown cap", "sparkling wine crown": "crown cap", "continuous thread": "screw cap",
    "external thread": "screw cap", "jar thread": "screw cap", "roll-on": "roll-on cap", "long roll-on": "roll-on cap",
    "swing stopper": "swing stopper", "internal screw": "internal screw stopper", "globe stopper": "glass ball",
    "gravitating stopper": "internal glass stopper", "wire-loop stopper": "internal wire-loop stopper",
    "ground stopper": "ground glass stopper", "club sauce": "glass stopper with shell cork", "siphon": "metal head",
    "milk cap seat": "waxed disk", "milk foil": "foil cap", "wax groove": "tin lid and wax",
    "wire-clamp lid": "glass lid with wire clamp", "wide patent": "cork", "bar-top": "flanged cork",
}  # fmt: skip
SIZE_NAMES = {
    237: "½ US pint", 473: "US pint", 946: "US quart", 1893: "½ US gallon", 3785: "US gallon", 7571: "2 US gallons",
    11356: "3 US gallons", 18927: "5 US gallons", 22712: "6 US gallons", 45420: "12 US gallons", 49210: "13 US gallons",
    568: "imperial pint", 1136: "imperial quart", 2273: "½ imperial gallon", 4546: "imperial gallon",
    9092: "2 imperial gallons", 13638: "3 imperial gallons", 22730: "5 imperial gallons", 284: "½ imperial pint",
    142: "imperial gill", 757: "reputed quart or fifth", 378: "reputed pint or tenth", 355: "12 US fl oz",
}  # fmt: skip


@dataclass(frozen=True)
class Fit:
    """How well a drawing's own brimful capacity agrees with the published nominal one."""

    form_id: str
    drawn_over_nominal: float


def read_dimensions(path: str | Path) -> list[dict[str, str]]:
    """Rows of the table of published dimensions."""
    with Path(path).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def draw_all(rows: list[dict[str, str]]) -> Iterator[tuple[Form, Fit]]:
    """Every form of the table, in its order, with the agreement of its capacity."""
    for row in rows:
        capacities = [float(text) for text in row["capacities_ml"].split(";")]
        for i, capacity in enumerate(capacities):
            yield draw(row, capacity, _place(capacities, i))


def _place(capacities: list[float], i: int) -> float | None:
    """Where a size stands between the least (0) and the greatest (1) of its row; None for a row of one size."""
    if len(capacities) == 1:
        return None
    return math.log(capacities[i] / capacities[0]) / math.log(capacities[-1] / capacities[0])


def draw(row: Row, capacity_ml: float, place: float | None) -> tuple[Form, Fit]:
    """
    One form: dimensions of this size, drawn, its width and shoulder settled so that it holds its capacity.

    Parameters
    ----------
    row : mapping
        A row of the table.
    capacity_ml : float
        Nominal capacity of this size, ml.
    place : float or None
        0 for the least size of the row, 1 for the greatest, None for a row of one size.
    """
    height, width, depth = (_between(row, name, place) for name in ("height", "width", "depth"))
    weight = _weight(row, place)
    slack = _slack(row, place)
    wanted = BRIM_OVER_NOMINAL * capacity_ml + sum(weight) / 2 / CONTAINER_GLASS_G_PER_ML
    best: tuple[float, tuple[float, float]] | None = None
    for shift in (0.0, 0.015, -0.015, 0.03, -0.03, 0.045, -0.045, 0.06, -0.06):
        scale = _settled_width(row, height, width, depth, shift, slack, wanted)
        error = abs(math.log(_displaced(row, height, width * scale, depth * scale, shift) / wanted))
        if best is None or error < best[0] - 0.004:
            best = (error, (scale, shift))
        if best[0] < 0.002:
            break
    assert best is not None  # the loop above runs at least once
    scale, shift = best[1]
    form = _form(row, capacity_ml, place, height, width * scale, depth * scale, shift, weight)
    glass = sum(weight) / 2 / CONTAINER_GLASS_G_PER_ML
    held = _displaced(row, height, width * scale, depth * scale, shift) - glass
    return form, Fit(form.id, held / (BRIM_OVER_NOMINAL * capacity_ml))


def _settled_width(
    row: Row, height: float, width: float, depth: float, shift: float, slack: tuple[float, float], wanted: float
) -> float:
    """Factor on width and depth, within the slack, that brings the outer volume closest to the wanted one."""
    low, high = slack
    for _ in range(22):
        middle = 0.5 * (low + high)
        if _displaced(row, height, width * middle, depth * middle, shift) < wanted:
            low = middle
        else:
            high = middle
    return round(0.5 * (low + high), 4)


def _slack(row: Row, place: float | None) -> tuple[float, float]:
    """
    Factors by which width and depth may move: over the published range for one size; in a row of several sizes by up to
    3 % beyond its ends and 12 % within them.
    """
    if place is not None:
        return 0.97 - 0.09 * place, 1.12 - 0.09 * place
    low, high = float(row["width_min_mm"]), float(row["width_max_mm"])
    middle = 0.5 * (low + high)
    return min(0.98, low / middle), max(1.02, high / middle)


def _between(row: Row, name: str, place: float | None) -> float:
    low, high = float(row[f"{name}_min_mm"]), float(row[f"{name}_max_mm"])
    return 0.5 * (low + high) if place is None else low * (high / low) ** place


def _weight(row: Row, place: float | None) -> tuple[float, float]:
    low, high = float(row["weight_min_g"]), float(row["weight_max_g"])
    if place is None or high < 1.35 * low:
        return low, high
    middle = 1.15 * low * (high / (1.15**2 * low)) ** place
    return float(f"{middle / 1.15:.3g}"), float(f"{middle * 1.15:.3g}")


def _displaced(row: Row, height: float, width: float, depth: float, shift: float) -> float:
    """Outer volume of the drawing less the air of its push-up, ml."""
    front, side = _profiles(row, height, width, depth, shift)
    section = _section(row, width)
    hollow = math.pi / 3 * (PUSH_UP_SHARE * width / 2) ** 2 * _push_up(row, width) / 1000.0
    return outer_volume_ml(front, section=section, side_profile=side) - hollow


def _push_up(row: Row, width: float) -> float:
    return float(row["push_up_mm"]) * width / _middle_width(row)


def _middle_width(row: Row) -> float:
    return 0.5 * (float(row["width_min_mm"]) + float(row["width_max_mm"]))


def _mouth(row: Row, width: float, name: str) -> float:
    """A neck, lip or bore diameter of the middle size, carried to this size."""
    return float(float(row[f"{name}_mm"]) * (width / _middle_width(row)) ** NECK_POWER)


def _profiles(row: Row, height: float, width: float, depth: float, shift: float) -> tuple[Profile, Profile | None]:
    front = _contour(row, height, width, width, shift)
    if row["section"] == "round" or (row["section"] != "polygon" and abs(depth / width - 1) < 0.01):
        return front, None
    return front, _contour(row, height, width, depth, shift)


def _contour(row: Row, height: float, width: float, across: float, shift: float) -> Profile:
    """Profile of the face that is ``across`` wide, on a vessel that is ``width`` wide."""
    lip = _mouth(row, width, "lip") / 2
    neck = min(_mouth(row, width, "neck") / 2, 0.96 * across / 2)
    z_shoulder = (float(row["body_share"]) + shift) * height
    z_neck = max((1 - float(row["neck_share"]) + 0.7 * shift) * height, z_shoulder + 0.03 * height)
    finish = row["finishes"].split(";")[0]
    tall = finish_height_mm(finish, 2 * lip, height - z_neck)
    draught = Draught(
        body=row["body"],
        height=height,
        half_width=across / 2,
        base=float(row["base_mm"]) / 2 * across / _middle_width(row),
        neck=neck,
        neck_top=neck_below(finish, neck, lip),
        lip=lip,
        z_shoulder=z_shoulder,
        z_neck=z_neck,
        z_finish=height - tall,
        fullness=float(row["fullness"]),
        root=float(row["root"]),
        taper=float(row["taper"]),
        heel=float(row["heel"]),
        belly=float(row["belly"] or 0) + 0.5 * shift,
        power=float(row["power"] or 2),
        neck_taper=float(row["neck_taper"]),
        neck_kind=row["neck_kind"],
    )
    body = BODIES[draught.body](draught)
    necked = neck_rows(draught)
    return smoothed(body + necked + lip_contour(finish, height - tall, tall, necked[-1][1], lip), height)


def smoothed(rows: Contour, height: float) -> Profile:
    """Rows with strictly rising heights, rounded to hundredths of a mm, without rows that a straight line replaces."""
    z = np.array([row[0] for row in rows])
    r = np.array([max(row[1], 0.0) for row in rows])
    z = np.maximum.accumulate(np.clip(z, 0.0, height))
    kept_z, kept_r = [0.0], [float(r[0])]
    for height_here, half_width in zip(z[1:].tolist(), r[1:].tolist(), strict=True):
        if height_here - kept_z[-1] >= LEAST_STEP_MM:
            kept_z.append(height_here)
            kept_r.append(half_width)
        elif abs(half_width - kept_r[-1]) > KEEP_MM and kept_z[-1] + LEAST_STEP_MM < height:
            kept_z.append(kept_z[-1] + LEAST_STEP_MM)  # a ledge
            kept_r.append(half_width)
    if kept_z[-1] < height:
        kept_z.append(height)
        kept_r.append(float(r[-1]))
    points = np.round(np.column_stack([kept_z, kept_r]), 2)
    points = points[np.concatenate([[True], np.diff(points[:, 0]) > 0])]
    return Profile.of(points, "drawing").simplified(KEEP_MM)


def _section(row: Row, width: float) -> Section:
    kind = row["section"]
    if kind == "round":
        return Section("round")
    corner = float(row["corner"]) if row["corner"] else CORNER.get(kind)
    if kind in ("oval", "flask"):
        return Section(kind, corner=corner)  # these close to a circle by themselves where width and depth agree
    mouth = max(_mouth(row, width, "lip"), _mouth(row, width, "neck") * float(row["neck_taper"])) / 2 + 0.1
    low = min(mouth, 0.9 * width / 2)
    high = min(1.35 * low, 0.985 * width / 2)
    sides = int(row["sides"]) if row["sides"] else None
    return Section(kind, sides, corner, (round(low, 2), round(high, 2)))


def _form(
    row: Row, capacity: float, place: float | None, height: float, width: float, depth: float, shift: float,
    weight: tuple[float, float],
) -> Form:  # fmt: skip
    front, side = _profiles(row, height, width, depth, shift)
    finish = tuple(row["finishes"].split(";"))
    closures = tuple(dict.fromkeys(CLOSURES.get(kind, CORKED) for kind in finish))
    size = SIZE_NAMES.get(round(capacity))
    push_up = round(_push_up(row, width))
    return replace(
        Form(row["form"], row["name"], _section(row, width), front),
        id=row["form"] if place is None else f"{row['form']}-{capacity:.0f}ml",
        size=f"{capacity:g} ml" if size is None else f"{size} ({capacity:g} ml)",
        family=row["family"],
        side_profile=side,
        tolerance=_tolerance(row, place, height, width),
        finish=finish,
        closure=closures,
        colours=tuple(row["colours"].split(";")),
        base=_base(row, push_up),
        contents=row["contents"],
        region=row["region"],
        bore_mm=round(_mouth(row, width, "bore"), 1),
        push_up_mm=float(push_up) if push_up else None,
        weight_g=weight,
        capacity_ml=capacity,
        years=(int(row["year_from"]), int(row["year_to"])),
        commonness=COMMONNESS[row["commonness"]],
        source=f"drawn from catalogue dimensions; {row['source']}",
    )


def _base(row: Row, push_up: int) -> tuple[str, ...]:
    """What the base shows; pontil scars up to about 1860 and suction scars from 1905 (see SOURCES.md)."""
    marks = []
    if row["body"] == "egg":
        marks.append("pointed, does not stand")
    elif row["body"] == "roundbottom":
        marks.append("rounded, does not stand")
    elif push_up >= 12:
        marks.append("push-up")
    if int(row["year_from"]) < 1850:
        marks.append("pontil scar")
    if int(row["year_to"]) >= 1850 and int(row["year_from"]) < 1915 and row["body"] != "egg":
        marks.append("smooth")
    if int(row["year_to"]) >= 1930:
        marks.append("machine-made")
    return tuple(marks)


def _tolerance(row: Row, place: float | None, height: float, width: float) -> Tolerance:
    """
    Spread about the drawing: the published range of one size as four standard deviations, with how it was made.

    Free-blown or dip-moulded 3 % in height and width (no two alike; capacity 8 %), mould-blown 2 % and 0.8 %,
    machine-made half a percent (from memory, see SOURCES.md). How far a drawing made from catalogue dimensions may be
    from the glass: 2 mm for a wine bottle, in proportion to the size of the vessel; working figure, no source.
    """
    first, last = int(row["year_from"]), int(row["year_to"])
    free = last <= 1850 or row["contents"] == "storage" or "fiasco" in row["form"]
    made = (0.03, 0.03) if free else (0.005, 0.005) if first >= 1905 else (0.02, 0.008)
    pattern = []
    for name in ("height", "width"):
        low, high = float(row[f"{name}_min_mm"]), float(row[f"{name}_max_mm"])
        pattern.append((high - low) / (high + low) / 2 if place is None else 0.015)
    sds = [min(0.06, round(math.hypot(a, b), 3)) for a, b in zip(made, pattern, strict=True)]
    shape = 2.0 * math.sqrt(height * width / (300.0 * 80.0))
    return Tolerance(sds[0], sds[1], round(min(max(shape, 0.6), 6.0), 1))

"""A form library laid out as arrays: what every form would show in silhouette, and what a calliper would read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.vessels import Form

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

STEPS = 192  # height steps of a tabulated silhouette; 193 values, 1.5 mm apart on a 290 mm bottle
SLOPE_CAP = 12.0  # |d half-width / d height| is cut here: beyond it a horizontal reading says nothing
NECK_SHARE = 0.7  # of the greatest width: where a square bottle is narrower it is round
TURNED = (0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0)  # degrees tried for a view turned by an unknown angle


@dataclass(frozen=True, eq=False)
class FormBank:
    """
    Tables over F forms and 193 equal height steps from base (0) to lip (192).

    Attributes
    ----------
    forms : tuple of Form
        In the order of the library; every array's first axis follows it.
    heights : array (F,)
        Height of the glass, mm.
    silhouettes : dict from turn in degrees to array (F, 193)
        Half-width in mm; turn 0 is the front, 90 the side. Round forms share one table.
    height_sd, width_sd, shape_sd : array (F,)
        The form's tolerance: relative, relative, mm.
    front, side : array (F, 193)
        Half-width and half-depth, mm.
    girth : array (F, 193)
        Perimeter of the section, mm.
    """

    forms: tuple[Form, ...]
    heights: FloatArray
    front: FloatArray
    side: FloatArray
    girth: FloatArray
    height_sd: FloatArray
    width_sd: FloatArray
    shape_sd: FloatArray
    is_round: NDArray[np.bool_]
    silhouettes: dict[float, FloatArray]
    flat_faced: NDArray[np.bool_]

    @classmethod
    def of(cls, forms: Sequence[Form]) -> FormBank:
        """Tabulate the forms (about 0.2 ms a form); keep the bank as long as the library does not change."""
        grid = np.linspace(0.0, 1.0, STEPS + 1)
        count = len(forms)
        front, side, girth = (np.empty((count, STEPS + 1)) for _ in range(3))
        for i, form in enumerate(forms):
            z = grid * form.profile.height_mm
            front[i] = form.profile.half_width_at(z)
            side[i] = front[i] if form.side_profile is None else form.side_profile.half_width_at(z)
            girth[i] = form.section.perimeter_mm(front[i], side[i])
        flat = np.array([form.section.kind != "round" for form in forms], dtype=bool)
        silhouettes = {0.0: front}
        for turn in TURNED[1:]:
            silhouettes[turn] = front
            if flat.any():
                table = front.copy()
                for i in map(int, np.flatnonzero(flat)):
                    table[i] = forms[i].section.silhouette_half_width(front[i], side[i], turn)
                silhouettes[turn] = table
        return cls(
            tuple(forms),
            np.array([form.profile.height_mm for form in forms]),
            front,
            side,
            girth,
            np.array([form.tolerance.height_sd for form in forms]),
            np.array([form.tolerance.width_sd for form in forms]),
            np.array([form.tolerance.shape_sd_mm for form in forms]),
            ~flat,
            silhouettes,
            np.array([form.section.kind in ("square", "rectangle") for form in forms], dtype=bool),
        )

    def __len__(self) -> int:
        return len(self.forms)

    def part(self, index: IntArray) -> FormBank:
        """The bank of some of the forms, in the order asked for."""
        return FormBank(
            tuple(self.forms[i] for i in index),
            self.heights[index],
            self.front[index],
            self.side[index],
            self.girth[index],
            self.height_sd[index],
            self.width_sd[index],
            self.shape_sd[index],
            self.is_round[index],
            {turn: table[index] for turn, table in self.silhouettes.items()},
            self.flat_faced[index],
        )

    def appearing(self, turn: float, distance_mm: float | None) -> FloatArray:
        """
        Silhouettes as they measure in the plane of the axis, (F, 193), mm.

        The edge of a flat front face stands nearer to the camera than the axis by half the depth and looks larger for
        it, by 8 % on a case bottle at half a metre; round walls keep their edge near that plane. Necks count as round.
        """
        table = self.silhouettes[turn]
        if distance_mm is None or turn not in (0.0, 90.0) or not self.flat_faced.any():
            return table
        depth = self.side if turn == 0.0 else self.front
        body = table > NECK_SHARE * table.max(axis=1, keepdims=True)
        near = np.where(self.flat_faced[:, None] & body, np.minimum(depth, 0.5 * distance_mm), 0.0)
        return np.asarray(table * distance_mm / (distance_mm - near), dtype=np.float64)

    def widened(self, height_sd: float, width_sd: float, shape_share: float) -> FormBank:
        """The same forms taken as vague neighbourhoods: the raw material of 'a vessel that nobody listed'."""
        return FormBank(
            self.forms,
            self.heights,
            self.front,
            self.side,
            self.girth,
            np.full(len(self), height_sd),
            np.full(len(self), width_sd),
            np.round(np.maximum(self.shape_sd, shape_share * self.front.max(axis=1)), 1),
            self.is_round,
            self.silhouettes,
            self.flat_faced,
        )


def swollen(table: FloatArray, step_mm: FloatArray, thickness_mm: FloatArray) -> FloatArray:
    """
    Outline of each vessel under an even covering: every edge point moved out by the thickness along its normal.

    Parameters
    ----------
    table : array (F, n)
        Half-widths in mm at equal height steps.
    step_mm : array (F,)
        Height step of each row, mm.
    thickness_mm : array (F,)
        Thickness of the covering, mm, >= 0.

    Returns
    -------
    array (F, n)
        Half-width of the covered piece at the same heights: the upper envelope of discs of that radius rolled along
        the edge (mathematical morphology: dilation by a disc), so a covering bridges a hollow it cannot enter.
    """
    result = table + thickness_mm[:, None]
    reach = np.ceil(thickness_mm / step_mm).astype(np.int64)
    order = np.argsort(reach, kind="stable")  # so that thin coverings are left out of the far steps by a slice
    sorted_table, sorted_result = table[order], result[order]
    reach, thick, step = reach[order], thickness_mm[order], step_mm[order]
    for j in range(1, int(reach.max(initial=0)) + 1):
        first = int(np.searchsorted(reach, j))
        inside = thick[first:] ** 2 - (j * step[first:]) ** 2
        lift = np.where(inside > 0, np.sqrt(np.maximum(inside, 0.0)), -np.inf)[:, None]
        lifted = sorted_table[first:] + lift
        np.maximum(sorted_result[first:, j:], lifted[:, :-j], out=sorted_result[first:, j:])
        np.maximum(sorted_result[first:, :-j], lifted[:, j:], out=sorted_result[first:, :-j])
    result[order] = sorted_result
    return result


def slopes(table: FloatArray, step_mm: FloatArray, reach_mm: float = 2.5) -> FloatArray:
    """d half-width / d height of each row over about ``reach_mm`` to each side, capped; shape (F, n)."""
    half = np.clip(np.round(reach_mm / step_mm).astype(np.int64), 1, 24)[:, None]
    n = table.shape[1]
    at = np.arange(n)
    low, high = np.maximum(at - half, 0), np.minimum(at + half, n - 1)
    run = (high - low) * step_mm[:, None]
    start = (np.arange(len(table)) * n)[:, None]
    low += start
    high += start
    values = np.ascontiguousarray(table).ravel()
    rise = values.take(high)
    rise -= values.take(low)
    rise /= run
    return np.clip(rise, -SLOPE_CAP, SLOPE_CAP, out=rise)


def looked_up(table: FloatArray, share: FloatArray) -> FloatArray:
    """Rows of a table read at a share of the height (0 base, 1 lip; ends held), linear; share and result (F, n)."""
    place = np.clip(share, 0.0, 1.0) * STEPS
    index = np.minimum(place.astype(np.int64), STEPS - 1)
    place -= index
    index += (np.arange(table.shape[0]) * table.shape[1])[:, None]
    values = np.ascontiguousarray(table).ravel()
    low = values.take(index)
    high = values[1:].take(index)
    high -= low
    high *= place
    high += low
    return high

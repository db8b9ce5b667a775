"""A form library laid out as arrays: what every form would show in silhouette, and what a calliper would read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from weftglass.inside.plain_forms import STEPS as STEPS
from weftglass.inside.plain_forms import PlainForms
from weftglass.vessels import Form

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

SLOPE_CAP = 12.0  # |d half-width / d height| is cut here: beyond it a horizontal reading says nothing
NECK_SHARE = 0.7  # of the greatest width: where a square bottle is narrower it is round
TURNED = (0.0, 15.0, 30.0, 45.0, 60.0, 75.0, 90.0)  # degrees tried for a view turned by an unknown angle


@dataclass(frozen=True, eq=False)
class FormBank:
    """
    Tables over F forms and 193 equal height steps from base (0) to lip (192).

    Attributes
    ----------
    forms : sequence of Form
        In the order of the library; every array's first axis follows it. A bank made from arrays makes them when asked.
    heights : array (F,)
        Height of the glass, mm.
    silhouettes : dict from turn in degrees to array (F, 193)
        Half-width in mm; turn 0 is the front, 90 the side. Round forms share one table.
    height_sd, width_sd, shape_sd : array (F,)
        The form's tolerance: relative, relative, mm.
    front, side : array (F, 193)
        Half-width and half-depth, mm.
    girths : array (F, 193) or None
        Perimeter of the section, mm; None where all are round.
    """

    forms: tuple[Form, ...] | PlainForms
    heights: FloatArray
    front: FloatArray
    side: FloatArray
    girths: FloatArray | None
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
        flat = np.array([form.section.kind != "round" for form in forms], dtype=bool)
        front = np.array([form.profile.half_width_at(grid * form.profile.height_mm) for form in forms])
        side, girth = front, None
        if flat.any():
            side, girth = front.copy(), 2.0 * np.pi * front
            for i in map(int, np.flatnonzero(flat)):
                form = forms[i]
                if form.side_profile is not None:
                    side[i] = form.side_profile.half_width_at(grid * form.profile.height_mm)
                girth[i] = form.section.perimeter_mm(front[i], side[i])
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

    @classmethod
    def from_arrays(
        cls,
        profiles: NDArray[np.floating],
        heights_mm: FloatArray,
        *,
        height_sd: float = 0.012,
        width_sd: float = 0.015,
        shape_sd_mm: float = 0.5,
        ids: Sequence[str] | None = None,
        families: Sequence[str] | None = None,
    ) -> FormBank:
        """
        A bank of round forms straight from arrays: a million of them need about a gigabyte, and no `Form` until asked.

        Parameters
        ----------
        profiles : array (F, 193)
            Half-width in mm at equal height steps from base to lip; kept as it is, float32 to save memory.
        heights_mm : array (F,)
            Height of the glass.
        height_sd, width_sd, shape_sd_mm : float
            The tolerance of all forms: relative, relative, mm.
        ids, families : sequence of str, optional
            F of each; default numbers, and each its own family.

        Raises
        ------
        InputError
            If the arrays do not fit each other or hold anything but finite lengths.
        """
        forms = PlainForms.of(profiles, heights_mm, (height_sd, width_sd, shape_sd_mm), ids, families)
        count = len(forms)
        return cls(
            forms,
            np.asarray(heights_mm, dtype=np.float64),
            forms.profiles,
            forms.profiles,
            None,
            np.full(count, height_sd),
            np.full(count, width_sd),
            np.full(count, shape_sd_mm),
            np.ones(count, dtype=bool),
            dict.fromkeys(TURNED, forms.profiles),
            np.zeros(count, dtype=bool),
        )

    def __len__(self) -> int:
        return len(self.heights)

    @property
    def girth(self) -> FloatArray:
        """Perimeter of the section, mm, (F, 193)."""
        return 2.0 * np.pi * self.front if self.girths is None else self.girths

    @cached_property
    def ids(self) -> Sequence[str]:
        """Of the forms, in order."""
        return self.forms.ids if isinstance(self.forms, PlainForms) else tuple(form.id for form in self.forms)

    @cached_property
    def families(self) -> tuple[Sequence[str], IntArray]:
        """Names of the families, and which of them each form belongs to, (F,)."""
        if isinstance(self.forms, PlainForms) and self.forms.families is None:
            return self.ids, np.arange(len(self), dtype=np.int64)
        listed = self.forms.families if isinstance(self.forms, PlainForms) else None
        names = [form.family_name for form in self.forms] if listed is None else listed
        known = {name: i for i, name in enumerate(dict.fromkeys(names))}
        return tuple(known), np.array([known[name] for name in names], dtype=np.int64)

    @cached_property
    def commonness(self) -> FloatArray:
        """Relative frequency of each form as listed, (F,)."""
        if isinstance(self.forms, PlainForms):
            return np.ones(len(self))
        return np.array([form.commonness for form in self.forms])

    def listed(self, figure: Callable[[Form], float | None]) -> FloatArray:
        """A figure above 0 that forms may list, such as their bore, (F,); not a number where a form lists none."""
        if isinstance(self.forms, PlainForms):
            return np.full(len(self), np.nan)
        return np.array([figure(form) or np.nan for form in self.forms], dtype=np.float64)

    def part(self, index: IntArray) -> FormBank:
        """The bank of some of the forms, in the order asked for."""
        taken = {id(table): table[index].astype(np.float64, copy=False) for table in self._tables}
        return FormBank(
            self.forms.part(index)
            if isinstance(self.forms, PlainForms)
            else tuple(self.forms[i] for i in index.tolist()),
            self.heights[index],
            taken[id(self.front)],
            taken[id(self.side)],
            None if self.girths is None else self.girths[index],
            self.height_sd[index],
            self.width_sd[index],
            self.shape_sd[index],
            self.is_round[index],
            {turn: taken[id(table)] for turn, table in self.silhouettes.items()},
            self.flat_faced[index],
        )

    @property
    def _tables(self) -> list[FloatArray]:
        """Front, side and silhouettes, each array once."""
        return list({id(table): table for table in (self.front, self.side, *self.silhouettes.values())}.values())

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
            self.girths,
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


def slopes_at(table: FloatArray, step_mm: FloatArray, share: FloatArray, reach_mm: float = 2.5) -> FloatArray:
    """d half-width / d height over about ``reach_mm`` to each side, capped, where `looked_up` reads the table."""
    steps = table.shape[1] - 1
    start = (np.arange(len(table)) * table.shape[1])[:, None]
    half = np.clip(np.round(reach_mm / step_mm).astype(np.int64), 1, 24)[:, None]
    values = np.ascontiguousarray(table).ravel()

    def slope(at: IntArray) -> FloatArray:
        low, high = np.maximum(at - half, 0), np.minimum(at + half, steps)
        run = (high - low) * step_mm[:, None]
        low += start
        high += start
        rise: FloatArray = values.take(high)
        rise -= values.take(low)
        rise /= run
        return np.asarray(np.clip(rise, -SLOPE_CAP, SLOPE_CAP, out=rise))

    index, between = _placed(share, steps)
    low, high = slope(index), slope(index + 1)
    return np.asarray(low + (high - low) * between)


def looked_up(table: FloatArray, share: FloatArray) -> FloatArray:
    """Rows of a table (F, m) of equal steps read linearly at a share of the height (0 base, 1 lip); rest (F, n)."""
    index, between = _placed(share, table.shape[1] - 1)
    index += (np.arange(table.shape[0]) * table.shape[1])[:, None]
    values = np.ascontiguousarray(table).ravel()
    low = values.take(index)
    high: FloatArray = values[1:].take(index)
    high -= low
    high *= between
    high += low
    return high


def _placed(share: FloatArray, steps: int) -> tuple[IntArray, FloatArray]:
    """The step below a share of the height, and how far it lies on the way to the next one, 0 to 1."""
    place = np.clip(share, 0.0, 1.0) * steps
    index = np.minimum(place.astype(np.int64), steps - 1)
    place -= index
    return index, place

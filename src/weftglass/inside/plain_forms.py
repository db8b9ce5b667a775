"""Round forms given as arrays: each becomes a `Form` only when somebody asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import SupportsIndex, overload

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.vessels import Form, Profile
from weftglass.vessels.form import Tolerance
from weftglass.vessels.section import Section

FloatArray = NDArray[np.float64]

MOST_MADE = 4096  # forms kept once they were asked for; beyond it they are made anew
STEPS = 192  # height steps of a tabulated silhouette; 193 values, 1.5 mm apart on a 290 mm bottle


@dataclass(frozen=True)
class Numbered(Sequence[str]):
    """Ids that are never written down: ``form-0`` up to a count."""

    length: int

    @overload
    def __getitem__(self, index: SupportsIndex) -> str: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[str]: ...
    def __getitem__(self, index: SupportsIndex | slice) -> str | Sequence[str]:
        if isinstance(index, slice):
            return [f"form-{i}" for i in range(*index.indices(self.length))]
        place = int(index)
        if not -self.length <= place < self.length:
            raise IndexError(place)
        return f"form-{place % self.length}"

    def __len__(self) -> int:
        return self.length


@dataclass(frozen=True, eq=False)
class PlainForms(Sequence[Form]):
    """
    F round forms of one tolerance.

    Attributes
    ----------
    profiles : array (F, 193)
        Half-width in mm at equal height steps.
    heights_mm : array (F,)
    tolerance : (height_sd, width_sd, shape_sd_mm)
    ids : sequence of str
    families : sequence of str or None
        None: each form is its own family.
    """

    profiles: FloatArray
    heights_mm: FloatArray
    tolerance: tuple[float, float, float]
    ids: Sequence[str]
    families: Sequence[str] | None
    _made: dict[int, Form] = field(default_factory=dict, repr=False)

    @classmethod
    def of(
        cls,
        profiles: NDArray[np.floating],
        heights_mm: FloatArray,
        tolerance: tuple[float, float, float],
        ids: Sequence[str] | None,
        families: Sequence[str] | None,
    ) -> PlainForms:
        """Check shapes and values; the table is kept as it is."""
        table, heights = np.asarray(profiles), np.asarray(heights_mm, dtype=np.float64)
        if table.ndim != 2 or table.shape[1] != STEPS + 1 or not len(table):
            raise InputError("bank", "profiles", table.shape, f"an array of shape (forms, {STEPS + 1})")
        for name, given in (("heights_mm", heights), ("ids", ids), ("families", families)):
            if given is not None and len(given) != len(table):
                raise InputError("bank", name, len(given), f"one for each of the {len(table)} forms")
        if not (np.isfinite(heights).all() and heights.min() > 0):
            raise InputError("bank", "heights_mm", float(heights.min()), "finite heights above 0, in mm")
        low, high = float(table.min()), float(table.max())
        if not (low >= 0 and np.isfinite(high)):
            raise InputError("bank", "profiles", low, "finite half-widths of at least 0, in mm")
        return cls(table, heights, tolerance, Numbered(len(table)) if ids is None else ids, families)

    @overload
    def __getitem__(self, index: SupportsIndex) -> Form: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Form]: ...
    def __getitem__(self, index: SupportsIndex | slice) -> Form | Sequence[Form]:
        if isinstance(index, slice):
            return [self[i] for i in range(*index.indices(len(self)))]
        index = int(index)
        if index not in self._made:
            if len(self._made) >= MOST_MADE:
                self._made.clear()
            self._made[index] = self._form(index)
        return self._made[index]

    def _form(self, index: int) -> Form:
        name = self.ids[index]
        z = np.linspace(0.0, float(self.heights_mm[index]), STEPS + 1)
        profile = Profile.of(np.column_stack([z, self.profiles[index].astype(np.float64)]), name)
        family = None if self.families is None else self.families[index]
        return Form(name, name, Section("round"), profile, tolerance=Tolerance(*self.tolerance), family=family)

    def part(self, index: NDArray[np.int64]) -> PlainForms:
        """Some of the forms, in the order asked for."""
        places = index.tolist()
        ids = [self.ids[i] for i in places]
        families = None if self.families is None else [self.families[i] for i in places]
        return PlainForms(self.profiles[index], self.heights_mm[index], self.tolerance, ids, families)

    def __len__(self) -> int:
        return len(self.heights_mm)

    def __iter__(self) -> Iterator[Form]:
        return (self[i] for i in range(len(self)))

"""The probability of every form of a library by its id; no dictionary of a million names until one is looked up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Shares(Mapping[str, float]):
    """
    A read-only mapping from ids to probabilities.

    Attributes
    ----------
    ids : sequence of str
        F different ids.
    probability : array (F,)

    Examples
    --------
    >>> shares = Shares(("squat", "tall"), np.array([0.25, 0.75]))
    >>> shares["tall"], shares.get("flat", 0.0), dict(shares) == {"squat": 0.25, "tall": 0.75}
    (0.75, 0.0, True)
    """

    ids: Sequence[str]
    probability: NDArray[np.float64]

    def __getitem__(self, form: str) -> float:
        return float(self.probability[self._place[form]])

    def __iter__(self) -> Iterator[str]:
        return iter(self.ids)

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def _place(self) -> dict[str, int]:
        return {name: i for i, name in enumerate(self.ids)}

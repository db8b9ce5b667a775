"""Contradictions: pairs of items that no year, or no order of glass and covering, can both explain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from weftglass.dating.combine import OF_TRADE, WORKS_LAG_YEARS
from weftglass.dating.item import COVERING, GLASS, Item
from weftglass.dating.years import FloatArray, lagging

SURE_TOGETHER = 0.5  # probability that both eyes were right from which a pair is worth telling; no source
CLASH = 0.05  # best joint likelihood against the two bests apart, below which a pair is said to clash; no source


@dataclass(frozen=True)
class Clash:
    """Two items that contradict each other, how badly (best joint likelihood against the bests apart), and in words."""

    first: str
    second: str
    ratio: float
    sentence: str

    def to_record(self) -> dict[str, object]:
        """For JSON."""
        return {"items": [self.first, self.second], "ratio": round(self.ratio, 6), "sentence": self.sentence}


def clashes(items: Sequence[Item]) -> tuple[Clash, ...]:
    """
    All pairs that clash, the worst first.

    Parameters
    ----------
    items : sequence of Item
        Of glass and covering; of two on one part some year must suit both, and no glass may be later than its covering.
        Each is taken as seen rightly; pairs of which one was probably misread are passed over.
    """
    curves = [_loosened(item) for item in items]
    found = []
    for i, one in enumerate(items):
        for j in range(i + 1, len(items)):
            if one.sure * items[j].sure < SURE_TOGETHER:
                continue
            ratio, sentence = _pair((one, curves[i]), (items[j], curves[j]))
            if ratio < CLASH:
                found.append(Clash(one.name, items[j].name, ratio, sentence))
    return tuple(sorted(found, key=lambda clash: clash.ratio))


def _pair(one: tuple[Item, FloatArray], other: tuple[Item, FloatArray]) -> tuple[float, str]:
    (a, a_curve), (b, b_curve) = one, other
    bests = float(a_curve.max() * b_curve.max())
    if a.part == b.part:
        ratio = float((a_curve * b_curve).max()) / bests
        return ratio, f"{a.name} ({a.years_words}) and {b.name} ({b.years_words}) do not go together on one {a.part}."
    if a.part == COVERING:
        a, a_curve, b, b_curve = b, b_curve, a, a_curve
    earliest = np.maximum.accumulate(a_curve)  # best of the glass up to each year
    ratio = float((earliest * b_curve).max()) / bests
    return ratio, (
        f"The covering is dated before its glass could exist: {b.name} ({b.years_words}), "
        f"but {a.name} ({a.years_words})."
    )


def _loosened(item: Item) -> FloatArray:
    loose = item.kind in OF_TRADE and item.part == GLASS
    return lagging(item.curve, WORKS_LAG_YEARS) if loose else item.curve

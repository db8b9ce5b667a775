"""One thing that dates a piece: its year curve, the change behind it, and where its years come from."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from weftglass.dating.diagnostics import matching, mixed_curve
from weftglass.dating.span import DateSpan
from weftglass.dating.spoken import spoken_date
from weftglass.dating.years import YEARS, FloatArray, not_after, not_before, soft_range, usual_mean
from weftglass.evidence import Covering, Sighting

GLASS, COVERING = "glass", "covering"
ON_GLASS = ("finish", "closure", "colour", "base", "seam", "mark", "statement", "letters")
LATER_SHARE, LATER_YEARS = 0.15, 10.0  # made later than the date worked in (a jubilee, a copy); no source
EARLIER_MADE = ("by ", "before", "not after", "until", "photograph", "bought", "owned", "acquired", "collected", "seen")


@dataclass(frozen=True, eq=False)
class Item:
    """
    One dated item.

    Parameters
    ----------
    name : str
        As an explanation names it: ``base suction scar``.
    part : str
        ``glass`` or ``covering``.
    cause : str
        Items of one cause share their change and are counted once.
    kind : str
        ``making``, ``law``, ``share``, ``after``, ``material``, ``written``, ``owned``, ``community``, ``form``.
    curve : array (Y,)
        How likely it is in each of `YEARS` if the eye was right, up to a factor.
    means : str
        What it was taken for, in words.
    source : str
        Where the years come from.
    feature : str
        Feature of the sighting behind it; empty where there is none.
    sure : float
        Probability that the eye was right; a wrong eye says nothing about the year.
    """

    name: str
    part: str
    cause: str
    kind: str
    curve: FloatArray
    means: str
    source: str
    feature: str = ""
    sure: float = 1.0

    @property
    def likelihood(self) -> FloatArray:
        """The same with the chance that the eye was wrong, (Y,)."""
        return np.asarray(self.sure * self.curve + (1.0 - self.sure) * usual_mean(self.curve))

    @property
    def bounds(self) -> tuple[int | None, int | None]:
        """First and last year in which it is at least a tenth as likely as at its best; None: no limit on that side."""
        strong = YEARS[self.curve >= 0.0999 * self.curve.max()]
        low, high = int(strong[0]), int(strong[-1])
        return (None if low == YEARS[0] else low, None if high == YEARS[-1] else high)

    @property
    def years_words(self) -> str:
        """Its bounds in words."""
        low, high = self.bounds
        if low is None and high is None:
            return "any year"
        if low is None or high is None:
            return f"not after {high}" if low is None else f"not before {low}"
        return str(low) if low == high else f"{low} to {high}"

    def to_record(self) -> dict[str, Any]:
        """For JSON, without the curve."""
        low, high = self.bounds
        return {
            "item": self.name, "means": self.means, "cause": self.cause, "not_before": low, "not_after": high,
            "source": self.source,
        }  # fmt: skip


def items_of(
    sightings: Iterable[Sighting], covering: Covering, *, region: str | None = None
) -> tuple[list[Item], list[str]]:
    """
    Everything in the evidence that dates the glass or its covering.

    Returns
    -------
    list of Item
    list of str
        Sightings under dating features that no table and no date in words was found for.
    """
    items: list[Item] = []
    silent: list[str] = []
    for sighting in sightings:
        found = _of_sighting(sighting, region)
        items += found
        if not found and sighting.feature in ("seam", "mark", "statement", "dye", "documented", "collected"):
            silent.append(sighting.item)
    for words in (covering.material or "").replace(";", ",").split(","):
        matched = matching("material", words, region)
        if matched:
            items.append(_matched("material " + words.strip(), COVERING, "material", words, 1.0, region))
    return items, silent


def community_item(name: str, first: int | None, last: int | None) -> Item:
    """The years in which a community is known to have covered vessels; open ends as None."""
    curve = np.ones(len(YEARS))
    if first is not None:
        curve = curve * not_before(first, within=10.0, floor=0.03)
    if last is not None:
        curve = curve * not_after(last, within=10.0, floor=0.03)
    means = f"{name} is known from {first or '…'} to {last or '…'}"
    return Item(f"community {name}", COVERING, "community", "community", curve, means, "the community's entry")


def owned_item(text: str, year: int) -> Item:
    """It was owned in a year, so both parts are not later."""
    curve = not_after(year)
    return Item(
        f"owned {text}", COVERING, "collecting history", "owned", curve, f"not after {year}", "the piece's entry"
    )


def form_item(curve: FloatArray, means: str) -> Item:
    """The years of the forms that may be inside, each with its probability."""
    return Item("years of the form", GLASS, "form", "form", curve, means, "the form library")


def _of_sighting(sighting: Sighting, region: str | None) -> list[Item]:
    feature = sighting.feature
    if feature == "inscription":
        return _written(sighting, _inscribed)
    if feature == "documented":
        return _written(sighting, _documented)
    if feature == "collected":
        return _written(sighting, lambda span, _: not_after(span.latest))
    part = GLASS if feature in ON_GLASS else COVERING if feature in ("dye", "rim", "start", "design") else ""
    found = []
    for words in sighting.value.split(";") if part else ():
        if matching(feature, words, region):
            name = words.strip() if feature in words.lower() else f"{feature} {words.strip()}"
            found.append(_matched(name, part, feature, words, sighting.sure, region))
    return found


def _matched(name: str, part: str, feature: str, words: str, sure: float, region: str | None) -> Item:
    found = matching(feature, words, region)
    causes = list(dict.fromkeys(one.cause for one in found))
    sources = list(dict.fromkeys(one.source for one in found))
    means = " or ".join(dict.fromkeys(one.name for one in found))
    curve = mixed_curve(found, words, region)
    return Item(name, part, causes[0], found[0].kind, curve, means, "; ".join(sources), feature, sure)


def _written(sighting: Sighting, curve_of: Callable[[DateSpan, str], FloatArray]) -> list[Item]:
    span = spoken_date(sighting.value)
    if span is None:
        return []
    curve = curve_of(span, sighting.value.lower())
    kind = "owned" if sighting.feature == "collected" else "written"
    means = f"reads as {span.words}"
    name, source = sighting.item, "the piece itself"
    return [Item(name, COVERING, name, kind, curve, means, source, sighting.feature, sighting.sure)]


def _inscribed(span: DateSpan, _: str) -> FloatArray:
    """A date worked in: made then, seldom some years later, hardly before."""
    then = soft_range(span.earliest, span.likely_from, span.likely_to, span.latest, "high")
    after = np.where(span.latest < YEARS, np.exp(-np.clip(YEARS - span.latest, 0, None) / LATER_YEARS), 0.0)
    later = LATER_SHARE / (1.0 - LATER_SHARE) * (span.likely_to - span.likely_from + 1) / LATER_YEARS
    return np.maximum(then, min(later, 1.0) * after)


def _documented(span: DateSpan, words: str) -> FloatArray:
    """A document gives the date of making, or only a date by which it was there."""
    if any(word in words for word in EARLIER_MADE):
        return not_after(span.latest)
    return soft_range(span.earliest, span.likely_from, span.likely_to, span.latest, "high")

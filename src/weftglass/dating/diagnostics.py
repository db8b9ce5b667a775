"""Published diagnostics: in which years a feature was usual, with region and source; and matching words to them."""

from __future__ import annotations

import csv
import re
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources

import numpy as np

from weftglass.dating.regions import speaks_of
from weftglass.dating.years import YEARS, FloatArray, not_before, soft_range

GLASS_TABLE, COVERING_TABLE, SHARE_TABLE = "diagnostics.csv", "coverings.csv", "machine_share.csv"
SHARE_FLOOR = 0.002  # machine-made glass long before machines: a misreading; working figure, no source
NARROW = "narrow neck utility"
PATENT_CORE, PATENT_TAIL = 15, 60  # years a patent date stays on glass; common practice, no source
DENIALS = frozenset({"no", "not", "without", "lacking"})
YEAR = re.compile(r"\b(1[5-9][0-9]{2}|20[0-2][0-9])\b")


@dataclass(frozen=True)
class Diagnostic:
    """
    One line of a table of diagnostics.

    Parameters
    ----------
    id, name : str
    cause : str
        The change in making or law behind it; diagnostics of one cause are never counted twice.
    kind : str
        ``making`` and ``material`` (years by trade practice), ``law`` (by decree), ``share`` (from the share of machine
        glass), ``after`` (not before a year named on it).
    features : tuple of str
        Features of a sighting under which it may be seen.
    phrases : tuple of frozenset of str
        Words each of which must stand in what was seen.
    earliest, common_from : int
    common_to, latest : int or None
        None: still made.
    region, how_sure, source : str
    """

    id: str
    name: str
    cause: str
    kind: str
    features: tuple[str, ...]
    phrases: tuple[frozenset[str], ...]
    earliest: int
    common_from: int
    common_to: int | None
    latest: int | None
    region: str
    how_sure: str
    source: str

    def curve(self, value: str, region: str | None = None) -> FloatArray:
        """How likely it is in each year, up to a factor, (Y,) for `YEARS`; ``value`` may name a year of its own."""
        if self.kind == "share":
            return _share_curve(self.id == "mk-mouth-blown", region)
        if self.kind == "after":
            year = max(int(year) for year in YEAR.findall(value))
            return soft_range(year, year, year + PATENT_CORE, year + PATENT_TAIL, self.how_sure)
        if self.cause == "date code" and YEAR.search(value):
            year = int(YEAR.findall(value)[-1])
            return soft_range(year - 1, year, year, year + 1, "medium")
        return soft_range(self.earliest, self.common_from, self.common_to, self.latest, self.how_sure)

    def fits_region(self, region: str | None) -> bool:
        """True for general diagnostics, for those of the region, and where no region is given."""
        return region is None or "general" in self.region or speaks_of(self.region, region)


@cache
def diagnostics() -> tuple[Diagnostic, ...]:
    """The bundled diagnostics of the glass and of the covering, in the order of their tables."""
    return (*_table(GLASS_TABLE), *_table(COVERING_TABLE))


def matching(feature: str, value: str, region: str | None = None) -> tuple[Diagnostic, ...]:
    """
    Diagnostics that a sighting speaks of: those whose words stand in it, the most particular ones only.

    Parameters
    ----------
    feature, value : str
        As in a sighting; ``material`` and the material's words for a covering.
    region : str or None
        One of `weftglass.dating.REGIONS`, where the glass was made; with it, diagnostics of other regions are left out
        where some fit.

    Examples
    --------
    >>> [one.id for one in matching("base", "suction scar")], [one.id for one in matching("base", "no suction scar")]
    (['mk-suction'], ['mk-narrow-nosuction'])
    """
    seen = _words(value)
    scored = []
    for one in diagnostics():
        if feature not in one.features or (one.kind == "after" and not YEAR.search(value)):
            continue
        fitting = [phrase for phrase in one.phrases if phrase <= seen and not (DENIALS & seen - phrase)]
        if fitting:
            general = 0.5 if one.kind == "share" else 0.0  # loses against any particular machine scar
            scored.append((max(len(phrase) for phrase in fitting) - general, one))
    most = max((score for score, _ in scored), default=0)
    best = [one for score, one in scored if score == most]
    near = [one for one in best if one.fits_region(region)]
    return tuple(near or best)


def mixed_curve(found: tuple[Diagnostic, ...], value: str, region: str | None = None) -> FloatArray:
    """The curve of several diagnostics that the same words may mean: their average, greatest value 1."""
    curve = np.mean([one.curve(value, region) for one in found], axis=0)
    return np.asarray(curve / curve.max())


def _share_curve(mouth_blown: bool, region: str | None) -> FloatArray:
    """Share of machine-made glass by year, or of mouth-blown, averaged over the regions that fit."""
    by_region: dict[str, list[tuple[float, float]]] = {}
    for row in _rows(SHARE_TABLE):
        if row["ware"] == NARROW:
            by_region.setdefault(row["region"], []).append((float(row["year"]), float(row["percent"]) / 100.0))
    chosen = [name for name in by_region if region is None or speaks_of(name, region)] or list(by_region)
    shares = []
    for name in chosen:
        years, share = zip(*sorted(by_region[name]), strict=True)
        shares.append(np.interp(YEARS, years, share))
    machine = np.mean(shares, axis=0)
    if mouth_blown:
        return np.asarray(np.clip(1.0 - machine, SHARE_FLOOR, 1.0))
    return np.asarray(np.clip(machine, SHARE_FLOOR, 1.0) * not_before(1893, within=2))


def _table(name: str) -> list[Diagnostic]:
    return [
        Diagnostic(
            row["id"],
            row["name"],
            row["cause"],
            row["kind"],
            tuple(row["features"].split(";")),
            tuple(_words(phrase) for phrase in row["words"].split(";")),
            int(row["earliest"]),
            int(row["common_from"]),
            int(row["common_to"]) if row["common_to"] else None,
            int(row["latest"]) if row["latest"] else None,
            row["region"],
            row["how_sure"],
            row["source"],
        )
        for row in _rows(name)
    ]


@cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    place = resources.files("weftglass.dating").joinpath("data").joinpath(name)
    return tuple(csv.DictReader(place.read_text(encoding="utf-8").splitlines()))


@lru_cache(maxsize=4096)
def _words(text: str) -> frozenset[str]:
    """Words in small letters without accents; a plural s is dropped."""
    plain = "".join(ch for ch in unicodedata.normalize("NFKD", text.lower()) if not unicodedata.combining(ch))
    words = re.findall(r"[a-z0-9]+", plain)
    return frozenset(word[:-1] if re.fullmatch(r"[a-z0-9]{2,}[^s]s", word) else word for word in words)

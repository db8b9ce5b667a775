"""How often answers as sure as this one were right in tests: the measured table, kept as data of the package."""

from __future__ import annotations

import json
from bisect import bisect_right
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from weftglass.errors import InputError

FEW = 30  # fewer answers than this in a class are not spoken of


@dataclass(frozen=True)
class Reliability:
    """
    What became of the answers of one class in tests.

    Parameters
    ----------
    low, high : float
        Probabilities of the first form among the forms listed, from ``low`` to below ``high``.
    claimed : float
        Their mean.
    right : int
        Answers whose first form was the true one.
    answers : int
        All answers of the class.
    """

    low: float
    high: float
    claimed: float
    right: int
    answers: int

    @property
    def share(self) -> float:
        """Share of right answers."""
        return self.right / self.answers

    @property
    def sentence(self) -> str:
        """For the reader of one answer; what it counts is said, since no vessel in these tests is unlisted."""
        if self.answers < FEW:
            return "Too few answers in tests were as sure as this one to say how often such answers are right."
        return (
            "In tests on pieces whose vessel was among the forms listed, the form that an answer like this one puts "
            f"first was right {times(self.share)} ({self.answers} simulated pieces)."
        )


def times(share: float) -> str:
    """
    A share in plain words; finer near the ends, never "always".

    Examples
    --------
    >>> times(0.71), times(0.968), times(1.0)
    ('7 times in 10', '97 times in 100', 'more than 99 times in 100')
    """
    if share >= 0.995:
        return "more than 99 times in 100"
    if share >= 0.95 or share < 0.05:
        return f"{round(100 * share)} times in 100"
    return f"{round(10 * share)} times in 10"


def reliability_of(probability: float, unlisted: float = 0.0) -> Reliability:
    """
    How often answers as sure as this one were right.

    Parameters
    ----------
    probability : float
        Of the first form, 0 to 1.
    unlisted : float
        Of none of the forms listed, 0 to 1; the tests are about vessels that are listed, so it is divided out.

    Raises
    ------
    InputError
        If one is not a probability.

    Examples
    --------
    >>> found = reliability_of(0.72)
    >>> found.low <= 0.72 < found.high
    True
    """
    for name, value in (("probability", probability), ("unlisted", unlisted)):
        if not 0.0 <= value <= 1.0:
            raise InputError("reliability", name, value, "a probability from 0 to 1")
    share = min(probability / max(1.0 - unlisted, 1e-9), 1.0)
    table = reliability_table()
    place = bisect_right([row.low for row in table], share) - 1
    return table[max(place, 0)]


@cache
def reliability_table() -> tuple[Reliability, ...]:
    """All classes, the least sure first; written by ``benchmarks/reliability.py``."""
    return tuple(Reliability(**row) for row in _content()["classes"])


def reliability_provenance() -> dict[str, Any]:
    """Command, seed, conditions, answers and engine version behind the table."""
    made: dict[str, Any] = _content()["made"]
    return made


@cache
def _content() -> dict[str, Any]:
    place = resources.files("weftglass.inside").joinpath("data").joinpath("reliability.json")
    content: dict[str, Any] = json.loads(place.read_text(encoding="utf-8"))
    return content

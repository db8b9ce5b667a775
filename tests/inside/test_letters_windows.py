"""Partly read words against inscriptions: the same as one expression would find, and never slow."""

from __future__ import annotations

import re

import numpy as np
import pytest

from weftglass.inside.likelihood.letters import windows


def by_one_expression(reading: str, text: str) -> int:
    """How many places one regular expression fits at: right, but it may take for ever."""
    expression = "".join("." if ch == "?" else ".*?" if ch == "*" else ch for ch in reading)
    return len(re.findall(f"(?={expression})", text))


def test_windows_are_those_of_one_expression() -> None:
    """Random short readings of random short words over three letters, so that they often fit."""
    rng = np.random.default_rng(4)
    for _ in range(2000):
        reading = "".join(rng.choice(list("ABC??*"), rng.integers(1, 6)))
        text = "".join(rng.choice(list("ABC"), rng.integers(1, 10)))
        assert windows(reading, text) == by_one_expression(reading, text), (reading, text)


@pytest.mark.parametrize("reading", ["A*A*A*A*A*A*A*A*A*B", "?*" * 20 + "B", "*A" * 30 + "B"])
def test_readings_that_can_be_divided_in_many_ways_are_answered(reading: str) -> None:
    """Over sixty equal letters there are millions of ways to try; none of them fits."""
    assert windows(reading, "A" * 60) == 0
    assert windows(reading, "A" * 60 + "B") > 0

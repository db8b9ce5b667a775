"""Outlines of which an end is cropped."""

from __future__ import annotations

import pytest

from weftglass.errors import InputError
from weftglass.evidence import Outline

POINTS = [[float(z), 30.0] for z in range(0, 100, 10)]


def test_unseen_ends_are_written_and_read_back() -> None:
    """Both flags survive the record; an outline seen whole does not mention them."""
    cut = Outline.of(POINTS, base_unseen=True, top_unseen=True)
    again = Outline.from_record(cut.to_record(), "here", "outlines[0]")
    assert (again.base_unseen, again.top_unseen) == (True, True)
    assert not {"base_unseen", "top_unseen"} & set(Outline.of(POINTS).to_record())


def test_unseen_must_be_true_or_false() -> None:
    """A word is refused and named."""
    with pytest.raises(InputError) as fault:
        Outline.from_record({"points": POINTS, "base_unseen": "yes"}, "here", "outlines[0]")
    assert fault.value.field == "outlines[0].base_unseen"

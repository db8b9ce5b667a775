"""The table of how often answers were right, as kept with the package."""

from __future__ import annotations

from itertools import pairwise

import pytest

from weftglass.errors import InputError
from weftglass.inside.identify import ENGINE_VERSION
from weftglass.inside.reliability import (
    Reliability,
    reliability_of,
    reliability_provenance,
    reliability_table,
    times,
)


def test_table_covers_all_probabilities_without_gaps() -> None:
    """Classes join; counts are counts; what is claimed lies in its class."""
    table = reliability_table()
    assert table[-1].high == 1.0
    for one, after in pairwise(table):
        assert one.high == after.low
    for row in table:
        assert 0 <= row.right <= row.answers
        assert row.low <= row.claimed <= row.high


def test_table_was_measured_with_this_engine() -> None:
    """A change of the engine asks for a fresh run; provenance names command, seed and answers."""
    made = reliability_provenance()
    assert made["engine_version"] == ENGINE_VERSION
    assert sum(made["answers"].values()) == sum(row.answers for row in reliability_table())


def test_answers_claimed_surer_were_right_more_often() -> None:
    """Right answers among those claimed below 60 %, and among those claimed at 95 % and more."""
    unsure = [row for row in reliability_table() if row.high <= 0.6]
    sure = [row for row in reliability_table() if row.low >= 0.95]
    assert sum(row.right for row in unsure) < 0.65 * sum(row.answers for row in unsure)
    assert sum(row.right for row in sure) > 0.9 * sum(row.answers for row in sure)


@pytest.mark.parametrize("share", [0.0, 0.05, 0.3, 0.72, 0.97, 1.0])
def test_reliability_of_finds_the_class(share: float) -> None:
    """Also with part of the probability on none of these."""
    row = reliability_of(share)
    assert row.low <= share <= row.high or row is reliability_table()[0]
    assert reliability_of(share * 0.6, 0.4) == row


def test_reliability_refuses_what_is_no_probability() -> None:
    """Named in the error."""
    with pytest.raises(InputError) as fault:
        reliability_of(1.2)
    assert fault.value.field == "probability"


def test_sentence_is_plain_and_silent_about_few() -> None:
    """Seven in ten; too few answers say so."""
    told = Reliability(0.7, 0.8, 0.75, 71, 100).sentence
    assert "whose vessel was among the forms listed" in told
    assert "was right 7 times in 10 (100 simulated pieces)" in told
    assert "Too few" in Reliability(0.7, 0.8, 0.75, 7, 10).sentence
    assert times(0.999) == "more than 99 times in 100"

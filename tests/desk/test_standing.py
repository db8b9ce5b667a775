"""Which findings stand, and whether they would be signed again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.desk.test_exchange import line
from weftglass.desk import (
    Collection,
    accept_finding,
    add_forms_from_file,
    edit_piece,
    findings_standing,
    recheck_finding,
    record_measurement,
    verdict_of,
    withdraw_piece,
)
from weftglass.records import View


def test_standing_findings_say_what_was_touched(collection: Collection, measured: View) -> None:
    """First nothing, then the library, then the evidence; a note on the piece touches nothing."""
    accept_finding(collection, measured.piece, who="Mira")
    edit_piece(collection, measured.piece, {"notes": "from the fair"}, who="Mira")
    (one,) = findings_standing(collection)
    assert not one.touched
    add_forms_from_file(collection, ("own.jsonl", line("tide-1").encode()), who="Mira")
    (one,) = findings_standing(collection)
    assert (one.evidence_changed, one.library_changed, one.engine_changed) == (False, True, False)
    record_measurement(collection, measured.piece, "weight", "650 g", who="Mira")
    (one,) = findings_standing(collection)
    assert (one.evidence_changed, one.library_changed) == (True, True)


def test_superseded_findings_and_those_of_withdrawn_pieces_do_not_stand(collection: Collection, measured: View) -> None:
    """One a piece, the last one; none of a piece taken off the shelf."""
    accept_finding(collection, measured.piece, who="Mira")
    later = accept_finding(collection, measured.piece, who="Tove", form=None)
    assert [one.finding.id for one in findings_standing(collection)] == [later.id]
    withdraw_piece(collection, measured.piece, who="Mira")
    assert findings_standing(collection) == []


@pytest.mark.parametrize(
    ("form_then", "form_now", "probability_now", "verdict"),
    [
        ("signed", "signed", 0.85, "stands"),
        ("signed", "signed", 0.60, "weaker"),
        ("signed", "other", 0.40, "fallen"),
        ("other", "other", 0.40, "against"),
        ("signed", None, 0.10, "fallen"),
    ],
)
def test_verdict_tells_overtaken_from_signed_against(
    collection: Collection, measured: View, form_then: str, form_now: str | None, probability_now: float, verdict: str
) -> None:
    """What was likeliest then decides whether a finding was overtaken or never agreed."""
    check = recheck_finding(collection, accept_finding(collection, measured.piece, who="Mira").id)
    told = replace(
        check,
        finding=replace(check.finding, form="signed"),
        form_then=form_then,
        form_with_what_is_known=form_now,
        probability_then=0.8,
        probability_with_what_is_known=probability_now,
    )
    assert verdict_of(told) == verdict

"""Answers kept in memory, findings frozen, superseded, and looked at again."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from weftglass.desk import (
    Collection,
    accept_finding,
    create_piece,
    evidence_of,
    get_finding,
    get_piece_dossier,
    identify_piece,
    library_of,
    recheck_finding,
    record_measurement,
    record_sighting,
    title_of,
)
from weftglass.desk.identification import best_of
from weftglass.errors import InputError
from weftglass.records import Piece, View


def test_same_question_is_answered_from_memory(collection: Collection, measured: View) -> None:
    """Until something changes the very same answer comes back; with even commonness it is another one."""
    first = identify_piece(collection, measured.piece)
    assert identify_piece(collection, measured.piece) is first
    assert identify_piece(collection, measured.piece, with_commonness=False) is not first
    record_measurement(collection, measured.piece, "weight", "650 g", who="Mira")
    assert identify_piece(collection, measured.piece) is not first
    assert first.unlisted + sum(first.probabilities.values()) == pytest.approx(1.0)


def test_finding_freezes_evidence_and_answer(collection: Collection, measured: View) -> None:
    """What was known and said then stays, whatever is learnt later."""
    record_sighting(collection, measured.piece, "finish", "blob", who="Mira")
    answer, evidence = identify_piece(collection, measured.piece), evidence_of(collection, measured.piece)
    finding = accept_finding(collection, measured.piece, who="Tove", remark="lip seen through the gap")
    record_measurement(collection, measured.piece, "weight", "650 g", who="Mira")
    kept = get_finding(collection, finding.id)
    assert json.loads(kept.evidence) == evidence.to_record()
    assert json.loads(kept.answer) == answer.to_record()
    assert (kept.who, kept.remark) == ("Tove", "lip seen through the gap")
    assert (kept.form, kept.probability) == best_of(answer)
    assert kept.conclusion == title_of(kept.form, library_of(collection))
    assert (kept.engine_version, kept.library_version) == (answer.engine_version, answer.library_version)


def test_later_finding_supersedes_and_keeps_the_earlier(collection: Collection, measured: View) -> None:
    """Both stay readable; one stands."""
    first = accept_finding(collection, measured.piece, who="Mira")
    second = accept_finding(collection, measured.piece, who="Tove", form=None, remark="a local blower's work")
    dossier = get_piece_dossier(collection, measured.piece)
    assert [f.id for f in dossier.findings] == [first.id, second.id]
    assert dossier.findings[0].superseded_by == second.id
    assert dossier.findings[0].evidence == first.evidence
    assert dossier.accepted == second
    assert second.conclusion == "none of the forms listed"
    assert second.probability == second.unlisted


def test_finding_is_refused_without_evidence_or_form(collection: Collection, piece: Piece, view: View) -> None:
    """There must be something to conclude from, and a form that exists."""
    with pytest.raises(InputError, match="evidence"):
        accept_finding(collection, piece.id, who="Mira")
    record_measurement(collection, piece.id, "height", "292 mm", who="Mira")
    with pytest.raises(InputError, match="no-such-form"):
        accept_finding(collection, piece.id, who="Mira", form="no-such-form")
    assert get_piece_dossier(collection, piece.id).findings == ()


def test_recheck_finds_nothing_when_nothing_changed(collection: Collection, measured: View) -> None:
    """The frozen evidence gives the frozen answer again."""
    finding = accept_finding(collection, measured.piece, who="Mira")
    check = recheck_finding(collection, finding.id)
    assert check.sentences == ()
    assert check.form_then == check.form_now == check.form_with_what_is_known == finding.form
    assert check.probability_now == pytest.approx(check.probability_then, rel=1e-9)


def test_recheck_says_what_became_known(collection: Collection, measured: View) -> None:
    """A weight that rules the accepted form out shows in words and figures; the frozen side stays."""
    likeliest = identify_piece(collection, measured.piece).candidates[0].form
    finding = accept_finding(collection, measured.piece, who="Mira", form=likeliest)
    record_measurement(collection, measured.piece, "weight", "3 kg", who="Mira")
    check = recheck_finding(collection, finding.id)
    assert check.evidence_added == ("weight 3000 g",)
    assert check.probability_now == pytest.approx(check.probability_then, rel=1e-9)
    assert check.probability_with_what_is_known < check.probability_then
    assert any("weight 3000 g" in sentence for sentence in check.sentences)


def test_recheck_says_what_the_tools_did_and_what_the_evidence_did(
    collection: Collection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two causes are told apart: another engine on the evidence of that day, then what became known since."""
    piece = create_piece(collection, "No. 12", who="Ada")
    record_measurement(collection, piece.id, "height", "300 mm", who="Ada")
    finding = accept_finding(collection, piece.id, who="Ada")
    assert recheck_finding(collection, finding.id).sentences == ()
    record_measurement(collection, piece.id, "weight", "700 g", who="Ada")
    later = recheck_finding(collection, finding.id)
    assert "weight 700 g" in " ".join(later.sentences)
    assert any(sentence.startswith("That evidence takes") for sentence in later.sentences)
    assert not any("engine" in sentence for sentence in later.sentences)
    monkeypatch.setattr(
        "weftglass.desk.findings.get_finding", lambda _, __: replace(finding, engine_version="0", probability=0.9)
    )
    told = recheck_finding(collection, finding.id).sentences
    assert told[0] == "The engine has changed since."
    assert told[1].startswith("The engine alone, on the evidence of that day, takes")
    assert "from 90\u00a0% to" in told[1]

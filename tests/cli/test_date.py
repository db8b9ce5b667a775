"""`weftglass date` keeps the contract: four years and a curve for glass and covering, contradictions, exit status."""

import json
from pathlib import Path
from typing import Any

import pytest

from weftglass.cli.main import run
from weftglass.desk.dating import date_evidence
from weftglass.evidence import Evidence, Sighting
from weftglass.vessels import FormLibrary

SEEN = [
    {"feature": "finish", "value": "mineral", "sure": 0.9},
    {"feature": "base", "value": "sand pontil", "sure": 0.9},
    {"feature": "inscription", "value": "1862", "sure": 0.95},
]


def written(place: Path, **more: Any) -> Path:
    file = place / "evidence.json"
    file.write_text(json.dumps({"piece": "p-1", "sightings": SEEN, **more}))
    return file


def test_date_prints_one_json_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["date", str(written(tmp_path)), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["piece"] == "p-1"
    for part in ("glass", "covering"):
        four = [record[part][name] for name in ("earliest", "likely_from", "likely_to", "latest")]
        assert four == sorted(four)
        assert record[part]["edtf"] == f"[{four[0]}..{four[3]}]"
    assert record["covering"]["likely_from"] in (1861, 1862)
    assert any(item["item"] == "years of the form" for item in record["glass"]["items"])


def test_date_for_people_says_years_reasons_and_contradictions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = written(tmp_path, sightings=[*SEEN, {"feature": "statement", "value": "70 cl", "sure": 0.95}])
    assert run(["date", str(file), "--without-forms"]) == 0
    said = capsys.readouterr()
    assert "likely from" in said.out
    assert "Contradiction: The covering is dated before its glass could exist" in said.out
    assert "apart from each other" in said.err


def test_an_unknown_region_is_told_at_once_with_those_that_are_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["date", str(written(tmp_path)), "--region", "Mars", "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "region is 'Mars'; it should be North America, Britain or Europe" in said.err


def test_group_of_pieces_is_dated_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "many.jsonl"
    lines = [
        {"piece": f"p-{year}", "sightings": [{"feature": "inscription", "value": str(year), "sure": 0.99}]}
        for year in (1880, 1910)
    ]
    file.write_text("\n".join(json.dumps(line) for line in [*lines, {"piece": "p-3"}]))
    assert run(["date", str(file), "--without-forms", "--group", "--json"]) == 0
    covering = json.loads(capsys.readouterr().out.splitlines()[-1])["group"]["covering"]
    assert covering["pieces"] == ["p-1880", "p-1910"]
    assert abs(covering["mean"] - 1897) < 4
    assert covering["not_whole_before"] in range(1905, 1911)
    assert run(["date", str(file), "--without-forms", "--group"]) == 0
    assert "As a group (3 pieces)" in capsys.readouterr().out


def test_date_says_when_it_cannot_tell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["date", str(written(tmp_path, sightings=[])), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["glass"]["earliest"] is None
    assert run(["date", str(written(tmp_path, sightings=[]))]) == 0
    assert "can't tell" in capsys.readouterr().out


def test_date_refuses_nonsense_with_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["date", str(written(tmp_path, sightings=[{"feature": "age", "value": "old"}]))]) == 2
    assert "sightings[0].feature" in capsys.readouterr().err


def test_forms_count_only_when_something_bears_on_the_vessel(tmp_path: Path) -> None:
    """An inscription alone must not be dated by what the library happens to hold."""

    evidence = Evidence("p", sightings=(Sighting("inscription", "1862", 0.95),))
    assert not date_evidence(evidence, FormLibrary.starter()).glass.items

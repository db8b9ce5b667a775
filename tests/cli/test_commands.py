"""The command line keeps its contracts: JSON alone on standard output, exit status 0, 1 or 2, one clear sentence."""

from __future__ import annotations

import json
import runpy
import sys
from pathlib import Path

import numpy as np
import pytest

from weftglass.cli.main import group, run
from weftglass.vessels import FormLibrary


def evidence_record(name: str) -> dict[str, object]:
    """A covered form of the starter library, its outline 3 mm out, with a weight and letters."""
    form = FormLibrary.starter()["wine-bordeaux-mod"]
    z = np.linspace(0, form.profile.height_mm + 3, 120)
    half = form.profile.half_width_at(np.clip(z - 3, 0, form.profile.height_mm)) + 3
    return {
        "piece": name,
        "outlines": [{"view": "front", "points": np.column_stack([z, half]).tolist(), "sd_mm": 0.4, "scale_sd": 0.01}],
        "measurements": [{"what": "weight", "value": 620, "unit": "g", "sd": 10}],
    }


@pytest.mark.parametrize("name", sorted(group.commands))
def test_every_command_explains_itself(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """--help works, has a description and ends with status 0."""
    assert run([name, "--help"]) == 0
    text = capsys.readouterr().out
    assert "Usage:" in text
    assert group.commands[name].help


def test_the_package_runs_as_the_command_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`python -m weftglass` is `weftglass`."""
    monkeypatch.setattr(sys, "argv", ["weftglass", "--version"])
    with pytest.raises(SystemExit) as left:
        runpy.run_module("weftglass", run_name="__main__")
    assert left.value.code == 0
    assert "version" in capsys.readouterr().out


def test_no_command_shows_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    """Called alone it says what it can do."""
    assert run([]) == 2
    captured = capsys.readouterr()
    assert "weftglass inside" in captured.out + captured.err


def test_inside_json_document_and_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One document for JSON; one a line in the same order for JSON Lines; probabilities sum to one."""
    one, many = tmp_path / "one.json", tmp_path / "many.jsonl"
    one.write_text(json.dumps(evidence_record("p-1")))
    many.write_text("\n".join(json.dumps(evidence_record(name)) for name in ("p-2", "p-1")))
    assert run(["inside", str(one), "--json", "--top", "48"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["piece"] == "p-1"
    assert answer["candidates"][0]["form"].startswith("wine-bordeaux")
    assert sum(c["probability"] for c in answer["candidates"]) + answer["unlisted"] + answer["rest"] == pytest.approx(
        1, abs=1e-4
    )
    assert run(["inside", str(many), "--json"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [json.loads(line)["piece"] for line in lines] == ["p-2", "p-1"]


def test_inside_for_people_names_units_and_the_alternative(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The printed answer has per cent, millimetres with uncertainty, and 'none of the forms listed'."""
    file = tmp_path / "one.json"
    file.write_text(json.dumps(evidence_record("p-1")))
    assert run(["inside", str(file)]) == 0
    text = capsys.readouterr().out
    for word in ("none of the forms listed", " %", " ± ", " mm", "dB", "Worth looking at next"):
        assert word in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["inside", "missing.json"], "there is no such file"),
        (["inside", "bad.json"], "measurements[0].sd is -5"),
        (["inside", "good.json", "--forms", "forms.jsonl"], "forms.jsonl line 2"),
        (["inside", "good.json", "--top", "0"], "--top"),
        (["outline", "bad.json", "--height", "200"], "bad.json"),
        (["outline", "bad.json"], "--scale-bar"),
        (["outline", "bad.json", "--scale-bar", "1,2,3"], "five numbers"),
        (["outline", "bad.json", "--height", "200", "--shape-only"], "--shape-only alone"),
        (["letters", "??"], "at least one letter"),
        (["nonsense"], "nonsense"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_input_at_fault_gives_status_2_and_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    """Nothing on standard output, no traceback, the field and what would be right on standard error."""
    monkeypatch.chdir(tmp_path)
    bad = evidence_record("p") | {"measurements": [{"what": "weight", "value": 812, "unit": "g", "sd": -5}]}
    Path("bad.json").write_text(json.dumps(bad))
    Path("good.json").write_text(json.dumps(evidence_record("p")))
    first = FormLibrary.starter().to_text().splitlines()[0]
    Path("forms.jsonl").write_text(first + "\n" + '{"id": "x"}\n')
    assert run(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert "Traceback" not in captured.err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("outline p.png --height tall", "outline: --height is 'tall'; it should be a number above 0, in mm."),
        ("outline p.png --height -5", "outline: --height is '-5'; it should be a number above 0, in mm."),
        ("outline p.png --height nan", "outline: --height is 'nan'; it should be a number above 0, in mm."),
        ("outline p.png --turn left", "outline: --turn is 'left'; it should be a number, in degrees."),
        ("inside e.json --top many", "inside: --top is 'many'; it should be a whole number from 1 to 48."),
        ("inside e.json --top 0", "inside: --top is 0; it should be a whole number from 1 to 48."),
        ("values c --kind x", "values: --kind is 'x'; it should be one of: cost, fair market, replacement."),
        ("inside --jsn e.json", "inside: there is no option --jsn; did you mean --json."),
        ("rarity c zz", "rarity: got unexpected extra argument (zz)."),
        ("nonsense", "weftglass: no such command 'nonsense'."),
    ],
)
def test_what_is_mistyped_is_told_in_one_sentence(line: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The field, what was typed, what would be right, and where the help is; no usage lines."""
    assert run(line.split()) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert len(captured.err.splitlines()) == 1
    assert "--help` says what it takes." in captured.err


def test_a_table_without_rows_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    """In place of a head over nothing."""
    assert run(["forms", "zzzz"]) == 0
    assert "(none)" in capsys.readouterr().out


def test_forms_lists_searches_and_draws(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A search narrows the list, JSON gives form records, the sheet is SVG."""
    assert run(["forms", "flask", "--json"]) == 0
    records = json.loads(capsys.readouterr().out)
    assert 5 < len(records) < len(FormLibrary.starter())
    assert {"id", "name", "section", "profile"} <= set(records[0])
    sheet = tmp_path / "sheet.svg"
    assert run(["forms", "--sheet", str(sheet)]) == 0
    assert sheet.read_text(encoding="utf-8").lstrip().startswith(("<svg", "<?xml"))


def test_letters_finds_inscriptions_with_a_wrong_letter_last(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exact readings first, then those with one letter wrong; none is said in words."""
    forms = list(FormLibrary.starter())[:2]
    records = [form.to_record() for form in forms]
    records[0]["letters"] = [{"text": "VARNE BAY SODA"}]
    records[1]["letters"] = [{"text": "VORNE"}]
    file = tmp_path / "mine.jsonl"
    file.write_text("\n".join(json.dumps(record) for record in records))
    assert run(["letters", "V?RNE", "--forms", str(file), "--json"]) == 0
    assert [hit["wrong_letters"] for hit in json.loads(capsys.readouterr().out)] == [0, 0]
    assert run(["letters", "VARNE", "--forms", str(file), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [(hit["wrong_letters"], hit["form"]) for hit in found] == [(0, records[0]["id"]), (1, records[1]["id"])]
    assert run(["letters", "ZZZZZ", "--forms", str(file)]) == 0
    assert "No inscription" in capsys.readouterr().out

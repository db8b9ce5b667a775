"""Reading evidence: what is right goes there and back, what is wrong is named."""

from __future__ import annotations

import json
import pickle
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weftglass.errors import InputError
from weftglass.evidence import KINDS, Evidence, Measurement, Outline, Sighting, read_evidence

GOOD: dict[str, Any] = {
    "piece": "p-017",
    "outlines": [
        {
            "view": "front",
            "points": [[float(z), 40.0] for z in range(0, 200, 10)],
            "sd_mm": 0.4,
            "scale_sd": 0.015,
            "bare": [[170.0, 190.0]],
        }
    ],
    "measurements": [{"what": "weight", "value": 812, "unit": "g", "sd": 5}],
    "sightings": [{"feature": "letters", "value": "H?R??W", "z": [70, 110], "sure": 0.8}],
    "covering": {"technique": "plain twining", "material": "willow"},
}


def changed(path: str, value: Any) -> dict[str, Any]:
    """The good record with one field changed; the path as an error names it."""
    record = json.loads(json.dumps(GOOD))
    keys = path.replace("]", "").replace("[", ".").split(".")
    place: Any = record
    for key in keys[:-1]:
        place = place[int(key)] if key.isdigit() else place[key]
    place[int(keys[-1]) if keys[-1].isdigit() else keys[-1]] = value
    return record


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("piece", ""),
        ("piece", 7),
        ("outlines", {}),
        ("outlines[0]", "front"),
        ("outlines[0].view", "top"),
        ("outlines[0].sd_mm", 0),
        ("outlines[0].sd_mm", [0.4, 0.4]),
        ("outlines[0].scale_sd", 0.9),
        ("outlines[0].points", [[0, 1]]),
        ("outlines[0].points[3]", [30.0, -1.0]),
        ("outlines[0].points[3]", [30.0]),
        ("outlines[0].points[3]", [30.0, "wide"]),
        ("outlines[0].points[3]", [10.0, 40.0]),
        ("outlines[0].bare[0]", [190.0, 170.0]),
        ("outlines[0].colour", "green"),
        ("measurements[0].sd", -5),
        ("measurements[0].sd", True),
        ("measurements[0].value", -812),
        ("measurements[0].value", "heavy"),
        pytest.param("measurements[0].value", 10**400, id="measurements[0].value-too-large-for-a-float"),
        ("measurements[0].unit", "lb"),
        ("measurements[0].what", "mass"),
        ("sightings[0].sure", 0),
        ("sightings[0].sure", 1.5),
        ("sightings[0].feature", "smell"),
        ("sightings[0].value", " "),
        ("covering.technique", 3),
        ("note", "hello"),
    ],
)
def test_evidence_from_record_names_the_field_that_is_wrong(field: str, value: Any) -> None:
    """One wrong field: an InputError that names it, or the part of it that is wrong."""
    with pytest.raises(InputError) as caught:
        Evidence.from_record(changed(field, value), "evidence.jsonl line 14")
    assert caught.value.field.startswith(field) or field.startswith(caught.value.field)
    text = str(caught.value)
    assert text.startswith("evidence.jsonl line 14: ")
    assert "it should be" in text
    assert text.endswith("Nothing was changed.")


def test_evidence_error_survives_pickling() -> None:
    """A worker process can report it."""
    fault = InputError("here", "sd", -5, "above 0")
    assert str(pickle.loads(pickle.dumps(fault))) == str(fault)


def test_girth_needs_the_height_it_was_taken_at() -> None:
    """A girth without z cannot be used."""
    with pytest.raises(InputError, match="z is left out"):
        Measurement.from_record({"what": "girth", "value": 250, "sd": 3}, "here", "m")


def test_evidence_goes_there_and_back() -> None:
    """Reading what was written gives the same record."""
    once = Evidence.from_record(GOOD).to_record()
    assert Evidence.from_record(once).to_record() == once


@given(
    st.sampled_from(sorted(KINDS)),
    st.floats(0, 1),
    st.floats(0.01, 10),
    st.floats(0, 500),
    st.booleans(),
)
def test_measurement_goes_there_and_back(what: str, share: float, sd: float, z: float, covered: bool) -> None:
    """Any measurement in range survives its record."""
    kind = KINDS[what]
    value = kind.low + share * (kind.high - kind.low)
    one = Measurement(what, value, sd, z if kind.needs_height else None, covered)
    assert Measurement.from_record(one.to_record(), "here", "m") == one


@given(st.floats(0.01, 1), st.text("ABC?*", min_size=1, max_size=9))
def test_sighting_goes_there_and_back(sure: float, value: str) -> None:
    """Any sighting survives its record."""
    one = Sighting("letters", value, sure, (10.0, 20.0), "front")
    assert Sighting.from_record(one.to_record(), "here", "s") == one


def test_outline_arrays_cannot_be_changed() -> None:
    """Frozen means the arrays too."""
    outline = Outline.of(GOOD["outlines"][0]["points"])
    with pytest.raises(ValueError, match="read-only"):
        outline.points[0, 0] = 5.0


def test_read_evidence_takes_one_document_or_lines(tmp_path: Path) -> None:
    """JSON gives one piece, JSON Lines one a line in order; blank lines and a byte order mark do no harm."""
    one, many = tmp_path / "one.json", tmp_path / "many.jsonl"
    one.write_text(json.dumps(GOOD, indent=1), encoding="utf-8")
    second = {**GOOD, "piece": "p-018"}
    many.write_text("\ufeff" + json.dumps(GOOD) + "\n\n" + json.dumps(second) + "\n", encoding="utf-8")
    assert [e.piece for e in read_evidence(one)] == ["p-017"]
    assert [e.piece for e in read_evidence(many)] == ["p-017", "p-018"]
    unnamed = tmp_path / "lines.json"
    unnamed.write_text(json.dumps(GOOD) + "\n" + json.dumps(second), encoding="utf-8")
    assert len(read_evidence(unnamed)) == 2


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.jsonl", b"", "empty"),
        ("a.json", b"{", "valid JSON"),
        ("a.json", b"[1]", "an object"),
        ("a.jsonl", b'{"piece": "x"}\n{nonsense\n', "line 2"),
        ("a.json", b"\xff\xfe\x00", "UTF-8"),
        ("a.json", b'{"measurements": [{"what": "weight", "value": NaN, "sd": 1}]}', "finite"),
        ("a.json", b"[" * 100_000, "JSON"),
        ("a.json", b'{"piece": ' + b"9" * 5000 + b"}", "JSON"),
    ],
)
def test_read_evidence_refuses_nonsense_with_the_place(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    """Broken files give one sentence, never a traceback of the parser."""
    file = tmp_path / name
    file.write_bytes(content)
    with pytest.raises(InputError, match=said):
        read_evidence(file)


def test_read_evidence_missing_file(tmp_path: Path) -> None:
    """A missing file is the caller's fault."""
    with pytest.raises(InputError, match="there is no such file"):
        read_evidence(tmp_path / "nothing.json")


def test_points_as_integers_are_fine() -> None:
    """People type integers."""
    outline = Outline.of(np.array([[0, 30], [20, 30], [40, 31], [60, 31], [80, 30], [100, 20], [110, 12], [120, 12]]))
    assert outline.height_mm == 120

"""Forms of the owner's own: from a file, all or none, and from a photograph of a bare vessel."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from weftglass.desk import (
    Collection,
    add_form_from_view,
    add_forms_from_file,
    identify_piece,
    library_of,
    own_forms,
    restore_form,
    withdraw_form,
)
from weftglass.errors import InputError
from weftglass.records import View
from weftglass.vessels import FormLibrary

PROFILE = [[0.0, 36.0], [8.0, 38.5], [170.0, 38.5], [205.0, 16.0], [285.0, 14.0], [300.0, 14.5]]


def line(form: str, **more: object) -> str:
    """One line of a form file."""
    return json.dumps({"id": form, "name": "tide bottle", "section": {"kind": "round"}, "profile": PROFILE, **more})


def test_own_forms_stand_beside_the_bundled_ones(collection: Collection, tmp_path: Path) -> None:
    """From a path and from an upload."""
    file = tmp_path / "own.jsonl"
    file.write_text(line("tide-1") + "\n" + line("tide-2") + "\n")
    assert [form.id for form in add_forms_from_file(collection, file, who="Mira")] == ["tide-1", "tide-2"]
    add_forms_from_file(collection, ("more.jsonl", line("tide-3").encode()), who="Mira")
    library = library_of(collection)
    assert len(library) == len(FormLibrary.starter()) + 3
    assert library["tide-2"].profile.height_mm == 300.0
    assert library_of(collection) is library
    assert [entry.record.origin for entry in own_forms(collection)] == [
        "file own.jsonl", "file own.jsonl", "file more.jsonl",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("second", "said"),
    [
        ('{"id": "tide-2"}', "line 2"),
        ("nonsense", "line 2"),
        (line("tide-1"), "line 1 has this one"),
        (line(next(iter(FormLibrary.starter())).id), "does not have yet"),
    ],
)
def test_no_form_of_a_bad_file_is_taken_in(collection: Collection, second: str, said: str) -> None:
    """The first fault is named with its line; the library stays."""
    before = library_of(collection).version
    with pytest.raises(InputError, match=said):
        add_forms_from_file(collection, ("own.jsonl", f"{line('tide-1')}\n{second}\n".encode()), who="Mira")
    assert library_of(collection).version == before
    assert own_forms(collection) == []


def test_form_traced_on_a_photograph_is_believed_no_further_than_it_is_known(
    collection: Collection, measured: View
) -> None:
    """Its contour is good to 0.5 to 1 mm, its size as uncertain as the scale; the same outline then finds it."""
    form = add_form_from_view(collection, measured.id, "Harbour jar", who="Mira", size="1 l", colours=["green"])
    assert (form.id, form.colours) == ("harbour-jar-1-l", ("green",))
    assert measured.measured is not None
    assert form.profile.points.tolist() == [list(point) for point in measured.measured.points]
    assert 0.5 <= form.tolerance.shape_sd_mm <= 1.0
    assert form.tolerance.height_sd > measured.measured.scale_sd
    assert form.id in library_of(collection)
    assert form.id in identify_piece(collection, measured.piece, top=48).probabilities


def test_form_needs_a_measured_view(collection: Collection, view: View) -> None:
    """An outline without a scale is no form."""
    with pytest.raises(InputError, match="outline and a scale"):
        add_form_from_view(collection, view.id, "Harbour jar", who="Mira")
    assert own_forms(collection) == []


def test_withdrawn_form_leaves_the_library_and_comes_back(collection: Collection) -> None:
    """The library's version goes with it."""
    before = library_of(collection).version
    add_forms_from_file(collection, ("own.jsonl", line("tide-1").encode()), who="Mira")
    withdraw_form(collection, "tide-1", who="Mira")
    assert library_of(collection).version == before
    restore_form(collection, "tide-1", who="Mira")
    assert "tide-1" in library_of(collection)
    withdraw_form(collection, "tide-1", who="Mira")
    add_forms_from_file(collection, ("own.jsonl", line("tide-1", size="1 l").encode()), who="Mira")
    assert library_of(collection)["tide-1"].size == "1 l"

"""Form files: all or nothing, with line number and reason."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.vessels.strategies import forms
from tests.vessels.test_form import GOOD
from weftglass.errors import InputError
from weftglass.vessels import Form, FormLibrary

LINE = json.dumps(GOOD)
OTHER = json.dumps(GOOD | {"id": "another"})


def saved(folder: Path, content: str | bytes) -> Path:
    place = folder / "forms.jsonl"
    place.write_bytes(content if isinstance(content, bytes) else content.encode())
    return place


def test_blank_lines_a_byte_order_mark_and_foreign_line_ends_are_read(tmp_path: Path) -> None:
    """What editors on other systems leave behind does no harm."""
    library = FormLibrary.read(saved(tmp_path, "\ufeff" + LINE + "\r\n\r\n\n" + OTHER))
    assert [form.id for form in library] == ["cylinder-spirits-26oz", "another"]


WRONG: dict[str, tuple[str | bytes, int, str]] = {
    "same id twice": (f"{LINE}\n\n{LINE}", 3, "line 1 has this one"),
    "not JSON": (f"{LINE}\n{{oops", 2, "one JSON object"),
    "a list": (f"{LINE}\n[1, 2]", 2, "an object in braces"),
    "a bare number": (f"{LINE}\n17", 2, "an object in braces"),
    "null": (f"{LINE}\nnull", 2, "an object in braces"),
    "NaN": (OTHER.replace("750", "NaN"), 1, "NaN is not a number"),
    "Infinity": (OTHER.replace("750", "-Infinity"), 1, "not a number"),
    "overflowing number": (OTHER.replace("750", "1e999"), 1, "capacity_ml"),
    "key given twice": (OTHER[:-1] + ', "id": "b"}', 1, "given twice"),
    "deep nesting": ("[" * 200_000, 1, "one plain JSON object"),
    "latin 1": (OTHER.replace("amber", "vert fonc\xe9").encode("latin-1").replace(b"\\u00e9", b"\xe9"), 1, "UTF-8"),
    "a picture": (b"\xff\xd8\xff\xe0" + bytes(2000), 1, "UTF-8"),
    "a huge line": (LINE + "\n" + '"' + "x" * 4_100_000 + '"', 2, "at most 4000000 bytes"),
    "digits without end": (OTHER.replace("750", "9" * 6000), 1, "plain JSON object"),
    "falling heights": (OTHER.replace("[8.0,", "[0.0,"), 1, "profile[1][0]"),
    "unknown section": (OTHER.replace('"round"', '"heart"'), 1, "section.kind"),
}


@pytest.mark.parametrize(("content", "line", "reason"), WRONG.values(), ids=WRONG.keys())
def test_a_bad_form_file_is_refused_with_line_and_reason(
    tmp_path: Path, content: str | bytes, line: int, reason: str
) -> None:
    """Nothing of it is taken in; the sentence stays short."""
    if isinstance(content, bytes) and content.startswith(b"{"):
        content = OTHER.encode().replace(b"amber", b"fonc\xe9")
    with pytest.raises(InputError) as caught:
        FormLibrary.read(saved(tmp_path, content))
    assert caught.value.where == f"forms.jsonl line {line}"
    assert reason in str(caught.value)
    assert len(str(caught.value)) < 500


@pytest.mark.parametrize("content", ["\n\n", "\ufeff"])
def test_an_empty_file_is_refused(tmp_path: Path, content: str) -> None:
    """No forms is not a library."""
    with pytest.raises(InputError, match="at least one form"):
        FormLibrary.read(saved(tmp_path, content))


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    """In one sentence, without a traceback of the system's own; a file without content is no library either."""
    (tmp_path / "empty.jsonl").touch()
    for name, wrong in (("nowhere.jsonl", "no such file"), ("", "a folder"), ("empty.jsonl", "is empty")):
        with pytest.raises(InputError, match=wrong):
            FormLibrary.read(tmp_path / name)


def test_bytes_of_an_upload_are_read_like_a_file(tmp_path: Path) -> None:
    """Same forms, same refusals."""
    text = f"{LINE}\n{OTHER}\n"
    assert FormLibrary.of_bytes(text.encode(), "upload").version == FormLibrary.read(saved(tmp_path, text)).version
    with pytest.raises(InputError, match="upload line 2"):
        FormLibrary.of_bytes(f"{LINE}\n{LINE}".encode(), "upload")


@settings(max_examples=30)
@given(st.lists(forms(), min_size=1, max_size=4, unique_by=lambda form: form.id))
def test_a_library_goes_there_and_back(tmp_path_factory: pytest.TempPathFactory, some: list[Form]) -> None:
    """Written and read, it has the same version, so the same content to the last digit."""
    place = tmp_path_factory.mktemp("there") / "forms.jsonl"
    library = FormLibrary(some)
    library.write(place)
    back = FormLibrary.read(place)
    assert back.version == library.version
    assert [form.id for form in back] == [form.id for form in some]


def test_writing_replaces_the_file_whole(tmp_path: Path) -> None:
    """No half-written file and no leftovers beside it."""
    place = saved(tmp_path, "old")
    FormLibrary([Form.from_record(GOOD, "here")]).write(place)
    assert len(FormLibrary.read(place)) == 1
    assert [entry.name for entry in tmp_path.iterdir()] == ["forms.jsonl"]


def test_the_version_changes_with_any_form() -> None:
    """A tenth of a mm is another library."""
    one = FormLibrary([Form.from_record(GOOD, "here")])
    moved = GOOD | {"profile": [*GOOD["profile"][:-1], [300.0, 14.6]]}
    assert one.version != FormLibrary([Form.from_record(moved, "here")]).version
    assert len(one.version) == 12


def test_forms_are_added_at_the_end_and_never_replaced() -> None:
    """An id that is there already is refused; the old library stays as it was."""
    library = FormLibrary([Form.from_record(GOOD, "here")])
    more = library.with_forms([Form.from_record(GOOD | {"id": "another"}, "here")])
    assert ("another" in more, "another" in library) == (True, False)
    with pytest.raises(InputError, match="no other form"):
        more.with_forms([Form.from_record(GOOD, "here")])
    with pytest.raises(InputError, match="id of a form"):
        library["another"]

"""The form library: every known vessel, read from and written to a form file (JSON Lines, one form a line)."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterable, Iterator
from functools import cached_property
from importlib import resources
from pathlib import Path
from typing import Any, BinaryIO

from weftglass.errors import InputError, Unfit
from weftglass.files import read_file
from weftglass.vessels.form import Form

LONGEST_LINE = 4_000_000  # bytes
MOST_FORMS = 500_000


class FormLibrary:
    """
    Forms in a fixed order, each with its own id.

    Parameters
    ----------
    forms : iterable of Form
        Ids must differ.

    Examples
    --------
    >>> library = FormLibrary.starter()
    >>> len(library) >= 160, library.forms[0].id in library
    (True, True)
    """

    def __init__(self, forms: Iterable[Form]) -> None:
        self.forms: tuple[Form, ...] = tuple(forms)
        self._by_id: dict[str, Form] = {}
        for form in self.forms:
            if form.id in self._by_id:
                raise InputError("form library", "id", form.id, "an id that no other form has")
            self._by_id[form.id] = form

    @classmethod
    def starter(cls) -> FormLibrary:
        """The bundled generic historic forms, drawn from published dimensions (see SOURCES.md beside them)."""
        bundled = resources.files("weftglass.vessels").joinpath("data/forms.jsonl")
        with bundled.open("rb") as file:
            return cls(_read_lines(file, "starter forms"))

    @classmethod
    def read(cls, path: str | Path) -> FormLibrary:
        """
        Read a form file, all of it or nothing.

        Parameters
        ----------
        path : str or Path
            JSON Lines in UTF-8, one form a line; blank lines are skipped.

        Raises
        ------
        InputError
            Names the file, the line, the field, its value and what would be right. No form of the file is taken in.
        """
        place = Path(path)
        content = read_file(place, "a form file, JSON Lines with a form a line")
        return cls(_read_lines(iter(content.splitlines(keepends=True)), place.name))

    @classmethod
    def of_bytes(cls, content: bytes, where: str) -> FormLibrary:
        """As `read`, from the bytes of an uploaded file; ``where`` is what errors call it."""
        return cls(_read_lines(iter(content.splitlines(keepends=True)), where))

    def write(self, path: str | Path) -> None:
        """Write a form file that `read` takes back; the old one stays until the new one is complete."""
        place = Path(path)
        handle, name = tempfile.mkstemp(dir=place.parent, prefix=".forms-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(self.to_text())
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, place)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise

    def to_text(self) -> str:
        """The form file's text."""
        return "".join(line_of(form) + "\n" for form in self.forms)

    @cached_property
    def version(self) -> str:
        """Twelve hexadecimal digits that change with any form (SHA-256 of the form file's text)."""
        return hashlib.sha256(self.to_text().encode()).hexdigest()[:12]

    def with_forms(self, more: Iterable[Form]) -> FormLibrary:
        """A library with more forms at its end; an id that is already there is an `InputError`."""
        return FormLibrary((*self.forms, *more))

    def __iter__(self) -> Iterator[Form]:
        return iter(self.forms)

    def __len__(self) -> int:
        return len(self.forms)

    def __getitem__(self, form_id: str) -> Form:
        try:
            return self._by_id[form_id]
        except KeyError:
            raise InputError("form library", "form", form_id, "the id of a form in the library") from None

    def __contains__(self, form_id: object) -> bool:
        return form_id in self._by_id

    def __repr__(self) -> str:
        return f"FormLibrary of {len(self)} forms, version {self.version}"


def line_of(form: Form) -> str:
    """One line of a form file, without its end."""
    return json.dumps(form.to_record(), ensure_ascii=False, separators=(", ", ": "), allow_nan=False)


def _read_lines(lines: BinaryIO | Iterator[bytes], where: str) -> list[Form]:
    forms: list[Form] = []
    first_line: dict[str, int] = {}
    number = 0
    while True:
        number += 1
        raw = next(lines, b"") if not hasattr(lines, "readline") else lines.readline(LONGEST_LINE + 1)
        if not raw:
            break
        place = f"{where} line {number}"
        text = _decoded(raw, place, first=number == 1)
        if not text:
            continue
        form = Form.from_record(_parsed(text, place), place)
        if form.id in first_line:
            raise InputError(place, "id", form.id, f"an id of its own: line {first_line[form.id]} has this one")
        first_line[form.id] = number
        forms.append(form)
        if len(forms) > MOST_FORMS:
            raise InputError(place, "number of forms", len(forms), f"at most {MOST_FORMS} in one file")
    if not forms:
        raise InputError(where, "forms", 0, "at least one form, one JSON object a line")
    return forms


def _decoded(raw: bytes, place: str, *, first: bool) -> str:
    """The text of one line without blanks at its ends; a byte order mark may open the first."""
    if len(raw) > LONGEST_LINE:
        raise Unfit(place, "line", "the line is too long", f"a line of at most {LONGEST_LINE} bytes")
    try:
        return raw.decode("utf-8-sig" if first else "utf-8").strip()
    except UnicodeDecodeError as error:
        raise Unfit(place, "text", f"byte {error.start} is not UTF-8", "UTF-8 text") from None


def _parsed(text: str, place: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_repeats)
    except json.JSONDecodeError as error:
        raise InputError(place, f"column {error.colno}", text, f"one JSON object ({error.msg})") from None
    except (ValueError, RecursionError) as error:
        raise InputError(place, "line", text, f"one plain JSON object ({error})") from None


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    record = dict(pairs)
    if len(record) < len(pairs):
        names = [key for key, _ in pairs]
        twice = next(key for key in names if names.count(key) > 1)
        raise ValueError(f"{twice!r} is given twice")
    return record

"""The form library of a collection: the bundled forms and the owner's own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.cabinet.cabinet import Draft, Reader
from weftglass.desk.collection import Collection
from weftglass.desk.wording import photograph_words, signature, slug
from weftglass.errors import InputError
from weftglass.records import SHORT, OwnForm, View, words
from weftglass.vessels import Form, FormLibrary, Profile
from weftglass.vessels.library import line_of

TRACED_SD_MM = (0.5, 1.0)
"""Least and most that a contour traced on a photograph is taken to lie from the glass, mm."""

USUAL_HEIGHT_SD, USUAL_WIDTH_SD = 0.012, 0.015


@dataclass(frozen=True)
class OwnFormEntry:
    """A form of the owner's own with where it came from."""

    form: Form
    record: OwnForm


@cache
def starter_library() -> FormLibrary:
    """The bundled forms."""
    return FormLibrary.starter()


def library_of(collection: Collection) -> FormLibrary:
    """
    The bundled forms and the owner's own; an own form takes the place of a bundled one with the same id.

    Kept in memory until an own form changes, so that asking costs little.
    """
    with collection.cabinet.reading() as reader:
        own = reader.all_of(OwnForm)
    key = tuple((record.id, record.version) for record in own)
    library: FormLibrary = collection.libraries.get(key, lambda: _library(own))
    return library


def own_forms(collection: Collection, *, withdrawn: bool = False) -> list[OwnFormEntry]:
    """The owner's own forms, oldest first."""
    with collection.cabinet.reading() as reader:
        records = reader.all_of(OwnForm, withdrawn=withdrawn)
    return [OwnFormEntry(record.form, record) for record in records]


def add_forms_from_file(collection: Collection, source: str | Path | tuple[str, bytes], *, who: str) -> list[Form]:
    """
    Take in all forms of a form file, or none.

    Parameters
    ----------
    source : str, Path or (file name, content)
        JSON Lines, one form a line.

    Raises
    ------
    InputError
        With file, line and field of the first fault, or the id that the library has already.
    """
    if isinstance(source, tuple):
        name = words(source[0], "form file", "name", longest=255, needed=True)
        forms = FormLibrary.of_bytes(source[1], name).forms
    else:
        name = Path(source).name
        forms = FormLibrary.read(source).forms
    with collection.cabinet.writing(signature(who)) as draft:
        for form in forms:
            _add(draft, form, f"file {name}", who, name)
    return list(forms)


def add_form_from_view(
    collection: Collection,
    view_id: str,
    name: str,
    *,
    who: str,
    side_view_id: str | None = None,
    section: Mapping[str, Any] | None = None,
    **entries: Any,
) -> Form:
    """
    Take in a form from a photograph of an uncovered vessel, outlined and scaled like any view.

    Parameters
    ----------
    view_id : str
        A measured view of the bare vessel, from the front.
    name : str
        The trade's name of the form.
    side_view_id : str or None
        A measured view of its side, for vessels that are not as deep as wide.
    section : mapping or None
        As in a form file; default round.
    **entries
        Further entries of a form file: size, family, finish, closure, colours, base, letters, weight_g, capacity_ml,
        years, commonness, source, id ...

    Returns
    -------
    Form
        Its contour is taken to lie within 0.5 to 1 mm of the glass (as the outline says), and its height and width to
        vary by what vessels of one form vary plus the uncertainty of the photograph's scale.
    """
    where = f"form from view {view_id}"
    title = words(name, where, "name", longest=SHORT, needed=True)
    with collection.cabinet.writing(signature(who)) as draft:
        front = _measured_view(draft, view_id, where)
        side = None if side_view_id is None else _measured_view(draft, side_view_id, where)
        record = _traced_record(front, side) | {
            "name": title,
            "section": dict(section or {"kind": "round"}),
            "source": f"traced on a photograph ({view_id})",
            **entries,
        }
        record.setdefault("id", _free_id(draft, slug(f"{title} {entries.get('size') or ''}")))
        form = Form.from_record(record, where)
        _add(draft, form, f"view {view_id}", who, where)
    return form


def withdraw_form(collection: Collection, form_id: str, *, who: str, version: int | None = None) -> OwnForm:
    """Take an own form out of the library; findings that name it stay, and it can be brought back."""
    return _set_withdrawn(collection, form_id, True, who, version)


def restore_form(collection: Collection, form_id: str, *, who: str, version: int | None = None) -> OwnForm:
    """Bring a withdrawn form back."""
    return _set_withdrawn(collection, form_id, False, who, version)


def _library(own: list[OwnForm]) -> FormLibrary:
    starter = starter_library()
    if not own:
        return starter
    ids = {record.id for record in own}
    return FormLibrary([*(form for form in starter if form.id not in ids), *(record.form for record in own)])


def _add(draft: Draft, form: Form, origin: str, who: str, where: str) -> None:
    stored = draft.find(OwnForm, form.id)
    if form.id in starter_library() or (stored is not None and not stored.withdrawn):
        raise InputError(where, "id", form.id, "an id that the library does not have yet")
    version = 0 if stored is None else stored.version
    draft.put(OwnForm(id=form.id, version=version, entry=line_of(form), origin=origin, by=signature(who)), "added")


def _free_id(reader: Reader, base: str) -> str:
    number, name = 1, base
    while name in starter_library() or reader.find(OwnForm, name) is not None:
        number += 1
        name = f"{base}-{number}"
    return name


def _measured_view(reader: Reader, view_id: str, where: str) -> View:
    view = reader.get(View, view_id)
    if view.measured is None:
        raise InputError(where, "view", view_id, "a view with an outline and a scale")
    if view.withdrawn:
        raise InputError(where, "view", view_id, "a view that is not withdrawn")
    return view


def _traced_record(front: View, side: View | None) -> dict[str, Any]:
    assert front.measured is not None
    measured = front.measured
    spread = float(np.median(measured.sd_mm))
    record: dict[str, Any] = {
        "profile": [list(point) for point in measured.points],
        "tolerance": {
            "height_sd": round(math.hypot(USUAL_HEIGHT_SD, measured.scale_sd), 4),
            "width_sd": round(math.hypot(USUAL_WIDTH_SD, measured.scale_sd), 4),
            "shape_sd_mm": round(float(np.clip(spread, *TRACED_SD_MM)), 2),
        },
    }
    if side is not None and side.measured is not None:
        other = Profile.of(side.measured.points, photograph_words(side.id))
        factor = measured.points[-1][0] / other.height_mm
        record["side_profile"] = other.stretched(factor, factor).points.tolist()
        record["side_profile"][-1][0] = measured.points[-1][0]
    return record


def _set_withdrawn(collection: Collection, form_id: str, withdrawn: bool, who: str, version: int | None) -> OwnForm:
    with collection.cabinet.writing(signature(who)) as draft:
        record = draft.get(OwnForm, form_id)
        read = record.version if version is None else version
        deed = "withdrawn" if withdrawn else "brought back"
        return draft.put(replace(record, withdrawn=withdrawn, version=read), deed)

"""A form of the owner's own, beside the bundled ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.plain import json_value
from weftglass.records.shared import Record
from weftglass.vessels import Form


@dataclass(frozen=True, kw_only=True)
class OwnForm(Record):
    """
    One form added to a collection's library.

    Parameters
    ----------
    id : str
        Id of the form.
    entry : str
        Its line of a form file (JSON).
    origin : str
        Where it came from, in words: a file's name, or the view it was traced on.
    by : str
        Who added it.
    """

    KIND: ClassVar[str] = "form"
    PLURAL: ClassVar[str] = "forms"
    IS_EVIDENCE: ClassVar[bool] = True

    entry: str
    origin: str = ""
    by: str = ""

    @property
    def form(self) -> Form:
        """As the library takes it."""
        return self._read(f"own form {self.id}")

    def check_fields(self, where: str) -> None:
        """Its entry is a form with its id."""
        form = self._read(where)
        if form.id != self.id:
            raise InputError(where, "entry", form.id, f"a form with the id {self.id}")

    def _read(self, where: str) -> Form:
        return Form.from_record(json_value(self.entry, where, "entry"), where)

"""A form of the owner's own, beside the bundled ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.records.shared import Record


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

    entry: str
    origin: str = ""
    by: str = ""

"""A finding: a dated, signed conclusion with a frozen copy of what it rested on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.records.shared import Record


@dataclass(frozen=True, kw_only=True)
class Finding(Record):
    """
    A conclusion about a piece; superseded by a later one, never overwritten.

    Parameters
    ----------
    piece : str
        Id of the piece.
    subject : str
        What it concludes on: ``identification``.
    form : str or None
        Id of the form it names; None: none of the forms listed.
    conclusion : str
        The same in words, as they were true then.
    probability : float
        Of what it names, as computed then.
    unlisted : float
        Of none of the forms listed, as computed then.
    who, remark : str
        Who accepted it, and what they had to say.
    evidence, answer : str
        JSON texts: the evidence and the whole answer as they stood.
    engine_version, library_version : str
    superseded_by : str or None
        Id of the later finding.
    """

    KIND: ClassVar[str] = "finding"

    piece: str
    subject: str = "identification"
    form: str | None
    conclusion: str
    probability: float
    unlisted: float
    who: str
    remark: str = ""
    evidence: str
    answer: str
    engine_version: str
    library_version: str
    superseded_by: str | None = None

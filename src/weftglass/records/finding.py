"""A finding: a dated, signed conclusion with a frozen copy of what it rested on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.evidence import Evidence
from weftglass.records.plain import json_value
from weftglass.records.shared import Record

NEEDED: Mapping[str, Mapping[str, type | tuple[type, ...]]] = {
    "identification": {"candidates": list, "unlisted": (int, float)},
    "date": {"glass": dict, "covering": dict},
    "maker": {"communities": list, "another": (int, float)},
}
"""Subjects a finding may have, each with what its answer must hold."""


@dataclass(frozen=True, kw_only=True)
class Finding(Record):
    """
    A conclusion about a piece; superseded by a later one, never overwritten.

    Parameters
    ----------
    piece : str
        Id of the piece.
    subject : str
        What it concludes on: ``identification``, ``date`` or ``maker``.
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
    PLURAL: ClassVar[str] = "findings"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}
    FINAL: ClassVar[str] = "one that is not a finding: findings are superseded by a later one, never taken back"

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

    @property
    def about(self) -> str:
        """What it concludes."""
        return self.conclusion

    def check_fields(self, where: str) -> None:
        """Its probabilities are some, and evidence and answer can be read."""
        for name in ("probability", "unlisted"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise InputError(where, name, getattr(self, name), "a probability from 0 to 1")
        Evidence.from_record(json_value(self.evidence, where, "evidence"), f"{where} evidence")
        answer = json_value(self.answer, where, "answer")
        needed = NEEDED.get(self.subject)
        if needed is None:
            raise InputError(where, "subject", self.subject, "one of: " + ", ".join(NEEDED))
        if not isinstance(answer, dict) or any(not isinstance(answer.get(key), kind) for key, kind in needed.items()):
            raise InputError(where, "answer", self.answer, f"the record of an answer on the {self.subject}")

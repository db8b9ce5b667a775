"""Which findings stand, and what has changed under each since it was signed, told without computing anything."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.cabinet.listing import StandingFinding, last_evidence_changes, standing_findings
from weftglass.desk.collection import Collection
from weftglass.desk.findings import Recheck
from weftglass.desk.forms import library_of
from weftglass.inside import ENGINE_VERSION
from weftglass.records import Piece

WEAKER_BY = 0.1
"""A finding whose probability fell by this much no longer stands as it was signed."""

VERDICTS: dict[str, str] = {
    "stands": "stands as it was signed",
    "weaker": "still the likeliest, but less sure",
    "fallen": "no longer the likeliest",
    "against": "signed against the answer, then as now",
}
"""What computing a finding again can show."""


@dataclass(frozen=True)
class Standing:
    """
    A finding that stands, and what changed since.

    Parameters
    ----------
    finding : StandingFinding
        In brief.
    piece_name : str
    evidence_changed, library_changed, engine_changed : bool
        Whether outlines, measurements or sightings were touched since; whether the form library or the engine is
        another. Any of them may or may not change the answer: `recheck_finding` computes it.
    """

    finding: StandingFinding
    piece_name: str
    evidence_changed: bool
    library_changed: bool
    engine_changed: bool

    @property
    def touched(self) -> bool:
        """True where anything changed."""
        return self.evidence_changed or self.library_changed or self.engine_changed


def findings_standing(collection: Collection) -> list[Standing]:
    """What each piece's vessel was last found to be, touched ones first, then the oldest first."""
    library = library_of(collection).version
    with collection.cabinet.reading() as reader:
        findings, changes = standing_findings(reader.session), last_evidence_changes(reader.session)
        names = {piece.id: piece.name for piece in reader.all_of(Piece)}
    found = [
        Standing(
            finding,
            names[piece],
            changes.get(piece, 0) > finding.number,
            finding.library_version != library,
            finding.engine_version != ENGINE_VERSION,
        )
        for piece, finding in findings.items()
        if piece in names
    ]
    return sorted(found, key=lambda one: not one.touched)


def verdict_of(check: Recheck) -> str:
    """
    What a finding computed again amounts to: one of `VERDICTS`.

    A person may have signed another form than the likeliest; that is told apart from a finding that was overtaken.
    """
    named = check.finding.form
    if check.form_with_what_is_known != named:
        return "fallen" if check.form_then == named else "against"
    return "weaker" if check.probability_then - check.probability_with_what_is_known >= WEAKER_BY else "stands"

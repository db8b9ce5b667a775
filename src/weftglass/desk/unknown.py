"""What is still unknown of a piece, in words, what matters most for finding the vessel first."""

from __future__ import annotations

from collections.abc import Sequence

from weftglass.records import MeasurementRecord, Piece, SightingRecord, View, evidence_view

MEASURED = {
    "height": "its height over all",
    "weight": "its weight",
    "lip_diameter": "the diameter across the lip",
    "base_diameter": "the diameter of the base",
}
SEEN = {
    "finish": "how the lip is made",
    "colour": "the colour of the glass",
    "base": "what the base shows",
    "letters": "whether letters show through the covering",
}
WRITTEN = {
    "technique": "how the covering is worked",
    "material": "what it is made of",
    "community": "which community made it",
    "maker": "who made it",
    "made": "when it was made",
    "acquired_on": "when it was acquired",
    "source": "where it came from",
    "condition": "its condition",
}


def still_unknown(
    piece: Piece, views: Sequence[View], measurements: Sequence[MeasurementRecord], sightings: Sequence[SightingRecord]
) -> tuple[str, ...]:
    """Open points of a piece: photographs, outline, scale, measurements, sightings, then the catalogue entry."""
    return (
        *_on_photographs(views),
        *(words for what, words in MEASURED.items() if what not in {m.what for m in measurements}),
        *(words for feature, words in SEEN.items() if feature not in {s.feature for s in sightings}),
        *(words for field, words in WRITTEN.items() if not getattr(piece, field)),
    )


def _on_photographs(views: Sequence[View]) -> list[str]:
    whole = [view for view in views if evidence_view(view.role) is not None]
    if not whole:
        return ["its outline: no photograph from the front yet"]
    open_points = []
    if not any(view.polygon for view in whole):
        open_points.append("its outline: not traced on any photograph yet")
    elif not any(view.measured for view in whole):
        open_points.append("its size: no photograph has a scale yet")
    elif not any(view.bare for view in whole if view.measured):
        open_points.append("where the glass is bare: nothing is marked yet")
    if not any(evidence_view(view.role) == "side" for view in whole):
        open_points.append("whether it is as deep as it is wide: no photograph from the side")
    return open_points

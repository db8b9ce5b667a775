"""Evidence about a piece: outlines, measurements, sightings and what is known of the covering."""

from weftglass.evidence.covering import Covering
from weftglass.evidence.evidence import Evidence, is_json_lines, parse_json, read_evidence
from weftglass.evidence.measurement import KINDS, Measurement, default_sd
from weftglass.evidence.outline import Outline
from weftglass.evidence.sighting import FEATURES, Sighting

__all__ = [
    "FEATURES",
    "KINDS",
    "Covering",
    "Evidence",
    "Measurement",
    "Outline",
    "Sighting",
    "default_sd",
    "is_json_lines",
    "parse_json",
    "read_evidence",
]

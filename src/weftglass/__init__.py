"""
Find out, and defend, which glass vessel is inside a woven covering.

Examples
--------
>>> from weftglass import Evidence, FormLibrary, Measurement, identify
>>> library = FormLibrary.starter()
>>> evidence = Evidence(piece="p-1", measurements=(Measurement("height", 231.0, 1.0),))
>>> answer = identify(evidence, library)
>>> round(sum(answer.probabilities.values()) + answer.unlisted, 6)
1.0
"""

from weftglass.errors import CabinetError, ChangedMeanwhile, InputError, WeftglassError
from weftglass.evidence import Covering, Evidence, Measurement, Outline, Sighting, read_evidence
from weftglass.inside import Answer, Candidate, NextLook, identify
from weftglass.vessels import Form, FormLibrary, Profile, Section

__all__ = [
    "Answer",
    "CabinetError",
    "Candidate",
    "ChangedMeanwhile",
    "Covering",
    "Evidence",
    "Form",
    "FormLibrary",
    "InputError",
    "Measurement",
    "NextLook",
    "Outline",
    "Profile",
    "Section",
    "Sighting",
    "WeftglassError",
    "identify",
    "read_evidence",
]

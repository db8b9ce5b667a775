"""Which vessel is inside a covering: probabilities, reasons, and the next thing worth looking at."""

from weftglass.inside.answer import Answer, Candidate, Cover, NextLook, Weight
from weftglass.inside.identify import ENGINE_VERSION, identify

__all__ = ["ENGINE_VERSION", "Answer", "Candidate", "Cover", "NextLook", "Weight", "identify"]

"""The covering: how finely it is woven, which way its stitches lean, what its parts are called, who made it."""

from weftglass.weave.closeup import gauge_of
from weftglass.weave.gauge import TECHNIQUES, Gauge, LocalGauge
from weftglass.weave.hand_count import TAP_SD_MM, HandCount, counted_by_hand
from weftglass.weave.patch import Box
from weftglass.weave.stance import Known

__all__ = [
    "TAP_SD_MM",
    "TECHNIQUES",
    "Box",
    "Gauge",
    "HandCount",
    "Known",
    "LocalGauge",
    "counted_by_hand",
    "gauge_of",
]

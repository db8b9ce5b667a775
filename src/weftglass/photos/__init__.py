"""Photographs: decoding, scale, outline, and the profile in millimetres with its uncertainty."""

from weftglass.photos.cut import Unseen, cut_ends
from weftglass.photos.decode import MAX_MEGAPIXELS, Photograph, read_photograph
from weftglass.photos.found import FoundOutline, outline_from_photograph
from weftglass.photos.handles import handles_of
from weftglass.photos.measure import MeasuredOutline, measure_outline
from weftglass.photos.outline import trace_outline
from weftglass.photos.reduce import thumbnail_jpeg, without_camera_notes, working_copy
from weftglass.photos.rollout import Rollout, TurnedView, roll_out
from weftglass.photos.rollout_picture import BandMark, picture_bytes, plain_picture, ruled_picture
from weftglass.photos.scale import Scale, scale_from_bar, scale_from_height
from weftglass.photos.section import SectionHint
from weftglass.photos.silhouette import Silhouette
from weftglass.photos.standing import Standing
from weftglass.photos.zones import BareZone, bare_zones, propose_bare

__all__ = [
    "MAX_MEGAPIXELS",
    "BandMark",
    "BareZone",
    "FoundOutline",
    "MeasuredOutline",
    "Photograph",
    "Rollout",
    "Scale",
    "SectionHint",
    "Silhouette",
    "Standing",
    "TurnedView",
    "Unseen",
    "bare_zones",
    "cut_ends",
    "handles_of",
    "measure_outline",
    "outline_from_photograph",
    "picture_bytes",
    "plain_picture",
    "propose_bare",
    "read_photograph",
    "roll_out",
    "ruled_picture",
    "scale_from_bar",
    "scale_from_height",
    "thumbnail_jpeg",
    "trace_outline",
    "without_camera_notes",
    "working_copy",
]

"""When: year curves of the glass and of its covering, and what clashes between them."""

from weftglass.dating.clash import Clash
from weftglass.dating.combine import form_years
from weftglass.dating.dating import Dating, PartDate, date_piece
from weftglass.dating.extended import ExtendedDate, read_extended
from weftglass.dating.groups import GroupDate, GroupRange, group_date, mean_date, shared_range
from weftglass.dating.item import COVERING, GLASS, Item, community_item, owned_item
from weftglass.dating.regions import REGIONS, region_named
from weftglass.dating.span import DateSpan, span_of
from weftglass.dating.spoken import spoken_date
from weftglass.dating.years import YEARS

__all__ = [
    "COVERING",
    "GLASS",
    "REGIONS",
    "YEARS",
    "Clash",
    "DateSpan",
    "Dating",
    "ExtendedDate",
    "GroupDate",
    "GroupRange",
    "Item",
    "PartDate",
    "community_item",
    "date_piece",
    "form_years",
    "group_date",
    "mean_date",
    "owned_item",
    "read_extended",
    "region_named",
    "shared_range",
    "span_of",
    "spoken_date",
]

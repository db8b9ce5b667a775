"""What can be shown and handed out: charts of the holdings, and the catalogue as one file; records in, bytes out."""

from weftglass.publish.catalogue import Catalogue, Picture, Shown, Table, TitledPage, catalogue_html, content_policy
from weftglass.publish.charts import counts_svg, growth_svg, shares_svg
from weftglass.publish.map import map_svg
from weftglass.publish.paper import DESK, Size, for_pages
from weftglass.publish.timeline import timeline_svg

__all__ = [
    "DESK",
    "Catalogue",
    "Picture",
    "Shown",
    "Size",
    "Table",
    "TitledPage",
    "catalogue_html",
    "content_policy",
    "counts_svg",
    "for_pages",
    "growth_svg",
    "map_svg",
    "shares_svg",
    "timeline_svg",
]

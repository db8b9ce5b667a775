"""What can be shown and handed out: charts of the holdings, and the catalogue as one file; records in, bytes out."""

from weftglass.publish.charts import counts_svg, growth_svg
from weftglass.publish.map import map_svg
from weftglass.publish.timeline import timeline_svg

__all__ = ["counts_svg", "growth_svg", "map_svg", "timeline_svg"]

"""The holdings drawn: from what was counted to a chart, for page, command line and catalogue alike."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from weftglass.desk.holdings import Shown
from weftglass.desk.holdings_words import table_title
from weftglass.desk.rarity import HowRare
from weftglass.desk.wording import capital
from weftglass.publish import DESK, Size, counts_svg, shares_svg


def table_svg(shown: Shown, *, size: Size = DESK) -> Markup:
    """The table of two terms as a picture."""
    table = shown.table
    return counts_svg(table_title(shown), table.rows, table.columns, table.counts, shown.marked, size=size)


def rarity_svg(every: Sequence[HowRare], *, size: Size = DESK) -> Markup | None:
    """Shares with their intervals as a picture; None where nothing can be said."""
    groups = []
    for one in every:
        told = one.groups.items()
        lines = [
            (among, f"{rare.alike} of {rare.pieces}", rare.share) for among, rare in told if rare.share is not None
        ]
        if lines:
            groups.append((capital(one.words), lines))
    return shares_svg("How unusual", groups, size=size) if groups else None

"""What charts are drawn with: inks that have names, so that a page may turn them for the night, and two sizes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from markupsafe import Markup, escape

Size = Literal["at-desk", "at-hand"]
DESK: Size = "at-desk"
HAND: Size = "at-hand"
HAND_WIDE = 320.0
"""Units across a chart for a phone, about a pixel each there, so that its lettering keeps its size."""

INKS = {
    "ink": "#25221c",
    "soft": "#5c5548",
    "line": "#d6cfbf",
    "glass": "#1f5a4c",
    "glass-tint": "#cfe3da",
    "cane": "#a8762f",
    "cane-tint": "#f2e6d0",
    "stop": "#8a3315",
    "paper": "#fcfaf5",
}
"""Name of an ink to its colour by day, the one a saved chart has; `static/charts.css` has the others."""


def inked(*, fill: str = "", pen: str = "") -> str:
    """
    Attributes that fill a shape and draw its edge; an ink left out leaves that part as the format has it.

    The colour stands in a presentation attribute, which any style rule for the class overrides: a saved chart is whole
    in itself, a page can turn it.

    Examples
    --------
    >>> inked(fill="glass", pen="cane")
    'class="fill-glass pen-cane" fill="#1f5a4c" stroke="#a8762f"'
    """
    classes = [f"{part}-{ink}" for part, ink in (("fill", fill), ("pen", pen)) if ink]
    colours = [f'{part}="{INKS[ink]}"' for part, ink in (("fill", fill), ("stroke", pen)) if ink]
    return f'class="{" ".join(classes)}" {" ".join(colours)}'


def line(path: str, pen: str, width: float, more: str = "") -> str:
    """A path that is drawn, not filled."""
    return f'<path d="{path}" {inked(pen=pen)} fill="none" stroke-width="{width:g}"{more}/>'


def words(x: float, y: float, text: str, *, size: float = 12, ink: str = "soft", anchor: str = "start") -> str:
    """A line of lettering."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" {inked(fill=ink)}>'
        f"{escape(text)}</text>"
    )


def words_on_paper(x: float, y: float, text: str, *, size: float, anchor: str = "middle") -> str:
    """A line of lettering with paper round its letters, so that it stands clear of what it crosses."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="{size:g}" {inked(fill="ink", pen="paper")} '
        f'paint-order="stroke" stroke-width="3">{escape(text)}</text>'
    )


def opening(wide: float, tall: float, title: str, described: str, size: Size, look: str = "") -> str:
    """The head of a chart: its size, what it is called, and what it shows for those who do not see it."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {tall:.0f}" role="img" '
        f'class="{" ".join(filter(None, ("chart", look, size)))}" '
        f'font-family="serif"><title>{escape(title)}</title><desc>{escape(described)}</desc>'
    )


def for_pages(draw: Callable[[Size], Markup | None]) -> Markup:
    """A chart in both sizes, of which `static/charts.css` shows the one that has room; empty where nothing is drawn."""
    return Markup("").join(drawn for drawn in (draw(DESK), draw(HAND)) if drawn is not None)


def shortened(text: str, most: int) -> str:
    """Text cut to so many letters."""
    return text if len(text) <= most else f"{text[: most - 1]}…"

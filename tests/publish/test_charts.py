"""The charts: whole and light when saved, turned by a page's style, and narrow enough for a hand."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib.resources import files
from xml.etree import ElementTree

import numpy as np
import pytest
from markupsafe import Markup

from weftglass.holdings import Estimate, Lifespan, Spot, growth_curve
from weftglass.publish import DESK, Size, counts_svg, for_pages, growth_svg, map_svg, shares_svg, timeline_svg
from weftglass.publish.paper import HAND, HAND_WIDE, INKS

LONG = "signed or inscribed, dated on the piece, pictorial design"
TWO = np.array([[3, 0, 1], [0, 12, 0]])
SPOTS = [
    Spot("Upper Quay", (51.00, -3.0), 5.0, "community", (("p", "a"),), ""),
    Spot("Lower Quay", (51.01, -3.0), 2.0, "found", (("q", "b"),), ""),
    Spot("Far Point", (51.30, -2.0), 2.0, "not found", (), ""),
]
SPANS = [
    Lifespan(f"p-{number}", f"piece {number}", "", (1600, 1900), (1890, 2000), bool(number % 2)) for number in range(3)
]
CHARTS: dict[str, Callable[[Size], Markup]] = {
    "counts": lambda size: counts_svg("t", ["row", LONG], ["one", LONG, "three"], TWO, np.sign(TWO), size=size),
    "growth": lambda size: growth_svg(growth_curve([1, 1, 2, 5, 9]), "t", size=size),
    "shares": lambda size: shares_svg("t", [(LONG, [("published", "13 of 95", Estimate(0.2, 0.1, 0.4))])], size=size),
    "map": lambda size: map_svg(SPOTS, size=size),
    "timeline": lambda size: timeline_svg(SPANS, size=size),
}
STYLE = (files("weftglass.publish") / "static" / "charts.css").read_text(encoding="utf-8")


@pytest.mark.parametrize("chart", CHARTS)
@pytest.mark.parametrize("size", [DESK, HAND])
def test_a_saved_chart_is_whole_in_itself_and_drawn_for_the_day(chart: str, size: Size) -> None:
    drawn = ElementTree.fromstring(str(CHARTS[chart](size)))
    colours = {element.get(part) for element in drawn.iter() for part in ("fill", "stroke")} - {None, "none"}
    assert colours <= set(INKS.values())
    text = ElementTree.tostring(drawn, encoding="unicode")
    assert "var(" not in text
    assert "<style" not in text


@pytest.mark.parametrize("chart", CHARTS)
@pytest.mark.parametrize("size", [DESK, HAND])
def test_every_colour_of_a_chart_can_be_turned_by_the_page(chart: str, size: Size) -> None:
    """Each filled or drawn shape names its inks, and the style has a rule for each."""
    drawn = ElementTree.fromstring(str(CHARTS[chart](size)))
    for element in drawn.iter():
        names = (element.get("class") or "").split()
        for part, kind in (("fill", "fill"), ("stroke", "pen")):
            if element.get(part) in INKS.values():
                (ink,) = (name for name in names if name.startswith(f"{kind}-"))
                assert INKS[ink.removeprefix(f"{kind}-")] == element.get(part)
                assert f".chart .{ink} " in STYLE
        assert element.tag.endswith(("svg", "title", "desc")) or element.get("fill") or element.get("stroke")


@pytest.mark.parametrize("chart", CHARTS)
def test_a_chart_for_the_hand_is_no_wider_than_a_phone_and_its_letters_keep_their_size(chart: str) -> None:
    drawn = ElementTree.fromstring(str(CHARTS[chart](HAND)))
    assert drawn.get("viewBox", "").split()[2] == f"{HAND_WIDE:.0f}"
    assert all(float(element.get("font-size", "0")) >= 11 for element in drawn.iter() if element.tag.endswith("text"))


@pytest.mark.parametrize("chart", ["counts", "shares", "map", "timeline"])
def test_no_words_leave_a_chart_for_the_hand(chart: str) -> None:
    """At most 0.55 of the letters' size a letter, which the serif faces of three systems keep to."""
    drawn = ElementTree.fromstring(str(CHARTS[chart](HAND)))
    for element in drawn.iter():
        if element.tag.endswith("text"):
            long = 0.55 * float(element.get("font-size", "0")) * len(element.text or "")
            left = (
                float(element.get("x", "0")) - {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor", ""), 0) * long
            )
            assert left >= -8, element.text
            assert left + long <= HAND_WIDE + 8, element.text


def test_names_on_a_map_stand_clear_of_each_other() -> None:
    for size in (DESK, HAND):
        drawn = str(map_svg(SPOTS, size=size))
        names = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)"[^>]*>([A-Z][^<]*Quay[^<]*)<', drawn)
        (_, y1, a1, _), (_, y2, a2, _) = names
        assert abs(float(y1) - float(y2)) > 13 or a1 != a2


def test_a_page_gets_both_sizes_and_shows_one() -> None:
    both = for_pages(CHARTS["map"])
    assert both.count("<svg") == 2
    assert ".chart.at-hand { display: none;" in STYLE
    assert ".chart.at-desk { display: none; }" in STYLE
    assert for_pages(lambda _: None) == ""

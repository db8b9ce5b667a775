"""The catalogue as a file, and the charts in it: escaped, whole in itself, and nothing a browser would fetch."""

from __future__ import annotations

import base64
import hashlib
import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from weftglass.holdings import Estimate, Lifespan, Spot
from weftglass.publish import (
    Catalogue,
    Picture,
    Shown,
    Table,
    TitledPage,
    catalogue_html,
    content_policy,
    counts_svg,
    map_svg,
    shares_svg,
    timeline_svg,
)

NASTY = '<img src=x onerror="alert(1)"> & "Co"'
CHARTS = {
    "counts": counts_svg(NASTY, [NASTY], [NASTY], np.array([[3]]), np.array([[1]])),
    "shares": shares_svg(NASTY, [(NASTY, [(NASTY, NASTY, Estimate(0.2, 0.1, 0.4))])]),
    "map": map_svg([Spot(NASTY, (51.0, -3.0), 5.0, "community", (("p", NASTY),), NASTY)]),
    "timeline": timeline_svg([Lifespan("p", NASTY, NASTY, (1880, 1900), (1890, 1910), True)]),
}


def jpeg() -> bytes:
    """A small picture."""
    target = io.BytesIO()
    Image.new("RGB", (4, 4)).save(target, "JPEG")
    return target.getvalue()


def everything() -> bytes:
    """A catalogue every text of which tries to be markup."""
    shown = Shown(
        NASTY,
        NASTY,
        CHARTS["counts"],
        (Picture(jpeg(), NASTY),),
        ((NASTY, NASTY),),
        (NASTY,),
        Table((NASTY,), ((NASTY,),), frozenset({0})),
    )
    return catalogue_html(Catalogue(NASTY, NASTY, (TitledPage(NASTY, NASTY, (shown,)),), (NASTY,)))


def test_no_text_becomes_markup() -> None:
    text = everything().decode("utf-8")
    assert "<img src=x" not in text
    assert text.count("<img ") == 1
    assert "&lt;img src=x" in text


def test_the_policy_lets_in_the_files_own_style_and_no_script() -> None:
    text = everything().decode("utf-8")
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    assert f"style-src 'sha256-{digest}'" in content_policy()
    assert content_policy().startswith("default-src 'none'")
    assert "script" not in content_policy()


@pytest.mark.parametrize("chart", CHARTS)
def test_charts_are_well_formed_and_escape_their_words(chart: str) -> None:
    drawn = ElementTree.fromstring(str(CHARTS[chart]))
    assert drawn.tag.endswith("svg")
    assert all(not element.tag.endswith(("img", "script", "image")) for element in drawn.iter())


def test_a_way_back_stands_only_on_the_programs_own_page() -> None:
    catalogue = Catalogue("Coast", "today", (TitledPage("A", "", ()),))
    assert b"Back to the pages" not in catalogue_html(catalogue)
    assert b'href="/catalogue"' in catalogue_html(catalogue, back="/catalogue")


def test_remarks_keep_their_paragraphs() -> None:
    text = catalogue_html(Catalogue("Coast", "today", (TitledPage("A", "one\n\ntwo", ()),))).decode("utf-8")
    assert text.count('<p class="remark">') == 2

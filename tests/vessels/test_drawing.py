"""Drawings: well-formed, free of script and style, to scale, with unit and uncertainty on every number."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from weftglass.vessels import Form, FormLibrary, form_drawing_svg, library_sheet_svg

LIBRARY = FormLibrary.starter()
SOME = ["wine-onion-650ml", "flask-shoofly-473ml", "poison-hex-700ml", "gin-case-19c-1150ml", "soda-torpedo-285ml"]
SVG = "{http://www.w3.org/2000/svg}"


def tree(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)


@pytest.mark.parametrize("name", SOME)
def test_a_form_drawing_obeys_a_strict_content_policy(name: str) -> None:
    """No script, no style, no event attribute, no outside reference."""
    for element in tree(form_drawing_svg(LIBRARY[name])).iter():
        assert element.tag in {SVG + tag for tag in ("svg", "title", "path", "text", "g")}
        assert not {key for key in element.attrib if key == "style" or key.startswith("on") or "href" in key}


@pytest.mark.parametrize("name", SOME)
def test_every_measure_has_unit_and_uncertainty(name: str) -> None:
    """Numbers shown are of the kind '312 ± 7 mm'."""
    form = LIBRARY[name]
    said = [element.text or "" for element in tree(form_drawing_svg(form)).iter(SVG + "text")]
    assert len(said) >= 3
    assert all(re.search(r"\d ± \d[\d.]* mm$", text) for text in said)
    assert any(text.startswith(f"{form.profile.height_mm:.0f} ±") for text in said)


def test_only_flat_forms_get_a_side_and_a_plan() -> None:
    """Depth is measured on a flask, not on an onion."""
    assert "depth" in form_drawing_svg(LIBRARY["flask-shoofly-473ml"])
    assert "wg-plan" in form_drawing_svg(LIBRARY["gin-case-19c-1150ml"])
    assert "depth" not in form_drawing_svg(LIBRARY["wine-onion-650ml"])


def test_a_form_without_mass_is_drawn_without_a_cut_wall() -> None:
    """Nothing is shown that is not known."""
    bare = Form.from_record(
        {"id": "b", "name": "b", "section": {"kind": "round"}, "profile": [[0, 40], [90, 40]]}, "here"
    )
    assert "wg-wall" not in form_drawing_svg(bare)
    assert "wg-wall" in form_drawing_svg(LIBRARY["wine-onion-650ml"])


def test_the_sheet_shows_every_form_once_inside_its_frame() -> None:
    """256 figures, each named, none outside the sheet."""
    sheet = library_sheet_svg(LIBRARY)
    root = tree(sheet)
    shown = [element.attrib["data-form"] for element in root.iter(SVG + "g") if "data-form" in element.attrib]
    assert sorted(shown) == sorted(form.id for form in LIBRARY)
    height = float(root.attrib["viewBox"].split()[3])
    for path in root.iter(SVG + "path"):
        figures = [float(number) for number in re.findall(r"-?\d+\.?\d*", path.attrib["d"])]
        assert min(figures[::2]) >= 0
        assert max(figures[::2]) <= 1600
        assert min(figures[1::2]) >= 0
        assert max(figures[1::2]) <= height


def test_names_are_escaped() -> None:
    """A form called like a tag stays text."""
    record = {
        "id": 'x"><script>',
        "name": "<script>alert(1)</script>",
        "section": {"kind": "round"},
        "profile": [[0, 40], [90, 40]],
    }
    form = Form.from_record(record, "here")
    for text in (form_drawing_svg(form), library_sheet_svg(FormLibrary([form]))):
        assert "<script" not in text
        tree(text)


@pytest.mark.parametrize("name", ["wine-onion-650ml", "flask-shoofly-473ml", "gin-case-19c-1150ml"])
def test_larger_letters_stay_on_the_drawing(name: str) -> None:
    """At most 0.55 of the letters' size a letter."""
    drawn = tree(form_drawing_svg(LIBRARY[name], lettering=1.8))
    width = float(drawn.get("viewBox", "").split()[2])
    for element in drawn.iter(SVG + "text"):
        long = 0.55 * float(element.get("font-size", "0")) * len(element.text or "")
        left = float(element.get("x", "0")) - (long / 2 if element.get("text-anchor") == "middle" else 0.0)
        assert left >= 0
        assert left + long <= width

"""Drawings of vessels in outlines: what they show and that they stay within the strict policy."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from weftglass.vessels import FormLibrary
from weftglass.web.figures.inside import Fitted, vessel_in_outline_svg
from weftglass.web.figures.thumbnail import form_thumbnail_svg

SVG = "{http://www.w3.org/2000/svg}"


def fitted(gap_mm: float = 3.0) -> Fitted:
    """A plain cylinder of 40 mm half-width inside an outline a given gap wider, its top 20 mm bare."""
    z = np.linspace(0.0, 200.0, 41)
    vessel = np.column_stack([z, np.full_like(z, 40.0)])
    gap = np.where(z > 180, 0.0, gap_mm)
    outline = np.column_stack([z, 40.0 + gap])
    return Fitted(outline, vessel, np.column_stack([z, gap]), ((180.0, 200.0),))


def parsed(svg: str) -> ElementTree.Element:
    """The drawing as XML."""
    return ElementTree.fromstring(svg)


def test_drawing_says_in_words_what_it_shows() -> None:
    """Title and description name the form and the least and greatest clearance."""
    root = parsed(vessel_in_outline_svg(fitted(), "test flask, pint"))
    assert root.findtext(f"{SVG}title") == "test flask, pint drawn inside the outline"
    assert "from 0.0 to 3.0 mm" in (root.findtext(f"{SVG}desc") or "")


def test_drawing_shows_glass_that_would_stick_out() -> None:
    """Negative clearance is drawn in its own colour and said."""
    root = parsed(vessel_in_outline_svg(fitted(-2.0), "too wide"))
    assert [path for path in root.iter(f"{SVG}path") if path.get("class") == "sticks-out"]
    assert "would stick out by 2.0 mm" in (root.findtext(f"{SVG}desc") or "")


def test_drawing_without_misfit_marks_none() -> None:
    """The control of the test above."""
    root = parsed(vessel_in_outline_svg(fitted(), "well inside"))
    assert not [path for path in root.iter(f"{SVG}path") if path.get("class") == "sticks-out"]


def test_what_was_left_out_is_hatched_named_and_said() -> None:
    """Each range has strokes at both sides within its heights only, a bracket and a word; without a range none has."""
    ranges = ((60.0, 64.0), (100.0, 130.0))
    root = parsed(vessel_in_outline_svg(replace(fitted(), left_out=ranges), "strapped"))
    drawn = [path.get("d") or "" for path in root.iter(f"{SVG}path") if path.get("class") == "left-out"]
    heights = [-float(y) for _, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", drawn[0])]
    assert all(any(low <= z <= high for low, high in ranges) for z in heights)
    for low, high in ranges:
        assert sum(low <= z <= high for z in heights) >= 4
    assert [text.text for text in root.iter(f"{SVG}text")].count("left out") == 2
    assert "from 100 to 130 mm height was left out" in (root.findtext(f"{SVG}desc") or "")
    plain = vessel_in_outline_svg(fitted(), "plain")
    assert "left-out" not in plain
    assert "left out" not in plain


def test_vessel_is_drawn_to_scale_in_mm() -> None:
    """One user unit is a millimetre: the glass is 80 wide and 200 tall."""
    root = parsed(vessel_in_outline_svg(fitted(), "cylinder"))
    glass = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "glass")
    numbers = [float(text) for text in re.findall(r"-?\d+\.\d+", glass.get("d") or "")]
    x, y = numbers[::2], numbers[1::2]
    assert (max(x) - min(x), max(y) - min(y)) == (80.0, 200.0)


def test_names_are_escaped_in_drawings() -> None:
    """A form's name is text, never markup."""
    svg = vessel_in_outline_svg(fitted(), "<script>alert(1)</script>")
    assert "<script" not in svg
    assert parsed(svg).findtext(f"{SVG}title") == "<script>alert(1)</script> drawn inside the outline"


@pytest.mark.parametrize("place", [0, 57, 130, 255])
def test_thumbnails_fill_their_field_without_leaving_it(place: int) -> None:
    """Whatever the proportions of a form, its silhouette touches the field's edge and stays inside."""
    svg = str(form_thumbnail_svg(FormLibrary.starter().forms[place]))
    root = parsed(svg.replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1))
    glass = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "glass")
    numbers = [float(text) for text in re.findall(r"-?\d+\.\d+", glass.get("d") or "")]
    wide, tall = max(numbers[::2]) - min(numbers[::2]), max(numbers[1::2]) - min(numbers[1::2])
    assert wide <= 132.3
    assert tall <= 200.3
    assert wide > 131.7 or tall > 199.7


def test_drawings_carry_no_script_and_no_inline_style() -> None:
    """The page's policy would block them, and a saved file should hold nothing that runs."""
    for svg in (vessel_in_outline_svg(fitted(), "a"), form_thumbnail_svg(FormLibrary.starter().forms[0])):
        assert not re.search(r"<script|<style|\sstyle=|\son\w+=|href=", svg)

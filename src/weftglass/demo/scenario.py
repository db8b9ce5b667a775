"""The bundled scenario: what its collector wrote down, the photographs, and the truth behind them."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any

FOLDER = "data"


def _place(name: str) -> Traversable:
    return resources.files("weftglass.demo").joinpath(FOLDER).joinpath(name)


@cache
def scenario() -> dict[str, Any]:
    """Coast, communities, makers, brands and pieces; a piece holds only what its collector could know."""
    content: dict[str, Any] = json.loads(_place("scenario.json").read_text(encoding="utf-8"))
    return content


@cache
def truths() -> dict[str, dict[str, Any]]:
    """What is true of each photograph, by its name ``<piece>-<view>``; lengths mm, z upward, pixels x right y down."""
    place = _place("truth.json")
    if not place.is_file():
        return {}
    content: dict[str, dict[str, Any]] = json.loads(place.read_text(encoding="utf-8"))
    return content


def form_file() -> tuple[str, bytes]:
    """Name and content of the scenario's own form file: generic forms with invented lettering."""
    return "demo-forms.jsonl", _place("forms.jsonl").read_bytes()


def photograph(name: str) -> bytes | None:
    """A photograph's JPEG; None where it is not bundled."""
    place = _place("photographs").joinpath(f"{name}.jpg")
    return place.read_bytes() if place.is_file() else None


def photographs_of(piece: str) -> list[tuple[str, dict[str, Any], bytes]]:
    """(name, truth, JPEG) of a piece's photographs, its front first."""
    found = []
    for name, truth in truths().items():
        if truth["piece"] == piece:
            content = photograph(name)
            if content is not None:
                found.append((name, truth, content))
    return sorted(found, key=lambda one: one[1]["role"] != "front")

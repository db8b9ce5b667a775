"""An outline on one picture is solved once, and anew as soon as anything it follows from changes."""

from __future__ import annotations

import numpy as np
import pytest

from tests.photos.projector import BOTTLE, Shot
from weftglass.photos import solved_once
from weftglass.photos.measure import MeasuredOutline, measure_outline
from weftglass.photos.scale import scale_from_bar

SHOT = Shot(700, 190, tilt_deg=5, focal_px=1500, size=(700, 933))


@pytest.fixture
def solving(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """Each real solving, and nothing remembered from before."""
    done: list[object] = []
    real = solved_once.solve

    def counted(*args: object) -> object:
        done.append(args)
        return real(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(solved_once, "solve", counted)
    solved_once._solved.clear()
    return done


def measured(mm: float = 100.0, shift: float = 0.0, shade: int = 128, focal: float | None = None) -> MeasuredOutline:
    """The bottle's silhouette on a flat grey picture, with a bar said to be so long."""
    pixels = np.full((SHOT.size[1], SHOT.size[0], 3), shade, np.uint8)
    return measure_outline(
        SHOT.silhouette(BOTTLE) + shift,
        scale=scale_from_bar(*SHOT.bar(), mm),
        focal_35mm=focal or SHOT.focal_35mm,
        image_size=SHOT.size,
        pixels=pixels,
    )


def test_another_scale_solves_nothing_anew_and_changes_all_lengths(solving: list[object]) -> None:
    one, other = measured(), measured(mm=110.0)
    assert len(solving) == 1
    assert other.height_mm == pytest.approx(1.1 * one.height_mm)
    assert other.axis["tilt_deg"] == one.axis["tilt_deg"]


def test_another_outline_picture_or_lens_is_solved_anew(solving: list[object]) -> None:
    measured()
    measured(shift=0.5)
    measured(shade=140)
    measured(focal=SHOT.focal_35mm * 1.1)
    assert len(solving) == 4


def test_only_so_many_are_remembered(solving: list[object], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solved_once, "KEPT", 1)
    for shift in (0.0, 0.5, 0.0):
        measured(shift=shift)
    assert len(solving) == 3
    assert len(solved_once._solved) == 1

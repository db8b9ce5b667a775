"""Tone and air against the world outside: every ``*.toml`` beside this file whose subject is tone."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.special import ive

from weftglass.tone import Fill, capacity_from_tone, resonator_capacity_ml
from weftglass.vessels import Profile
from weftglass.vessels.air import _drag, _Pipes, air_tone
from weftglass.vessels.atmosphere import Atmosphere, speed_of_sound_m_s
from weftglass.vessels.interior import Interior

Case = dict[str, Any]
FILES = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(Path(__file__).parent.glob("*.toml"))]
CASES = [case for file in FILES if file.get("subject") == "tone" for case in file["case"]]


def check_dry_speed(case: Case) -> None:
    rows = zip(case["temperature"], case["pressure"], case["carbon_dioxide"], strict=True)
    np.testing.assert_allclose([speed_of_sound_m_s(t, 0.0, p, x) for t, p, x in rows], case["speed"], atol=case["abs"])


def check_humid_speed(case: Case) -> None:
    rows = zip(case["temperature"], case["humidity"], case["pressure_hpa"], strict=True)
    np.testing.assert_allclose([Atmosphere(*row).speed_m_s for row in rows], case["speed"], atol=case["abs"])


def check_mouth_difference(case: Case) -> None:
    a, tube = case["radius"], Profile.of([[0, case["radius"]], [case["length"], case["radius"]]])
    thin, wide = (air_tone(Interior.of_round(tube, lip)) for lip in (a, 1e4 * a))
    quarter_mm = 250.0 * Atmosphere().speed_m_s
    assert abs((quarter_mm / wide - quarter_mm / thin) / a - case["difference"]) < case["abs"]


def check_step(case: Case) -> None:
    found = []
    for share in case["share"]:
        body, neck = 10.0 / share, 10.0
        edge = 60.0
        inside = Interior.of_round(Profile.of([[0, body], [edge, body], [edge + 0.01, neck], [120, neck]]))
        mass = float(_Pipes.of([inside]).mass.sum()) / 1000.0  # 1/mm
        straight = edge / (math.pi * body**2) + (120 - edge) / (math.pi * neck**2)
        found.append((mass - straight) * math.pi * neck)
    np.testing.assert_allclose(found, case["correction"], atol=case["abs"])


def check_wall_drag(case: Case) -> None:
    q = np.array(case["size"]) * np.exp(0.25j * np.pi)
    np.testing.assert_allclose(_drag(q), 2 * ive(1, q) / (q * ive(0, q)), atol=case["abs"])


def check_bottle_fills(case: Case) -> None:
    air, tone = case["air"], case["tone"]
    full, base = air[-1], tone[-1]
    made = []
    for i, j in combinations(range(0, len(air) - 6), 2):
        fills = [Fill(full - air[k], tone[k], 0.5) for k in (i, j)]
        geometry = {"bore_sd_mm": 1.5, "neck_sd_mm": 15.0, "reading_sd_hz": 0.5}
        made.append(capacity_from_tone(base, 2.2, case["bore"], case["neck"], fills=fills, **geometry))
    holds = [one.low_ml <= full <= one.high_ml for one in made]
    assert np.mean(holds) >= case["held_share"]
    assert abs(np.median([one.capacity_ml for one in made]) / full - 1) < case["rel"]


def check_bottle_intervals(case: Case) -> None:
    for bore, neck, hz, nominal in zip(case["bore"], case["neck"], case["tone"], case["nominal"], strict=True):
        held = capacity_from_tone(hz, 0.015 * hz, bore, neck)
        assert held.low_ml <= case["brimful_over_nominal"] * nominal <= held.high_ml, nominal


def check_textbook_litre(case: Case) -> None:
    """The body's air alone, the neck's springiness taken back to the lumped formula: a third of its content."""
    air = Atmosphere()
    hz = case["tone"] * air.speed_m_s / case["speed"]
    bore = 2 * math.sqrt(case["area"] / math.pi)
    neck_ml = case["area"] * case["neck"] / 1000.0
    found = resonator_capacity_ml(hz, bore, case["neck"], air, end_radii=0.0)
    assert found is not None
    np.testing.assert_allclose(found - neck_ml + neck_ml / 3, case["volume"], rtol=case["rel"])


CHECKS: dict[str, Callable[[Case], None]] = {
    "dry_speed": check_dry_speed,
    "humid_speed": check_humid_speed,
    "mouth_difference": check_mouth_difference,
    "step": check_step,
    "wall_drag": check_wall_drag,
    "bottle_fills": check_bottle_fills,
    "bottle_intervals": check_bottle_intervals,
    "textbook_litre": check_textbook_litre,
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_tone_agrees_with_what_is_published(case: Case) -> None:
    """One case of one file; its tolerance is argued in the file's head."""
    CHECKS[case["check"]](case)

"""Roles of views and what they mean to the engine."""

from __future__ import annotations

import pytest

from weftglass.records import ROLES, evidence_view, turn_deg, turn_role


@pytest.mark.parametrize(
    ("role", "degrees", "view"),
    [
        ("front", 0.0, "front"),
        ("side", 90.0, "side"),
        ("back", 180.0, "front"),
        ("turn 01/12", 0.0, "front"),
        ("turn 03/08", 90.0, "side"),
        ("turn 12/12", 330.0, "turned"),
        ("base", None, None),
        ("turn 13/12", None, None),
        ("turn 00/12", None, None),
        ("turn 1/0", None, None),
    ],
)
def test_role_gives_the_turn(role: str, degrees: float | None, view: str | None) -> None:
    """Named roles and turns agree on degrees; what shows no whole outline is no evidence of shape."""
    assert turn_deg(role) == degrees
    assert evidence_view(role) == view


def test_turn_role_reads_back() -> None:
    """Every written turn is understood."""
    assert [turn_deg(turn_role(n, 4)) for n in (1, 2, 3, 4)] == [0.0, 90.0, 180.0, 270.0]
    assert "turn" not in ROLES

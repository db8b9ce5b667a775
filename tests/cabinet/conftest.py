"""An empty cabinet with a clock that ticks once a second."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from weftglass.cabinet import Cabinet


def ticking() -> Callable[[], datetime]:
    """A clock whose every look is a second later."""
    moment = datetime(2026, 1, 1, tzinfo=UTC)

    def now() -> datetime:
        nonlocal moment
        moment += timedelta(seconds=1)
        return moment

    return now


@pytest.fixture
def cabinet(new_collection: Callable[[str], Path]) -> Iterator[Cabinet]:
    """A new cabinet."""
    opened = Cabinet.open(new_collection("coast"), clock=ticking())
    yield opened
    opened.close()

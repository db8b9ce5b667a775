"""A thread above the lip is cut off, and nothing of any vessel is."""

from __future__ import annotations

import numpy as np
import pytest

from weftglass.photos.rows import dense
from weftglass.photos.thread import without_thread
from weftglass.vessels import FormLibrary


def outline(z: np.ndarray, half: np.ndarray) -> np.ndarray:
    return dense(np.vstack([np.column_stack([half, -z]), np.column_stack([-half, -z])[::-1]]))


@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
def test_nothing_of_a_form_is_a_thread_and_a_thread_on_it_is(turn_deg: float) -> None:
    for form in FormLibrary.starter():
        z, half = form.silhouette(turn_deg).points.T
        whole = outline(z, half)
        np.testing.assert_array_equal(without_thread(whole), whole)
        tall, wide = float(np.ptp(z)), 0.01 * float(half.max())
        above = outline(np.r_[z, z[-1] + 0.001, z[-1] + 0.3 * tall], np.r_[half, wide, wide])
        cut = without_thread(above)
        assert abs(float(-cut[:, 1].min()) - float(z.max())) < 0.01 * tall
        assert abs(float(np.ptp(cut[:, 0])) - 2 * float(half.max())) < 1e-6

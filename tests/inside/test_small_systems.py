"""Many small symmetric systems at once, against the general solver."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from weftglass.inside.small_systems import eliminate


@pytest.mark.parametrize("size", [1, 2, 6, 9])
def test_systems_solved_together_agree_with_the_general_solver(size: int) -> None:
    rng = np.random.default_rng(size)
    root = rng.standard_normal((4, 5, size, size))
    matrix = root @ root.transpose(0, 1, 3, 2) + 0.1 * np.eye(size)
    right = rng.standard_normal((4, 5, size, 2))
    found = eliminate(matrix, right)
    expected = np.linalg.solve(matrix, right)
    assert_allclose(found.solved(), expected, rtol=1e-8)
    assert_allclose(found.log_determinant, np.linalg.slogdet(matrix)[1], rtol=1e-10, atol=1e-10)
    assert_allclose(found.quadratic, np.einsum("abi,abi->ab", right[..., 0], expected[..., 0]), rtol=1e-8)


def test_an_unknown_put_last_shows_its_mean_and_variance() -> None:
    rng = np.random.default_rng(3)
    root = rng.standard_normal((7, 5, 5))
    matrix = root @ root.transpose(0, 2, 1) + 0.1 * np.eye(5)
    right = rng.standard_normal((7, 5, 1))
    mean, variance = eliminate(matrix, right, last=2).last
    assert_allclose(mean, np.linalg.solve(matrix, right)[:, 2, 0], rtol=1e-8)
    assert_allclose(variance, np.linalg.inv(matrix)[:, 2, 2], rtol=1e-8)

"""Scores of probabilistic answers, with the floor that sampling alone would give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


def calibration_error(probability: FloatArray, right: NDArray[np.bool_], bins: int = 15) -> float:
    """Expected calibration error over bins of equal count (Guo et al. 2017, eq. 3, with equal-count bins)."""
    order = np.argsort(probability, kind="stable")
    parts = np.array_split(order, min(bins, len(order)))
    gaps = [len(part) * abs(probability[part].mean() - right[part].mean()) for part in parts if len(part)]
    return float(np.sum(gaps) / len(order))


def calibration_floor(probability: FloatArray, rng: np.random.Generator, repeats: int = 200, bins: int = 15) -> float:
    """Mean calibration error of a perfectly calibrated forecaster with these very probabilities."""
    drawn = [calibration_error(probability, rng.random(len(probability)) < probability, bins) for _ in range(repeats)]
    return float(np.mean(drawn))


def log_score(of_truth: FloatArray) -> float:
    """Mean log2 of the probability given to the truth, bits (0 is perfect)."""
    return float(np.log2(np.maximum(of_truth, 1e-12)).mean())

"""Colours as the eye parts them: sRGB to CIELAB, and the CIEDE2000 difference."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
WHITE = TO_XYZ.sum(axis=1)
"""White of sRGB (D65) by the matrix itself, so that neutral greys have a* = b* = 0 exactly."""

EDGE, SLOPE = 216 / 24389, 24389 / 27


def lab_of_srgb(colours: ArrayLike) -> FloatArray:
    """
    CIELAB (D65, 2 degrees) of sRGB colours.

    Parameters
    ----------
    colours : array, shape (..., 3)
        Red, green, blue from 0 to 1, as in a picture (gamma included).

    Returns
    -------
    array, shape (..., 3)
        L*, a*, b*.

    References
    ----------
    .. [1] IEC 61966-2-1 (sRGB); CIE 15 (CIELAB).

    Examples
    --------
    >>> lab_of_srgb([1.0, 1.0, 1.0]).round(3).tolist()
    [100.0, 0.0, 0.0]
    """
    rgb = np.asarray(colours, dtype=np.float64)
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((np.maximum(rgb, 0) + 0.055) / 1.055) ** 2.4)
    share = linear @ TO_XYZ.T / WHITE
    f = np.where(share > EDGE, np.cbrt(np.maximum(share, 0)), (SLOPE * share + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


def srgb_of_lab(lab: ArrayLike) -> FloatArray:
    """sRGB (0 to 1, clipped) of CIELAB colours; undoes `lab_of_srgb` within the screen's range."""
    values = np.asarray(lab, dtype=np.float64)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    share = np.where(f**3 > EDGE, f**3, (116 * f - 16) / SLOPE)
    linear = np.clip((share * WHITE) @ np.linalg.inv(TO_XYZ).T, 0, 1)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def difference(one: ArrayLike, other: ArrayLike) -> FloatArray:
    """
    CIEDE2000 colour difference; 1 is about what an eye can just tell side by side.

    Parameters
    ----------
    one, other : array, shape (..., 3)
        CIELAB; shapes broadcast.

    References
    ----------
    .. [1] Sharma, Wu, Dalal (2005), Color Research and Application 30(1), with its 34 test pairs.

    Examples
    --------
    >>> round(float(difference([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    p, q = np.broadcast_arrays(np.asarray(one, dtype=np.float64), np.asarray(other, dtype=np.float64))
    chroma = (np.hypot(p[..., 1], p[..., 2]) + np.hypot(q[..., 1], q[..., 2])) / 2
    grow = 1.5 - 0.5 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    pa, qa = p[..., 1] * grow, q[..., 1] * grow
    pc, qc = np.hypot(pa, p[..., 2]), np.hypot(qa, q[..., 2])
    ph, qh = (np.degrees(np.arctan2(b, a)) % 360 for a, b in ((pa, p[..., 2]), (qa, q[..., 2])))
    neutral = pc * qc == 0
    turn = np.where(neutral, 0.0, (qh - ph + 180) % 360 - 180)
    turn = np.where(np.isclose(turn, -180) & (qh - ph > 0), 180.0, turn)
    dl, dc = q[..., 0] - p[..., 0], qc - pc
    dh = 2 * np.sqrt(pc * qc) * np.sin(np.radians(turn) / 2)
    light, mean_c = (p[..., 0] + q[..., 0]) / 2, (pc + qc) / 2
    far = np.abs(ph - qh) > 180
    mean_h = np.where(neutral, ph + qh, (ph + qh + np.where(far, np.where(ph + qh < 360, 360, -360), 0)) / 2)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    sl = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    sc, sh = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    lean = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))
    mix = -np.sin(np.radians(2 * lean)) * 2 * np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7))
    return np.asarray(np.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2 + mix * (dc / sc) * (dh / sh)))

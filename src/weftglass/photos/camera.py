"""How a vessel of revolution appears to a camera, and the way back from its silhouette to its radius and height."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

FILM_DIAGONAL_MM = math.hypot(36.0, 24.0)
FILM_WIDTH_MM = 36.0
FOCAL_REL_SD = 0.03
"""Relative error of a focal length written by a camera: the rules by diagonal and by width differ by 4 % on a 4:3
sensor, and a file does not say which was used."""


def focal_px(focal_35mm: float, width_px: int, height_px: int) -> float:
    """
    Focal length in pixels from the one written as on 35 mm film, by the diagonal.

    Parameters
    ----------
    focal_35mm : float
        In mm, above 0.
    width_px, height_px : int
        Size of the uncropped picture.

    Returns
    -------
    float
        In pixels. By the width instead of the diagonal it would be 4 % less on a 4:3 picture.

    References
    ----------
    .. [1] CIPA DCG-001, 35 mm film equivalent focal length (by the diagonal).

    Examples
    --------
    >>> round(focal_px(26, 4032, 3024), 1)
    3028.7
    """
    return focal_35mm * math.hypot(width_px, height_px) / FILM_DIAGONAL_MM


def appearing_half_width(radius: ArrayLike, distance: float) -> FloatArray:
    """
    Half-width at which a cylinder or sphere appears, measured in the plane of its axis.

    Parameters
    ----------
    radius : array
        True radius, same unit as `distance`, less than it.
    distance : float
        From the camera to the axis, square to the view.

    Returns
    -------
    array
        ``radius * distance / sqrt(distance**2 - radius**2)``: larger than the radius.

    Examples
    --------
    >>> round(2 * float(appearing_half_width(50, 500)), 2)
    100.5
    """
    rho = np.asarray(radius, dtype=np.float64)
    return np.asarray(rho * distance / np.sqrt(distance**2 - rho**2), dtype=np.float64)


def true_radius(half_width: ArrayLike, distance: float) -> FloatArray:
    """
    Radius of a cylinder from the half-width at which it appears in the plane of its axis; undoes the one above.

    Examples
    --------
    >>> round(float(true_radius(appearing_half_width(50, 300), 300)), 9)
    50.0
    """
    rho = np.asarray(half_width, dtype=np.float64)
    return np.asarray(rho * distance / np.sqrt(distance**2 + rho**2), dtype=np.float64)


def touched_circle(half_width: ArrayLike, y: ArrayLike, slope: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """
    The circle of a surface of revolution that makes a point of its silhouette.

    The eye is at the origin, the axis upright at distance 1, the picture plane at distance 1 and upright too, x to the
    right from the axis, y down from the horizon. The silhouette point and its tangent span a plane through the eye that
    touches the surface; the normal of the surface at the point of contact meets the axis. From this, with no more
    assumptions, also for sharp rims, whose silhouette is a part of an ellipse:
    ``depth = 1 / (1 + w**2 - w y s)``, ``radius = depth w sqrt(1 + (w - y s)**2)``, ``drop = depth y``.

    Parameters
    ----------
    half_width, y : array
        Silhouette point (w, y), in units of the distance.
    slope : array
        s = dw/dy along the silhouette there.

    Returns
    -------
    radius, drop : array
        Radius of the circle and how far it lies below the eye, in units of the distance.

    References
    ----------
    .. [1] Wong, Mendonça, Cipolla (2004), Image and Vision Computing 22, for the geometry of the contour generator.

    Examples
    --------
    A cylinder of radius 0.1, whose edge appears at 0.1 / sqrt(1 - 0.1**2):

    >>> radius, drop = touched_circle(0.1 / 0.99**0.5, 0.2, 0.0)
    >>> round(float(radius), 9), round(float(drop), 4)
    (0.1, 0.198)
    """
    w, v, s = (np.asarray(part, dtype=np.float64) for part in (half_width, y, slope))
    lean = w - v * s
    depth = 1.0 / (1.0 + w * lean)
    return np.asarray(depth * w * np.sqrt(1.0 + lean**2)), np.asarray(depth * v)


def front_edge(half_width: ArrayLike, y: ArrayLike, depth_share: float) -> tuple[FloatArray, FloatArray]:
    """
    Half-width and drop of the nearest upright edge of a square or flat piece seen square-on.

    Its silhouette is made by the corners of the front, which are nearer than the axis by the half-depth, so it appears
    wider: ``w = R / (1 - k R)`` for a half-depth of k half-widths. Same frame and units as `touched_circle`.

    Parameters
    ----------
    half_width, y : array
        Silhouette point.
    depth_share : float
        Half-depth over half-width: 1 for a square piece.

    Returns
    -------
    radius, drop : array

    Examples
    --------
    A square piece 80 mm wide seen from 400 mm appears 11 % wider:

    >>> half, drop = front_edge(0.1 / 0.9, 0.2, 1.0)
    >>> round(float(half), 9)
    0.1
    """
    w, v = (np.asarray(part, dtype=np.float64) for part in (half_width, y))
    depth = 1.0 / (1.0 + depth_share * w)
    return np.asarray(depth * w), np.asarray(depth * v)


def rim_edge(x: ArrayLike, radius: float, drop: float, *, front: bool) -> FloatArray:
    """
    Where the front or back edge of a level circle appears, at given x in the picture.

    Same frame as `touched_circle`: the circle's points are ``x = R sin(t) / (1 - R cos(t))``,
    ``y = drop / (1 - R cos(t))``.

    Parameters
    ----------
    x : array
        Picture x from the axis, in units of the distance.
    radius, drop : float
        Of the circle, in units of the distance; radius below 1.
    front : bool
        The half nearer to the camera, or the farther.

    Returns
    -------
    array
        Picture y; nan where the circle does not reach.
    """
    across = np.asarray(x, dtype=np.float64)
    # With q = y / drop = 1 / (1 - R cos t): (x/q)**2 + (1 - 1/q)**2 = R**2, a quadratic in 1/q.
    a, b, c = across**2 + 1.0, -2.0, 1.0 - radius**2
    inside = b * b - 4.0 * a * c
    root = np.sqrt(np.where(inside >= 0, inside, np.nan))
    reciprocal = (-b - root) / (2 * a) if front else (-b + root) / (2 * a)
    return np.asarray(drop / reciprocal, dtype=np.float64)

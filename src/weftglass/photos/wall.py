"""The outer wall of a covered piece as a grid: up along the wall, round along the girth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import gaussian_filter1d

from weftglass.errors import InputError, Unfit
from weftglass.vessels import Profile, Section

FloatArray = NDArray[np.float64]

SMOOTH_MM = 4.0
"""The silhouette's ripple of rows is smoothed away, or the way along the wall would be too long."""

FINE_MM = 0.25
MOST_PIXELS = 24_000_000


@dataclass(frozen=True, eq=False)
class Wall:
    """
    A grid on the wall.

    Parameters
    ----------
    px_per_mm : float
        Grid points per mm, along the wall and along the reference girth.
    height_mm, run_mm, half_width_mm : array, shape (rows,)
        Of each row: height above the standing plane, way along the wall from the lowest row, half-width. Rows go from
        the lowest to the highest.
    plan : array, shape (columns, 2)
        Points (x right, y back) of the plan where it is widest, as a share of its half-width there, by equal steps of
        girth; the middle column faces the camera at turn 0 and columns go to the right as seen.
    normal : array, shape (columns, 2)
        Outward normals of the plan.
    girth_mm : float
        Reference girth, at the widest row: what all columns together are long.
    """

    px_per_mm: float
    height_mm: FloatArray
    run_mm: FloatArray
    half_width_mm: FloatArray
    plan: FloatArray
    normal: FloatArray
    girth_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return len(self.height_mm), len(self.plan)

    @property
    def girth_at_mm(self) -> FloatArray:
        """Girth at each row, mm."""
        return np.asarray(self.girth_mm * self.half_width_mm / self.half_width_mm.max())

    def wider(self, factor: float) -> Wall:
        """The same wall, all its girths and half-widths times a factor; its grid keeps as many columns."""
        return replace(self, half_width_mm=self.half_width_mm * factor, girth_mm=self.girth_mm * factor)

    def points(self, turn_deg: float, rise_mm: float = 0.0) -> tuple[FloatArray, FloatArray]:
        """
        Places and outward normals, each (rows, columns, 3), of the piece turned before the camera.

        Parameters
        ----------
        turn_deg : float
            Turn of the piece: what was at that angle to the right of the front faces the camera.
        rise_mm : float
            How much higher the piece stands than where its outline was measured.
        """
        turn = np.deg2rad(turn_deg)
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        plan, normal = self.plan @ rotation, self.normal @ rotation
        rows = self.half_width_mm[:, None, None]
        places = np.concatenate(
            [rows * plan, np.broadcast_to((self.height_mm + rise_mm)[:, None, None], (*self.shape, 1))], axis=2
        )
        slope = np.gradient(self.half_width_mm, self.height_mm)[:, None, None]
        reach = np.sum(plan * normal, axis=1)[None, :, None]
        outward = np.concatenate(
            [np.broadcast_to(normal, (*self.shape, 2)), np.broadcast_to(-slope * reach, (*self.shape, 1))], axis=2
        )
        return places, np.asarray(outward / np.linalg.norm(outward, axis=2, keepdims=True))


def wall_of(
    profile: ArrayLike,
    *,
    px_per_mm: float,
    heights_mm: tuple[float, float] | None = None,
    section: Section | None = None,
    depth_share: float = 1.0,
    columns: int | None = None,
    where: str = "rollout",
) -> Wall:
    """
    Lay a grid on the wall of a piece.

    Parameters
    ----------
    profile : array, shape (n, 2)
        Rows of (height, half-width) in mm, as measured from the front, covering and all.
    px_per_mm : float
        Grid points per mm, 0.2 to 40.
    heights_mm : (low, high), optional
        Part of the height to unroll. Default: all of it.
    section : Section, optional
        Round (the default), square, rectangle or any other plan; the same at every height.
    depth_share : float
        Half-depth over half-width.
    columns : int, optional
        Default: as many as the girth times `px_per_mm`.
    where : str
        For messages.

    Raises
    ------
    InputError
        If the heights are not within the profile, or the grid would have more than 24 million points.
    """
    outline = Profile.of(profile, where=where)
    low, high = heights_mm if heights_mm is not None else (0.0, outline.height_mm)
    if not 0 <= low < high <= outline.height_mm + 1e-6 or high - low < 5:
        wrong = f"the heights are {low:g} to {high:g} mm"
        raise Unfit(where, "heights", wrong, f"5 mm or more within 0 to {outline.height_mm:g} mm")
    if not 0.2 <= px_per_mm <= 40:
        raise InputError(where, "pixels per mm", px_per_mm, "a number from 0.2 to 40")
    z = np.arange(0.0, outline.height_mm, FINE_MM)
    half = gaussian_filter1d(outline.half_width_at(z), SMOOTH_MM / FINE_MM, mode="nearest")
    inside = (z >= low) & (z <= high)
    z, half = z[inside], np.maximum(half[inside], 0.5)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(z), np.diff(half)))])
    steps = np.arange(0.0, run[-1], 1.0 / px_per_mm)
    widest = float(half.max())
    plan_section = section or Section("round")
    plan, normal, girth_share = _plan(plan_section, depth_share, widest)
    count = columns or round(girth_share * widest * px_per_mm)
    if count * len(steps) > MOST_PIXELS:
        raise InputError(
            where, "pixels per mm", px_per_mm, f"a rollout of at most {MOST_PIXELS // 10**6} million pixels"
        )
    at = (np.arange(count) + 0.5) / count * len(plan)
    wrapped = [np.interp(at, np.arange(len(plan) + 1), np.append(v, v[0])) for v in (*plan.T, *normal.T)]
    normals = np.column_stack(wrapped[2:])
    return Wall(
        px_per_mm,
        np.interp(steps, run, z),
        steps,
        np.interp(steps, run, half),
        np.column_stack(wrapped[:2]),
        normals / np.linalg.norm(normals, axis=1, keepdims=True),
        girth_share * widest,
    )


def shared_profile(profiles: Sequence[ArrayLike]) -> FloatArray:
    """
    One profile from several of the same piece of revolution: at each height wider than most, narrower than a few.

    Parameters
    ----------
    profiles : sequence of array, shape (n, 2)
        Rows of (height, half-width) in mm, one from each photograph; at least one.

    Returns
    -------
    array, shape (200, 2)
        As tall as the median of them, as wide as their 70th hundredth: an outline is cut short more often than long.
    """
    arrays = [np.asarray(profile, dtype=np.float64) for profile in profiles]
    share = np.linspace(0.0, 1.0, 200)
    half = [np.interp(share, one[:, 0] / one[-1, 0], one[:, 1]) for one in arrays]
    tall = float(np.median([one[-1, 0] for one in arrays]))
    return np.column_stack([share * tall, np.quantile(half, 0.7, axis=0)])


def _plan(section: Section, depth_share: float, widest: float) -> tuple[FloatArray, FloatArray, float]:
    """Plan from its back round by the left (as seen from the front) to the right, by equal girth, per half-width."""
    fine = 4096
    if section.kind == "round" and depth_share == 1.0:
        turn = 2 * np.pi * np.arange(fine) / fine - np.pi
        plan = np.column_stack([np.sin(turn), -np.cos(turn)])
        return plan, plan, 2 * np.pi
    edge = section.edge_points(widest, widest * depth_share, fine) / widest
    edge = np.roll(edge, -fine // 4, axis=0)  # from the right to the back, counter-clockwise as before
    closed = np.concatenate([edge, edge[:1]])
    step = np.hypot(*np.diff(closed, axis=0).T)
    run = np.concatenate([[0.0], np.cumsum(step)])
    even = np.arange(fine) / fine * run[-1]
    plan = np.column_stack([np.interp(even, run, closed[:, i]) for i in range(2)])
    along = gaussian_filter1d(np.roll(plan, -1, axis=0) - np.roll(plan, 1, axis=0), 4, axis=0, mode="wrap")
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    return plan, normal / np.linalg.norm(normal, axis=1, keepdims=True), float(run[-1])

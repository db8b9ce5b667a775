"""
The air in a round vessel by finite elements: an independent solution to hold the one-dimensional tone against.

The meridian of the air, inside and in a ball round the mouth, is cut into triangles; the axisymmetric Helmholtz
equation is solved on them with scikit-fem (quadratic elements), the wall's friction and heat as a boundary condition
after Berggren, Bernland & Noreland (2018), J. Comput. Phys. 371, 633-650, the ball's surface letting a spherical
wave out."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from scipy.spatial import Delaunay, cKDTree
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, LinearForm, MeshTri
from skfem.helpers import dot, grad

from weftglass.vessels import Form
from weftglass.vessels.atmosphere import HEAT_RATIO, PRANDTL, Atmosphere
from weftglass.vessels.interior import Interior

FloatArray = NDArray[np.float64]

FINENESS = 0.16  # side of a triangle over the local half-width


@BilinearForm
def stiffness(u, v, w):
    """Gradients against each other, weighed by the distance from the axis."""
    return w.x[0] * dot(grad(u), grad(v))


@BilinearForm
def content(u, v, w):
    """Values against each other, weighed by the distance from the axis."""
    return w.x[0] * u * v


@BilinearForm
def along_wall(u, v, w):
    """Gradients along the boundary against each other, weighed by the distance from the axis."""
    du, dv = grad(u), grad(v)
    return w.x[0] * (dot(du, dv) - dot(du, w.n) * dot(dv, w.n))


@LinearForm
def blown(v, w):
    """An even push on the boundary."""
    return w.x[0] * v


def tone_by_finite_elements(form: Form, interior: Interior, near_hz: float, air: Atmosphere | None = None) -> float:
    """
    Lowest resonance of a round vessel, Hz.

    Parameters
    ----------
    form : Form
        Gives the outside of the neck.
    interior : Interior
        The air's room; round.
    near_hz : float
        Where to begin looking, within 20 % or so.
    """
    edge = meridian(form, interior)
    solver = _Solver(triangles(edge), edge, air or Atmosphere())
    x = near_hz**2
    for spread in (0.12, 0.03, 0.01):
        at = x * (1.0 + spread * np.array([-1.0, 0.0, 1.0]))
        a, b, _ = np.polyfit(at / x - 1.0, [solver.faintness(np.sqrt(value)) for value in at], 2)
        x *= 1.0 + float(np.clip(-b / (2 * a), -0.2, 0.2))
    return float(np.sqrt(x))


@dataclass(frozen=True, eq=False)
class Meridian:
    """The air's edge in m, mouth at the origin: corners (r, z) against the clock, the inner wall, the ball's radius."""

    corners: FloatArray
    wall: FloatArray
    reach: float

    def half_width(self, z: FloatArray) -> FloatArray:
        """Half-width of the inside at heights below the mouth, m."""
        return np.asarray(np.interp(z, self.wall[:, 1], self.wall[:, 0]))


def meridian(form: Form, interior: Interior) -> Meridian:
    """The edge of the air inside a round form and in a ball round its mouth."""
    height = form.profile.height_mm
    z = interior.z_mm - height
    cone = _cone(interior)
    wall = np.column_stack([np.sqrt(interior.area_mm2 / np.pi + cone**2), z])
    rising = np.flatnonzero(cone > 1e-3)
    core = [[0.0, z[0]]] if rising.size == 0 else [[0.0, z[rising[-1]]], [cone[0], z[0]]]
    reach = max(7.0 * float(form.profile.half_width_mm[-1]), 60.0)
    down = np.linspace(0.0, -min(reach, 0.98 * height), 400)
    outside = np.column_stack([form.profile.half_width_at(height + down), down])
    outside = outside[np.hypot(*outside.T) < 0.995 * reach]
    arc = np.linspace(np.arctan2(outside[-1, 1], outside[-1, 0]), np.pi / 2, 60)
    ball = reach * np.column_stack([np.cos(arc), np.sin(arc)])
    ball[-1, 0] = 0.0
    return Meridian(np.vstack([core, wall, outside, ball]) / 1e3, wall / 1e3, reach / 1e3)


def _cone(interior: Interior) -> FloatArray:
    """Radius of the push-up where area and edge are those of a ring: edge = 2 pi (R + c), area = pi (R² - c²)."""
    total = interior.edge_mm / (2 * np.pi)
    return np.asarray(0.5 * (total - interior.area_mm2 / (np.pi * total)))


def triangles(edge: Meridian) -> MeshTri:
    """The region inside the edge as triangles, finer where it is narrow."""
    corners = edge.corners
    border = _spaced(edge)
    tree = cKDTree(border)
    coarse = 0.02 * (corners[:, 1].max() - corners[:, 1].min())
    points = [border]
    for level in range(9):
        side = coarse * 2.0 ** (1 - level)
        low, high = corners.min(axis=0), corners.max(axis=0)
        rows = np.arange(low[1], high[1], side * np.sqrt(0.75))
        for i, row in enumerate(rows):
            r = np.arange(side * (0.25 + 0.5 * (i % 2)), high[0], side)
            line = np.column_stack([r, np.full(len(r), row)])
            size = _size(line, edge)
            line = line[(size >= side) & (size < 2 * side) if level else size >= side]
            if len(line):
                near = tree.query(line)[0]
                line = line[_within(line, corners) & (near > 0.55 * side)]
                points.append(line)
    cloud = np.vstack(points)
    cells = Delaunay(cloud).simplices
    cells = cells[_within(cloud[cells].mean(axis=1), corners)]
    a, b, c = (cloud[cells[:, i]] for i in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    long = np.max([np.hypot(*(b - a).T), np.hypot(*(c - b).T), np.hypot(*(a - c).T)], axis=0)
    cells = cells[area > 1e-3 * long**2]
    used, index = np.unique(cells, return_inverse=True)
    return MeshTri(cloud[used].T.copy(), index.reshape(cells.shape).T.copy())


def _size(points: FloatArray, edge: Meridian) -> FloatArray:
    """Wanted side of a triangle at some points: by the half-width inside, by the distance from the mouth outside."""
    r, z = points.T
    local = edge.half_width(z)
    away = 0.7 * edge.wall[-1, 0] + 0.6 * np.hypot(r, z)
    return FINENESS * np.where((z < 0) & (r <= 1.001 * local), np.minimum(local, away), away)


def _spaced(edge: Meridian) -> FloatArray:
    """Points along the closed edge, as far apart as the triangles are wide; corners kept."""
    closed = np.vstack([edge.corners, edge.corners[:1]])
    made = []
    for a, b in pairwise(closed):
        length = float(np.hypot(*(b - a)))
        side = 0.8 * float(_size(0.5 * (a + b)[None, :], edge)[0])
        if length > 4 * side:
            fine = a + (b - a) * np.linspace(0, 1, 200)[:-1, None]
            sizes = 0.8 * _size(fine, edge)
            walked = np.concatenate([[0.0], np.cumsum(length / 199 / sizes)])[:-1]
            count = max(1, int(np.ceil(walked[-1])))
            made.append(fine[np.searchsorted(walked, np.linspace(0, walked[-1], count + 1)[:-1])])
        else:
            count = max(1, int(np.ceil(length / side)))
            made.append(a + (b - a) * np.linspace(0, 1, count + 1)[:-1, None])
    points = np.vstack(made)
    gap = np.hypot(*np.diff(points, axis=0, prepend=points[-1:] + 1.0).T)
    thin = 0.25 * 0.8 * _size(points, edge)
    return points[gap > np.minimum(thin, 1e-4)]


def _within(points: FloatArray, corners: FloatArray) -> NDArray[np.bool_]:
    """Whether points lie inside the closed line through the corners (crossings of a ray)."""
    inside = np.zeros(len(points), dtype=bool)
    x, y = points[:, 0], points[:, 1]
    closed = np.vstack([corners, corners[:1]])
    for (x1, y1), (x2, y2) in pairwise(closed):
        if y1 != y2:
            crosses = (y1 > y) != (y2 > y)
            inside ^= crosses & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
    return inside


class _Solver:
    """The matrices of one vessel, put together once."""

    def __init__(self, mesh: MeshTri, edge: Meridian, air: Atmosphere) -> None:
        element = ElementTriP2()
        middle = mesh.p[:, mesh.facets].mean(axis=1)
        border = mesh.boundary_facets()
        on_axis = middle[0, border] < 1e-7
        r, z = middle[:, border]
        outside = (z > 0) | (r > 1.05 * edge.half_width(z))
        on_ball = outside & (np.hypot(r, z) > 0.985 * edge.reach)
        inside = Basis(mesh, element)
        wall = FacetBasis(mesh, element, facets=border[~on_axis & ~on_ball])
        ball = FacetBasis(mesh, element, facets=border[on_ball & ~on_axis])
        self.air, self.reach = air, edge.reach
        self.stiffness, self.content = stiffness.assemble(inside), content.assemble(inside)
        self.drag, self.warmth = along_wall.assemble(wall), content.assemble(wall)
        self.outlet, self.push = content.assemble(ball), blown.assemble(ball)
        at = np.hypot(inside.doflocs[0], inside.doflocs[1] - edge.corners[0, 1])
        self.floor = int(at.argmin())
        self.size = len(at)

    def faintness(self, hz: float) -> float:
        """One over the squared pressure on the floor for an even push from outside."""
        omega = 2 * np.pi * hz
        k = omega / self.air.speed_m_s
        friction = np.sqrt(2 * self.air.viscosity_pa_s / (omega * self.air.density_kg_m3))
        heat = friction / np.sqrt(PRANDTL)
        system = (
            self.stiffness
            - k**2 * self.content
            + (1j - 1) * friction / 2 * self.drag
            + (1j - 1) * (HEAT_RATIO - 1) * k**2 * heat / 2 * self.warmth
            + (1 / self.reach + 1j * k) * self.outlet
        )
        pressure = splu(system.tocsc()).solve(self.push.astype(complex))
        return float(1.0 / np.abs(pressure[self.floor]) ** 2)

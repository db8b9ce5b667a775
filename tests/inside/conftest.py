"""A small library of plain vessels and pieces covered by an exact even covering."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from weftglass.evidence import Covering, Evidence, Outline
from weftglass.vessels import Form, FormLibrary

FloatArray = NDArray[np.float64]


def bottle(height: float, radius: float, shoulder: float = 0.6, neck: float = 14.0) -> list[list[float]]:
    """Profile of a plain round bottle, mm."""
    z = np.linspace(0.0, height, 121)
    share = np.clip((z / height - shoulder) / 0.18, 0.0, 1.0)
    ease = share * share * (3 - 2 * share)
    heel = np.clip(4.0 - z, 0.0, 4.0)
    return np.column_stack([z, (radius - heel) * (1 - ease) + neck * ease]).tolist()


def plain_form(name: str, height: float, radius: float, **more: object) -> Form:
    """A well-known form of a plain bottle."""
    shape = {key: more.pop(key) for key in ("shoulder", "neck") if key in more}
    record: dict[str, object] = {
        "id": name,
        "name": name,
        "section": {"kind": "round"},
        "profile": bottle(height, radius, **shape),  # type: ignore[arg-type]
        "tolerance": {"height_sd": 0.01, "width_sd": 0.01, "shape_sd_mm": 0.3},
    }
    return Form.from_record(record | more, name)


def laid_over(form: Form, cover_mm: float, *, bare_from: float | None = None, scale: float = 1.0) -> Outline:
    """Outline of a form under an even covering, exact offset, base covered; bare from a height of the glass on."""
    glass_z = np.linspace(0.0, form.profile.height_mm, 600)
    glass = form.profile.half_width_at(glass_z)
    top = form.profile.height_mm + (cover_mm if bare_from is None else 0.0)
    z = np.linspace(-cover_mm, top, 240)
    gap = np.abs(z[:, None] - glass_z[None, :])
    carries = np.ones_like(glass_z, dtype=bool) if bare_from is None else glass_z < bare_from
    reach = np.where((gap <= cover_mm) & carries[None, :], np.sqrt(np.maximum(cover_mm**2 - gap**2, 0.0)), -np.inf)
    edge = np.maximum((glass[None, :] + reach).max(axis=1), np.interp(z, glass_z, glass, left=0.0, right=0.0))
    bare = [] if bare_from is None else [((bare_from + 2 * cover_mm) * scale, (top + cover_mm + 1) * scale)]
    points = np.column_stack([(z + cover_mm) * scale, np.maximum(edge, 1.0) * scale])
    return Outline.of(points, sd_mm=0.4, scale_sd=0.01, bare=bare)


def piece(*outlines: Outline, **more: object) -> Evidence:
    """Evidence of a piece with these outlines."""
    return Evidence(piece="p-1", outlines=outlines, covering=Covering(), **more)  # type: ignore[arg-type]


@pytest.fixture(scope="session")
def library() -> FormLibrary:
    """Twelve plain bottles, two of them near-twins."""
    forms = [plain_form(f"b{h:.0f}-{r:.0f}", h, r) for h in (180.0, 230.0, 280.0) for r in (32.0, 38.0, 46.0)]
    forms += [
        plain_form("twin-a", 250.0, 40.0, shoulder=0.55, family="twin", finish=["blob"], colours=["amber"]),
        plain_form("twin-b", 251.0, 40.2, shoulder=0.55, family="twin", finish=["crown"], colours=["aqua"]),
        plain_form("lettered", 210.0, 35.0, letters=[{"text": "ASTREL & VOON", "face": "front", "z": [60, 120]}]),
    ]
    return FormLibrary(forms)

"""A form as a small silhouette for grids: quick to draw by the dozen and legible at thumb's size."""

from __future__ import annotations

from markupsafe import Markup

from weftglass.vessels import Form

TALL, WIDE = 200.0, 132.0


def form_thumbnail_svg(form: Form) -> Markup:
    """SVG of the front silhouette with its axis, filled to a 132 by 200 field; decoration, so hidden from readers."""
    profile = form.profile
    scale = min(TALL / profile.height_mm, WIDE / (2 * float(profile.half_width_mm.max())))
    rows = [(half * scale, -z * scale) for z, half in profile.points]
    points = [f"{x:.1f} {y:.1f}" for x, y in rows] + [f"{-x:.1f} {y:.1f}" for x, y in reversed(rows)]
    top = -profile.height_mm * scale
    return Markup(
        f'<svg class="thumbnail" viewBox="{-WIDE / 2 - 4} {-TALL - 6} {WIDE + 8} {TALL + 10}" aria-hidden="true" '
        f'focusable="false"><path class="glass" d="M{"L".join(points)}Z"/>'
        f'<path class="axis-line" d="M0 2V{top - 4:.1f}"/>'
        f'<path class="ground-line" d="M{-WIDE / 2} 0H{WIDE / 2}"/></svg>'
    )

"""A form's contour as a small drawing with its height and width, for the pocket sheet."""

from __future__ import annotations

from markupsafe import Markup, escape

from weftglass.vessels import Form

INK, SOFT, GLASS_TINT = "#25221c", "#5c5548", "#cfe3da"
TALL = 96.0


def contour_svg(form: Form, scale: float) -> Markup:
    """
    The front contour of a form.

    Parameters
    ----------
    form : Form
    scale : float
        Drawing units a millimetre; one scale for all forms of a sheet makes them comparable.
    """
    z, half = form.profile.z_mm, form.profile.half_width_mm
    wide, tall = 2 * float(half.max()) * scale, float(z[-1]) * scale
    right = [f"{x * scale:.1f} {-y * scale:.1f}" for y, x in zip(z, half, strict=True)]
    left = [f"{-x * scale:.1f} {-y * scale:.1f}" for y, x in zip(z[::-1], half[::-1], strict=True)]
    path = "M" + "L".join([*right, *left]) + "Z"
    box = f"{-wide / 2 - 3:.1f} {-tall - 3:.1f} {wide + 6:.1f} {tall + 6:.1f}"
    words = f"{form.title}: {z[-1]:.0f} mm tall, {2 * float(half.max()):.0f} mm wide"
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{wide + 6:.0f}" height="{tall + 6:.0f}" '
        f'role="img"><title>{escape(words)}</title><path d="{path}" fill="{GLASS_TINT}" stroke="{INK}" '
        f'stroke-width="1" stroke-linejoin="round"/></svg>'
    )

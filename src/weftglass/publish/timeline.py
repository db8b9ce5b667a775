"""A time line: for each piece the years of its glass and of its covering, one under the other."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup, escape

from weftglass.holdings import Lifespan

INK, SOFT, LINE, GLASS, CANE = "#25221c", "#5c5548", "#d6cfbf", "#1f5a4c", "#a8762f"
WIDE, SIDE, HEAD, LANE = 760.0, 190.0, 30.0, 22.0


def timeline_svg(spans: Sequence[Lifespan]) -> Markup:
    """All pieces on one axis of years; full bars are signed datings, light ones follow from form and entry."""
    years = [year for one in spans for span in (one.glass, one.covering) if span for year in span]
    first, last = min(years) // 10 * 10, -(-max(years) // 10) * 10
    tall = HEAD + LANE * len(spans) + 12

    def x(year: float) -> float:
        return SIDE + (WIDE - SIDE - 12) * (year - first) / max(last - first, 10)

    described = "; ".join(_described(one) for one in spans)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {tall:.0f}" role="img" class="chart wide" '
        f'font-family="serif"><title>Years of glass and covering</title><desc>{escape(described)}</desc>'
    ]
    step = next(step for step in (10, 20, 50, 100) if (last - first) / step <= 10 or step == 100)
    parts += [
        f'<path d="M{x(year):.1f} {HEAD - 6:.1f}V{tall - 6:.1f}" stroke="{LINE}"/>'
        f'<text x="{x(year):.1f}" y="18" text-anchor="middle" font-size="13" fill="{SOFT}">{year}</text>'
        for year in range(-(-first // step) * step, last + 1, step)
    ]
    for number, one in enumerate(spans):
        y = HEAD + LANE * number
        name = one.name if len(one.name) <= 26 else f"{one.name[:25]}…"
        parts.append(
            f'<text x="{SIDE - 8:.1f}" y="{y + 13:.1f}" text-anchor="end" font-size="13" fill="{INK}">'
            f"{escape(name)}</text>"
        )
        for span, colour, lift in ((one.glass, GLASS, 3.0), (one.covering, CANE, 11.0)):
            if span:
                wide = max(x(span[1] + 1) - x(span[0]), 5.0)
                fade = "" if one.signed else ' fill-opacity="0.45"'
                parts.append(
                    f'<rect x="{x(span[0]):.1f}" y="{y + lift:.1f}" width="{wide:.1f}" height="6" rx="2" '
                    f'fill="{colour}"{fade}/>'
                )
    return Markup("".join([*parts, "</svg>"]))


def _described(one: Lifespan) -> str:
    said = [
        f"{what} {span[0]} to {span[1]}"
        for what, span in (("glass", one.glass), ("covering", one.covering))
        if span is not None
    ]
    return f"{one.name}: {', '.join(said)}"

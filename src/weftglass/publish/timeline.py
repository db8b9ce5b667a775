"""A time line: for each piece the years of its glass and of its covering, one under the other."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from weftglass.holdings import Lifespan
from weftglass.publish.paper import DESK, HAND_WIDE, Size, inked, line, opening, shortened, words

WIDE, SIDE, HEAD, LANE = 760.0, 190.0, 30.0, 22.0
HAND_LANE, HAND_SIDE = 38.0, 14.0


def timeline_svg(spans: Sequence[Lifespan], *, size: Size = DESK) -> Markup:
    """
    All pieces on one axis of years; full bars are signed datings, light ones follow from form and entry.

    At a desk the names stand beside the bars, in the hand above them.
    """
    beside = size == DESK
    wide, side, lane = (WIDE, SIDE, LANE) if beside else (HAND_WIDE, HAND_SIDE, HAND_LANE)
    years = [year for one in spans for span in (one.glass, one.covering) if span for year in span]
    first, last = min(years) // 10 * 10, -(-max(years) // 10) * 10
    tall = HEAD + lane * len(spans) + 12

    def x(year: float) -> float:
        return side + (wide - side - 12) * (year - first) / max(last - first, 10)

    most = 10 if beside else 5
    step = next(step for step in (10, 20, 50, 100, 200) if (last - first) / step <= most or step == 200)
    described = "; ".join(_described(one) for one in spans)
    parts = [opening(wide, tall, "Years of glass and covering", described, size, "wide")]
    parts += [
        line(f"M{x(year):.1f} {HEAD - 6:.1f}V{tall - 6:.1f}", "line", 1)
        + words(x(year), 18, str(year), size=13, anchor="middle")
        for year in range(-(-first // step) * step, last + 1, step)
    ]
    for number, one in enumerate(spans):
        y = HEAD + lane * number
        if beside:
            parts.append(words(side - 8, y + 13, shortened(one.name, 26), size=13, ink="ink", anchor="end"))
        else:
            parts.append(words(2, y + 13, shortened(one.name, 44), size=13, ink="ink"))
            y += 15
        for span, ink, lift in ((one.glass, "glass", 3.0), (one.covering, "cane", 11.0)):
            if span:
                long = max(x(span[1] + 1) - x(span[0]), 5.0)
                fade = "" if one.signed else ' fill-opacity="0.45"'
                parts.append(
                    f'<rect x="{x(span[0]):.1f}" y="{y + lift:.1f}" width="{long:.1f}" height="6" rx="2" '
                    f"{inked(fill=ink)}{fade}/>"
                )
    return Markup("".join([*parts, "</svg>"]))


def _described(one: Lifespan) -> str:
    said = [
        f"{what} {span[0]} to {span[1]}"
        for what, span in (("glass", one.glass), ("covering", one.covering))
        if span is not None
    ]
    return f"{one.name}: {', '.join(said)}"

"""Print the scale bar's card: 100 mm in black and white centimetres with millimetre ticks in the first."""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

DOTS = 14  # pixels a mm
CARD = (26.0, 134.0)
FROM_MM, LEFT_MM, BROAD_MM = 12.0, 5.0, 6.0


def bar_print() -> Image.Image:
    """The card's front, upright, zero below."""
    wide, tall = (round(side * DOTS) for side in CARD)
    card = Image.new("RGB", (wide, tall), (232, 230, 224))
    draw = ImageDraw.Draw(card)
    ink = (22, 22, 24)

    def row(mm: float) -> int:
        return tall - round((FROM_MM + mm) * DOTS)

    left, right = round(LEFT_MM * DOTS), round((LEFT_MM + BROAD_MM) * DOTS)
    small = ImageFont.truetype("DejaVuSans.ttf", round(3.4 * DOTS))
    for block in range(10):
        fill = ink if block % 2 == 0 else (232, 230, 224)
        draw.rectangle([left, row(10 * block + 10), right, row(10 * block)], fill=fill, outline=ink, width=3)
    for tick in range(101):
        length = 5.0 if tick % 10 == 0 else 3.2 if tick % 5 == 0 else 1.8
        draw.line(
            [right, row(tick), right + round(length * DOTS), row(tick)], fill=ink, width=4 if tick % 10 == 0 else 2
        )
    for number in range(0, 101, 20):
        draw.text((right + 6 * DOTS, row(number)), str(number), fill=ink, font=small, anchor="lm")
    title = ImageFont.truetype("DejaVuSans-Bold.ttf", round(4.0 * DOTS))
    draw.text((wide / 2, row(112.5)), "100 mm", fill=ink, font=title, anchor="mm")
    return card


if __name__ == "__main__":
    bar_print().save(Path(sys.argv[1]))

"""
Draw the starter library from its table of published dimensions and write the form file.

Usage: python tools/make_starter_forms.py [--check]      --check: write nothing, exit 1 if the file would change
"""

from __future__ import annotations

import sys
from pathlib import Path

from weftglass.vessels.drafting import draw_all, read_dimensions
from weftglass.vessels.library import FormLibrary

DATA = Path(__file__).resolve().parents[1] / "src" / "weftglass" / "vessels" / "data"


def main(arguments: list[str]) -> int:
    """Write or check ``data/forms.jsonl``; print drawings whose own capacity misses the published one by over 5 %."""
    drawn = list(draw_all(read_dimensions(DATA / "published_dimensions.csv")))
    library = FormLibrary(form for form, _ in drawn)
    for _, fit in drawn:
        if abs(fit.drawn_over_nominal - 1) > 0.05:
            print(f"{fit.form_id}: holds {fit.drawn_over_nominal:.2f} of its published capacity", file=sys.stderr)
    place = DATA / "forms.jsonl"
    if "--check" in arguments:
        return 0 if place.exists() and place.read_text(encoding="utf-8") == library.to_text() else 1
    library.write(place)
    print(f"{len(library)} forms, version {library.version}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

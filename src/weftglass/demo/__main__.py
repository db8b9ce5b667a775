"""Write the demo's report: python -m weftglass.demo COLLECTION REPORT.md (builds the collection if missing)."""

import sys
from pathlib import Path

from weftglass.demo import build_demo, demo_report


def main(collection: str, report: str) -> None:
    """Build where needed, compare, write."""
    if not (Path(collection) / "collection.sqlite").exists():
        build_demo(collection, progress=lambda text: print(text, file=sys.stderr))
    Path(report).write_text(demo_report(collection).to_markdown(), encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:3])

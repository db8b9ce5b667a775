"""
How the shelf's time grows with the number of pieces: `python benchmarks/shelf_length.py [PIECES ...]`.

Collections of several lengths are made in a temporary folder, each piece with a view and every second one with
a finding; reading the rows and writing the page are timed in one run, and the ratio to the shortest is printed.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from weftglass.desk import Collection, count_pieces, list_pieces, open_collection
from weftglass.records import Finding, Photo, Piece, View
from weftglass.web.pages.shelf import shelf_facts
from weftglass.web.rendering import plain, render

FRAME = {"theme": "auto", "who": "", "path": "/", "parts": ()}
REPEATS = 5


def furnish(collection: Collection, pieces: int) -> None:
    """Put so many pieces on an empty shelf."""
    with collection.cabinet.writing("benchmark") as draft:
        photo = draft.put(Photo(id="0" * 64, name="a.jpg", format="JPEG", size_bytes=1, width_px=1, height_px=1))
        for number in range(pieces):
            piece = draft.put(Piece(id=f"p-{number}", name=f"No. {number}", technique="coiling", material="rush"))
            draft.put(View(id=f"{piece.id}.view-1", piece=piece.id, photo=photo.id))
            if number % 2:
                draft.put(
                    Finding(
                        id=f"{piece.id}.finding-1", piece=piece.id, form=None, conclusion="none of the forms listed",
                        probability=0.5, unlisted=0.5, who="benchmark", evidence="{}", answer="{}",
                        engine_version="1", library_version="1",
                    )
                )  # fmt: skip


def seconds(task: Callable[[], object]) -> float:
    """Processor time of the quickest of several repeats."""
    best = float("inf")
    for _ in range(REPEATS):
        start = time.process_time()
        task()
        best = min(best, time.process_time() - start)
    return best


def main(lengths: list[int]) -> None:
    """Time each length and print the ratios."""
    found: list[tuple[int, float, float, int]] = []
    for pieces in lengths:
        with tempfile.TemporaryDirectory() as folder, open_collection(Path(folder) / "shelf") as collection:
            furnish(collection, pieces)
            total = count_pieces(collection)

            def shown(here: Collection = collection, many: int = total) -> str:
                facts = shelf_facts(list_pieces(here, sort="changed"), many, {})
                return render("shelf.html", {**plain(facts), "frame": FRAME})

            rows = seconds(lambda here=collection: list_pieces(here, sort="changed"))  # type: ignore[misc]
            found.append((pieces, rows, seconds(shown), len(shown())))
    first = found[0]
    print("pieces   rows, s   page, s   page, kB   rows against the shortest   page against the shortest")
    for pieces, rows, whole, size in found:
        ratios = f"{rows / first[1]:>24.1f} {whole / first[2]:>27.1f}"
        print(f"{pieces:>6} {rows:>9.3f} {whole:>9.3f} {size / 1000:>10.0f} {ratios}")


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [20, 200, 2000])

"""
How long the pages on holdings and buying take with 2,000 pieces and 500 offers, as ratios to the shelf's own time.

    python benchmarks/holdings_speed.py

Prints seconds by the clock and of the process itself (CPU), and the ratio to a plain reading of all pieces in the same
run. The catalogue has a table, how complete, map, time line, rarity and a piece on it.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
from starlette.testclient import TestClient

from weftglass.desk import Collection, library_of
from weftglass.desk.catalogue import put_into_catalogue
from weftglass.records import Finding, Offer, Piece, Valuation
from weftglass.web import create_app

PIECES, OFFERS, COMMUNITIES = 2000, 500, 20
PAGES = (
    "/holdings",
    "/holdings?rows=technique&columns=period&whose=all",
    "/holdings?only-technique=coiling&only-community=community+3",
    "/whereabouts",
    "/rarity?with-community=community+3&with-technique=coiling",
    "/catalogue",
    "/catalogue/shown",
    "/buying",
    "/buying?budget=2000&currency=USD",
    "/buying?budget=2000&currency=USD&wants=yes",
    "/buying?budget=2000&currency=USD&objective=best",
    "/buying?budget=2000&currency=USD&objective=mirror",
    "/values",
    "/pocket",
    "/piece/offered-0001/price",
)


def stock(collection: Collection) -> None:
    """Pieces with accepted findings, values and offers."""
    rng = np.random.default_rng(1)
    forms = [form.id for form in library_of(collection).forms]
    with collection.cabinet.writing("benchmark") as draft:
        for i in range(PIECES + OFFERS):
            status = "owned" if i < PIECES else "offered"
            name = f"{status}-{i if i < PIECES else i - PIECES:04d}"
            draft.put(
                Piece(
                    id=name,
                    name=name,
                    status=status,
                    community=f"community {rng.integers(COMMUNITIES)}",
                    technique=str(rng.choice(["plain twining", "coiling", "wicker"])),
                    made=f"about {rng.integers(1850, 1935)}",
                    source=f"source {rng.integers(40)}",
                    kept=f"cabinet {rng.integers(9)}",
                )
            )
            draft.put(_finding(name, str(rng.choice(forms))))
            if status == "offered":
                price = float(rng.integers(20, 400))
                draft.put(Offer(id=f"{name}.offer", piece=name, seen_on="2026-11-01", amount=price, currency="USD"))
            elif i % 4 == 0:
                cost = float(rng.integers(20, 400))
                given = {"basis": "cost", "amount": cost, "currency": "USD", "on": "2015-05-01", "source": "bill"}
                draft.put(Valuation(id=f"{name}.value", piece=name, **given))  # type: ignore[arg-type]


def _finding(piece: str, form: str) -> Finding:
    return Finding(
        id=f"{piece}.finding", piece=piece, form=form, conclusion=form, probability=0.9, unlisted=0.01, who="benchmark",
        evidence="{}", answer="{}", engine_version="1", library_version="1",
    )  # fmt: skip


def seconds(task: Callable[[], object]) -> tuple[float, float]:
    """By the clock and of the process, the best of three each."""
    taken = []
    for _ in range(3):
        start = time.perf_counter(), time.process_time()
        task()
        taken.append((time.perf_counter() - start[0], time.process_time() - start[1]))
    return min(clock for clock, _ in taken), min(own for _, own in taken)


def fill_catalogue(collection: Collection) -> None:
    """One page with one of each."""
    page = put_into_catalogue(collection, "piece", {"piece": "owned-0001"}, who="benchmark", title="All").id
    for kind in ("table", "complete", "map", "years", "rarity"):
        put_into_catalogue(collection, kind, {}, who="benchmark", page=page)


def main() -> None:
    """Stock a collection and time every page."""
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Path(folder) / "shelf")
        with TestClient(app, base_url="http://127.0.0.1:8417") as client:
            collection: Collection = app.state.collection
            stock(collection)
            fill_catalogue(collection)

            def read() -> None:
                with collection.cabinet.reading() as reader:
                    reader.all_of(Piece)

            plain = seconds(read)
            print(f"{date.today()}: reading {PIECES + OFFERS} pieces {plain[0]:.2f} s, {plain[1]:.2f} s CPU")
            for address in PAGES:
                assert client.get(address).status_code == 200
                taken = seconds(lambda address=address: client.get(address))  # type: ignore[misc]
                print(
                    f"{address:62s} {taken[0]:6.2f} s, {taken[1]:5.2f} s CPU, {taken[1] / plain[1]:5.1f} times reading"
                )


if __name__ == "__main__":
    main()

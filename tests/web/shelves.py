"""A collection with many pieces whose vessels were accepted, for pages that count."""

from __future__ import annotations

import numpy as np

from weftglass.cabinet import Draft
from weftglass.desk import Collection, library_of
from weftglass.records import Finding, Piece


def stocked(collection: Collection, number: int, *, seed: int = 1, status: str = "owned") -> None:
    """Pieces of invented communities, the first of which favours one form; each with an accepted finding."""
    rng = np.random.default_rng(seed)
    forms = [form.id for form in library_of(collection).forms[:60:5]]
    with collection.cabinet.writing("E. Marlissen") as draft:
        for i in range(number):
            community = ("Delmuine", "Karrosk", "Wendrille", "Orvathal")[int(rng.integers(4))]
            form = forms[0] if community == "Delmuine" and rng.random() < 0.7 else str(rng.choice(forms))
            _piece(draft, f"{status}-{i:04d}", community, form, status, rng)


def _piece(draft: Draft, name: str, community: str, form: str, status: str, rng: np.random.Generator) -> None:
    draft.put(
        Piece(
            id=name,
            name=f"Piece {name}",
            community=community,
            technique=str(rng.choice(["plain twining", "coiling"])),
            made=f"about {rng.integers(1860, 1930)}",
            source=str(rng.choice(["fair", "auction", "a friend"])),
            kept=str(rng.choice(["cabinet A", "cabinet B"])),
            status=status,
        )
    )
    draft.put(
        Finding(
            id=f"{name}.finding",
            piece=name,
            form=form,
            conclusion=form,
            probability=0.9,
            unlisted=0.01,
            who="E. Marlissen",
            evidence="{}",
            answer="{}",
            engine_version="1",
            library_version="1",
        )
    )

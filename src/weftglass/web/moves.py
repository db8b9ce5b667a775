"""What the last change to a piece's evidence was, so that the answer can be shown before and after it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from weftglass.desk import Collection, evidence_of
from weftglass.evidence import Evidence

MOST_PIECES = 500


@dataclass(frozen=True, eq=False)
class Move:
    """A change in words, and the evidence as it stood before."""

    words: str
    before: Evidence


class Moves:
    """The last move of each piece lately worked on, in memory only; safe to use from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last: OrderedDict[str, Move] = OrderedDict()

    def last(self, piece: str) -> Move | None:
        """The last move of a piece since the program started, if there was one."""
        with self._lock:
            return self._last.get(piece)

    @contextmanager
    def watching(self, collection: Collection, piece: str, words: str) -> Iterator[None]:
        """Remember the evidence before the block, if the block changed it."""
        before = evidence_of(collection, piece)
        yield
        if evidence_of(collection, piece).to_record() == before.to_record():
            return
        with self._lock:
            self._last[piece] = Move(words, before)
            self._last.move_to_end(piece)
            while len(self._last) > MOST_PIECES:
                self._last.popitem(last=False)

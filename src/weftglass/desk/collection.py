"""An open collection: its store, and what was computed lately."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from weftglass.cabinet import Cabinet
from weftglass.cabinet.cabinet import now_utc

KEPT_ANSWERS = 400


class Kept:
    """The last so many results by key; safe to use from several threads."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._results: OrderedDict[object, Any] = OrderedDict()

    def get(self, key: object, make: Callable[[], Any]) -> Any:
        """The result kept under a key, made first where there is none."""
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
                return self._results[key]
        made = make()
        with self._lock:
            self._results[key] = made
            while len(self._results) > self._most:
                self._results.popitem(last=False)
        return made


class Collection:
    """
    A collection that is open. Every function of `weftglass.desk` takes one; it may be used from several threads.

    Parameters
    ----------
    cabinet : Cabinet
        Its store.
    """

    def __init__(self, cabinet: Cabinet) -> None:
        self.cabinet = cabinet
        self.answers = Kept(KEPT_ANSWERS)
        self.libraries = Kept(2)
        self.counted = Kept(8)

    @property
    def path(self) -> Path:
        """The collection's folder."""
        return self.cabinet.folder

    @property
    def name(self) -> str:
        """Name of the folder."""
        return self.path.resolve().name

    def close(self) -> None:
        """Let go of the store."""
        self.cabinet.close()

    def __enter__(self) -> Collection:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def open_collection(
    path: str | Path, create: bool = True, *, url: str | None = None, clock: Callable[[], datetime] = now_utc
) -> Collection:
    """
    Open a collection's folder.

    Parameters
    ----------
    path : str or Path
        The folder.
    create : bool
        Make the folder and an empty collection where there is none.
    url : str or None
        A PostgreSQL database by its SQLAlchemy URL; the photographs stay in the folder. Default: SQLite in the folder.
    clock : callable
        Tells the time for the history; for tests.

    Raises
    ------
    CabinetError
        If the folder cannot be used (no collection, another program's file, a newer schema, no right to write).
    """
    return Collection(Cabinet.open(Path(path), create=create, url=url, clock=clock))

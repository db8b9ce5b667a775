"""
Work in a process of its own, which may be killed.

All of them fork from one that has the program loaded already; where the system can't fork, each loads it anew.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

CAN_FORK = "forkserver" in multiprocessing.get_all_start_methods()
_from_one = multiprocessing.get_context("forkserver" if CAN_FORK else "spawn")
if CAN_FORK:
    _from_one.set_forkserver_preload(["weftglass.desk"])


@dataclass(frozen=True)
class Beside:
    """A process at work, and the line to it."""

    process: BaseProcess
    line: Connection

    def heard(self) -> str:
        """The next thing it says."""
        said: str = self.line.recv()
        return said

    def kill(self) -> list[str]:
        """Kill it without warning (kill -9 where there is one); what it had said and was not heard yet."""
        self.process.kill()
        self.process.join()
        return list(self._left())

    def _left(self) -> Iterator[str]:
        while True:
            try:
                yield self.heard()
            except EOFError:
                return


@contextmanager
def at_work(act: Callable[..., None], *given: Any) -> Iterator[Beside]:
    """Start ``act(line, *given)`` in a process; what it sends down the line is heard here. At the end it has ended."""
    here, there = _from_one.Pipe()
    process = _from_one.Process(target=act, args=(there, *given))
    process.start()
    there.close()
    try:
        yield Beside(process, here)
    finally:
        here.close()
        process.join()
        process.close()

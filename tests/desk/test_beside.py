"""The tests that kill processes can be collected where the system can't fork and limits no files."""

from __future__ import annotations

import multiprocessing
import runpy
import sys

import pytest

from tests.desk import beside, test_killed

spawned = multiprocessing.get_context("spawn")


def test_where_there_is_no_fork_and_no_limit_only_the_test_of_a_full_disk_is_skipped(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As on Windows: one way to start a process, and no module of limits."""

    def only_spawn(method: str | None = None) -> multiprocessing.context.SpawnContext:
        if method not in (None, "spawn"):
            raise ValueError(f"cannot find context for {method!r}")
        return spawned

    monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: ["spawn"])
    monkeypatch.setattr(multiprocessing, "get_context", only_spawn)
    monkeypatch.setitem(sys.modules, "resource", None)
    assert runpy.run_path(str(beside.__file__))["_from_one"] is spawned
    made = runpy.run_path(str(test_killed.__file__))
    skipped = {
        name: [mark.args[0] for mark in getattr(one, "pytestmark", []) if mark.name == "skipif"]
        for name, one in made.items()
        if name.startswith("test_")
    }
    assert {name for name, whether in skipped.items() if any(whether)} == {
        "test_full_disk_is_told_in_one_sentence_and_changes_nothing"
    }


def test_here_processes_fork_from_one_where_the_system_can() -> None:
    assert beside.CAN_FORK is ("forkserver" in multiprocessing.get_all_start_methods())
    assert beside._from_one.get_start_method() == ("forkserver" if beside.CAN_FORK else "spawn")

"""Linear algebra keeps to one thread within, and to what it had before without."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from threadpoolctl import threadpool_info, threadpool_limits

from weftglass.cli.main import run
from weftglass.one_thread import on_one_thread, one_thread


def threads() -> set[int]:
    """Threads of all linear algebra of this process."""
    return {one["num_threads"] for one in threadpool_info() if one["user_api"] == "blas"}


@pytest.fixture(autouse=True)
def two_threads() -> Iterator[None]:
    """Linear algebra on two threads, whatever the machine has."""
    with threadpool_limits(limits=2, user_api="blas"):
        yield


def test_linear_algebra_keeps_to_one_thread_within_only() -> None:
    before = threads()
    assert on_one_thread(threads)() == {1}
    assert threads() == before


def test_an_answer_in_another_thread_leaves_the_limit_as_it_was() -> None:
    """As in the server, where the main thread holds it and answers are worked out beside."""
    before = threads()
    with one_thread():
        answering = threading.Thread(target=on_one_thread(threads))
        answering.start()
        answering.join()
        assert threads() == {1}
    assert threads() == before


def test_every_command_computes_on_one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    """The server too, which a command starts."""
    within: list[set[int]] = []
    monkeypatch.setattr("weftglass.cli.serve.run_server", lambda *_, **__: within.append(threads()))
    before = threads()
    assert run(["serve", "nowhere-yet", "--no-open"]) == 0
    assert within == [{1}]
    assert threads() == before

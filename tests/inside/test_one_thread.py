"""Linear algebra keeps to one thread within, and to what it had before without."""

from __future__ import annotations

from threadpoolctl import threadpool_info, threadpool_limits

from weftglass.inside.one_thread import on_one_thread


def threads() -> set[int]:
    """Threads of all linear algebra of this process."""
    return {one["num_threads"] for one in threadpool_info() if one["user_api"] == "blas"}


def test_linear_algebra_keeps_to_one_thread_within_only() -> None:
    with threadpool_limits(limits=2, user_api="blas"):
        before = threads()
        assert on_one_thread(threads)() == {1}
        assert threads() == before

"""
Linear algebra on one thread while we compute: the one place that says so.

Answers and measurements are made of thousands of small products and factorisations; several threads spend more time
waiting for one another over each than multiplying, most of all beside other work. The command line, and with it the
server, computes on one thread throughout; the engine does so by itself for those who call it from Python.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar

from threadpoolctl import ThreadpoolController

P = ParamSpec("P")
R = TypeVar("R")


@cache
def _libraries() -> Any:
    """The linear algebra that this process has loaded, looked up once."""
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[object]:
    """
    Linear algebra keeps to one thread within, and to what it had before without.

    The limit is the process's. Within a limit another one changes nothing, whichever thread asks for it.

    Examples
    --------
    >>> with one_thread():
    ...     abs(-2)
    2
    """
    limit: AbstractContextManager[object] = _libraries().limit(limits=1, user_api="blas")
    return limit


def on_one_thread(act: Callable[P, R]) -> Callable[P, R]:
    """
    The same function, during which linear algebra keeps to one thread.

    Examples
    --------
    >>> on_one_thread(abs)(-2)
    2
    """

    @wraps(act)
    def acting(*args: P.args, **kwargs: P.kwargs) -> R:
        with one_thread():
            return act(*args, **kwargs)

    return acting

"""
Linear algebra on one thread while an answer is worked out.

An answer is made of thousands of small products and factorisations; several threads spend more time waiting for one
another over each than multiplying, most of all beside other work.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar

from threadpoolctl import ThreadpoolController

P = ParamSpec("P")
R = TypeVar("R")


@cache
def _libraries() -> Any:
    """The linear algebra that this process has loaded, looked up once."""
    return ThreadpoolController()


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
        with _libraries().limit(limits=1, user_api="blas"):
            return act(*args, **kwargs)

    return acting

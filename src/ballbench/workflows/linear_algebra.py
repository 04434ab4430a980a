"""Linear algebra on one thread: products run side by side instead, and sums come out the same on every machine."""

from __future__ import annotations

from contextlib import AbstractContextManager

from threadpoolctl import threadpool_limits

__all__ = ["one_thread_each"]


def one_thread_each() -> AbstractContextManager[object]:
    """Hold the linear-algebra library to one thread while the context lasts.

    The order of a sum, and with it the last digit, depends on how many threads share it; the same seed has to give
    the same bytes whatever the machine.
    """
    context: AbstractContextManager[object] = threadpool_limits(limits=1, user_api="blas")
    return context

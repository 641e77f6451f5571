"""Ends a coroutine at a chosen await, as a cancelled task or a dying process would."""

import types
from collections.abc import Coroutine, Generator
from typing import Any, TypeVar

T = TypeVar("T")


class Killed(BaseException):
    """The process died here. Nothing in the program catches it."""


@types.coroutine
def interrupt(
    running: Coroutine[Any, Any, T], at: int, error: BaseException
) -> Generator[Any, Any, T]:
    """Await a coroutine, but throw `error` into it at its `at`-th suspension, counted from 1.

    Returns its result where it ends sooner, or where it swallows the error and goes on.
    """
    suspended = 0
    try:
        while True:
            waiting = running.send(None)
            suspended += 1
            if suspended == at:
                waiting = running.throw(error)
            yield waiting
    except StopIteration as end:
        return end.value


@types.coroutine
def count_suspensions(running: Coroutine[Any, Any, object]) -> Generator[Any, Any, int]:
    """Await a coroutine to its end; how often it was suspended."""
    suspended = 0
    try:
        while True:
            waiting = running.send(None)
            suspended += 1
            yield waiting
    except StopIteration:
        return suspended

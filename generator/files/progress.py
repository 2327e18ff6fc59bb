"""How far long work is: told to whoever watches, and to nobody else.

What works says its stage and how many of how many; what shows it is the command line's.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

_T = TypeVar("_T")
Watcher = Callable[[str, int | None, int], None]
"""Told a stage in words, how many are done (None: one more than before), of how many."""
_WATCHER: ContextVar[Watcher | None] = ContextVar("watcher", default=None)


@contextmanager
def watched_by(watcher: Watcher) -> Iterator[None]:
    """While it lasts, ``watcher`` is told of every stage."""
    before = _WATCHER.set(watcher)
    try:
        yield
    finally:
        _WATCHER.reset(before)


def told(stage: str, done: int | None, of: int) -> None:
    """Say that so many of a stage are done, or one more; the stage ends where all are."""
    watcher = _WATCHER.get()
    if watcher is not None:
        watcher(stage, done, of)


def counted_off(stage: str, items: Collection[_T]) -> Iterator[_T]:
    """The items of a stage one by one, each told when the next is asked for; a stage that is left
    early has ended too."""
    if _WATCHER.get() is None:
        yield from items
        return
    done = 0
    try:
        for item in items:
            told(stage, done, len(items))
            yield item
            done += 1
    finally:
        told(stage, len(items), len(items))

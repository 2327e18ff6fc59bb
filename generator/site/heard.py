"""What a build says in the logs, gathered so that the next one can say it again."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

Said = tuple[str, int, str]
"""A log's name, the level, and the words."""


class _Hearing(logging.Handler):
    """Gathers records of the level of a warning and above. Where nobody else takes them (``last``)
    they are written where Python writes what nobody takes: to standard error."""

    def __init__(self, last: logging.Handler | None) -> None:
        super().__init__(logging.WARNING)
        self.said: list[Said] = []
        self._last = last

    def emit(self, record: logging.LogRecord) -> None:
        self.said.append((record.name, record.levelno, record.getMessage()))
        if self._last is not None:
            self._last.handle(record)


@contextmanager
def heard() -> Iterator[list[Said]]:
    """Warnings and errors of every log while it lasts, in their order."""
    root = logging.getLogger()
    hearing = _Hearing(None if root.handlers else logging.lastResort)
    root.addHandler(hearing)
    try:
        yield hearing.said
    finally:
        root.removeHandler(hearing)


def said_again(said: Iterable[Said]) -> None:
    """Say in the logs what was said."""
    for name, level, words in said:
        logging.getLogger(name).log(level, "%s", words)

"""Where answers go: a reader that has read enough is no fault, a full or closed place is told."""

from __future__ import annotations

import io
import sys
from contextlib import suppress
from typing import Any

_ANSWER = "the answer can't be written to standard output"


class Unwritten(Exception):
    """An answer that found no place, with the reason in words."""


class _Answers(io.RawIOBase):
    """Standard output without its accidents.

    A pipe whose reader has gone (``| head``) swallows the rest, so that the command ends with its own
    exit status; any other failure is raised once, as ``Unwritten``, and the rest is dropped.
    """

    def __init__(self, below: Any) -> None:
        super().__init__()
        self.below, self.gone = below, False

    def writable(self) -> bool:
        return True

    def isatty(self) -> bool:
        return bool(self.below.isatty())

    def fileno(self) -> int:
        return int(self.below.fileno())

    def write(self, data: Any) -> int:
        if not self.gone:
            try:
                return int(self.below.write(data) or 0)
            except BrokenPipeError:
                self.gone = True
            except OSError as error:
                self.gone = True
                raise Unwritten(f"{_ANSWER}: {error.strerror or error}") from None
        return len(data)


def guard_answers() -> None:
    """Put the guard round standard output. Raises Unwritten if it is closed.

    A stream that isn't the process's own (a test's) is left as it is.
    """
    if sys.__stdout__ is None or sys.stdout is None:
        raise Unwritten(f"{_ANSWER}: it is closed")
    if sys.stdout is not sys.__stdout__:
        return
    old = sys.stdout
    raw = getattr(old.buffer, "raw", old.buffer)  # without a buffer the stream is the raw one
    sys.stdout = io.TextIOWrapper(
        io.BufferedWriter(_Answers(raw)),
        encoding=old.encoding,
        errors=old.errors,
        line_buffering=True,
    )


def say(words: str) -> None:
    """A sentence on standard error, if there is a place for it."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.write(f"kitchen-manual: {words}\n")
        sys.stderr.flush()

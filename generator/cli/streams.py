"""Where answers go: a reader that has read enough is no fault, a full place is."""

from __future__ import annotations

import io
import sys
from contextlib import suppress
from typing import Any, TextIO

_ANSWER = "the answer can't be written to standard output"


class Unwritten(Exception):
    """An answer that found no place, with the reason in words."""


class _Guarded(io.RawIOBase):
    """A stream without its accidents.

    A pipe whose reader has gone (``| head``) swallows the rest, so that the command ends with its
    own exit status. Another failure is raised once, as ``Unwritten``, if the stream carries
    ``answers``; the rest is dropped.
    """

    def __init__(self, below: Any, answers: bool) -> None:
        super().__init__()
        self.below, self.answers, self.gone = below, answers, False

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
            except OSError as error:
                self.gone = True
                if self.answers and not isinstance(error, BrokenPipeError):
                    raise Unwritten(f"{_ANSWER}: {error.strerror or error}") from None
        return len(data)


def guard_streams() -> None:
    """Put the guard round standard output and standard error. Raises Unwritten if there is no
    standard output. A stream that isn't the process's own (a test's) is left as it is."""
    if sys.stderr is None:
        sys.stderr = _Nowhere()
    elif sys.stderr is sys.__stderr__:
        sys.stderr = _guarded(sys.stderr, answers=False)
    if sys.stdout is None:
        raise Unwritten(f"{_ANSWER}: it is closed")
    if sys.stdout is sys.__stdout__:
        sys.stdout = _guarded(sys.stdout, answers=True)


class _Nowhere(io.StringIO):
    """In place of a standard error that is closed."""

    def write(self, words: str) -> int:
        return len(words)


def _guarded(old: Any, answers: bool) -> TextIO:
    raw = getattr(old.buffer, "raw", old.buffer)  # without a buffer the stream is the raw one
    guard = io.BufferedWriter(_Guarded(raw, answers))
    return io.TextIOWrapper(guard, encoding=old.encoding, errors=old.errors, line_buffering=True)


def say(words: str) -> None:
    """A sentence on standard error, if there is a place for it."""
    with suppress(OSError, ValueError):
        sys.stderr.write(f"kitchen-manual: {words}\n")
        sys.stderr.flush()

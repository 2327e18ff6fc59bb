"""Long work on a terminal shows its stage, how many are done, and the time left.

Nothing is shown in the first second, into a pipe or a file, or on a terminal that can't move its
cursor; rich is imported once something is shown.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from generator.files.progress import watched_by

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress

AFTER_S, STAGE_S = 1.0, 0.3
"""Work of less shows nothing, nor does a stage of less."""
_EVERY_S = 0.1


class Bar:
    """One line that is drawn again in place, and gone when its stage has ended.

    ``console`` makes the console once there is something to show; ``now`` is a clock in s.
    """

    def __init__(
        self, console: Callable[[], Console], now: Callable[[], float] = time.monotonic
    ) -> None:
        self.console, self.now = console, now
        self.began = self.drawn = now()
        self.stage, self.since, self.done = "", self.began, 0
        self.line: Progress | None = None

    def __call__(self, stage: str, done: int | None, of: int) -> None:
        at = self.now()
        if stage != self.stage:
            self.close()
            self.stage, self.since, self.done = stage, at, 0
        self.done = done = self.done + 1 if done is None else done
        if done >= of:
            self.close()
        elif self._due(at):
            self._draw(done, of, at)

    def _due(self, at: float) -> bool:
        if self.line is not None:
            return at - self.drawn >= _EVERY_S
        return at - self.began >= AFTER_S and at - self.since >= STAGE_S

    def _draw(self, done: int, of: int, at: float) -> None:
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

        if self.line is None:
            self.line = Progress(
                TextColumn("{task.description}"),
                BarColumn(bar_width=24),
                MofNCompleteColumn(),
                TextColumn("{task.fields[left]}"),
                console=self.console(),
                auto_refresh=False,
                transient=True,
                redirect_stdout=False,
                redirect_stderr=False,
            )
            self.line.add_task(self.stage, total=of, completed=done, left="")
            self.line.start()
        self.drawn = at
        left = time_left(at - self.since, done, of)
        self.line.update(self.line.task_ids[0], total=of, completed=done, left=left, refresh=True)

    def close(self) -> None:
        """Take the line away, before anything else is written."""
        if self.line is not None:
            self.line.stop()
            self.line = None
        self.stage = ""


def time_left(spent: float, done: int, of: int) -> str:
    """About how long the rest of a stage takes if it goes on as it went: s spent on so many."""
    if not done or spent < 0.5:
        return ""
    left = spent / done * (of - done)
    if left < 1:
        return ""
    return f"about {left:.0f} s left" if left < 90 else f"about {left / 60:.0f} min left"


def _can_show() -> bool:
    stream = sys.stderr
    return bool(stream is not None and stream.isatty()) and os.environ.get("TERM") != "dumb"


def _console() -> Console:
    from rich.console import Console

    return Console(stderr=True, highlight=False, emoji=False)


@contextmanager
def shown_progress() -> Iterator[None]:
    """While it lasts, long work shows how far it is, if standard error is a terminal."""
    if not _can_show():
        yield
        return
    bar = Bar(_console)
    try:
        with watched_by(bar):
            yield
    finally:
        bar.close()

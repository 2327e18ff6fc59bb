"""Long work shows how far it is, on a terminal and nowhere else."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from pathlib import Path

import pytest
from each_row import each_row
from rich.console import Console

from generator.cli.progress import AFTER_S, STAGE_S, Bar, time_left
from generator.files.progress import counted_off, told, watched_by

Told = list[tuple[str, int | None, int]]


class Clock:
    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        return self.at


def shown(seconds_each: float, items: int, leave_after: int | None = None) -> tuple[str, Told]:
    """What stands on the terminal while so many items take so long each, and what was told."""
    page, clock, heard = io.StringIO(), Clock(), Told()
    bar = Bar(lambda: Console(file=page, force_terminal=True, width=100), clock)

    def watcher(stage: str, done: int | None, of: int) -> None:
        heard.append((stage, done, of))
        bar(stage, done, of)

    with watched_by(watcher):
        for at, _ in enumerate(counted_off("Working out", range(items))):
            clock.at += seconds_each
            if at == leave_after:
                break
    assert bar.line is None, "a stage that has ended leaves no line"
    return page.getvalue(), heard


def plain(text: str) -> str:
    return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", text)


def test_quick_work_shows_nothing() -> None:
    text, told = shown((AFTER_S - 0.1) / 20, 20)
    assert text == ""
    assert told == [*(("Working out", n, 20) for n in range(20)), ("Working out", 20, 20)]


def test_long_work_shows_stage_count_and_the_time_left() -> None:
    text, _ = shown(0.5, 40)
    rows = [row for row in plain(text).split("\r") if "Working out" in row]
    counts = [int(m[1]) for row in rows if (m := re.search(r"(\d+)/40", row))]
    assert counts == sorted(counts) and counts[0] >= 2 and counts[-1] == 39
    assert "about 10 s left" in plain(text)  # at 20 of 40, half a second each
    assert text.endswith(("\x1b[2K", "\x1b[?25h")) or "\x1b[2K" in text[-20:]


def test_a_stage_that_is_left_early_has_ended() -> None:
    _, told = shown(0.5, 40, leave_after=7)
    assert told[-1] == ("Working out", 40, 40)


def test_a_short_stage_of_long_work_shows_nothing() -> None:
    page, clock = io.StringIO(), Clock()
    bar = Bar(lambda: Console(file=page, force_terminal=True, width=100), clock)
    clock.at = 10 * AFTER_S
    with watched_by(bar):
        for _ in counted_off("Reading stations", range(5)):
            clock.at += STAGE_S / 10
    assert page.getvalue() == ""


@each_row(
    ("spent", "done", "of", "words"),
    [
        (10, 0, 100, ""),
        (0.2, 10, 100, ""),
        (10, 99, 100, ""),
        (10, 50, 100, "about 10 s left"),
        (60, 10, 100, "about 9 min left"),
    ],
)
def test_the_time_left(spent: float, done: int, of: int, words: str) -> None:
    assert time_left(spent, done, of) == words


def test_one_more_is_counted_here() -> None:
    """A stage whose work is done by somebody else's loop says only that there is one more."""
    page, clock = io.StringIO(), Clock()
    bar = Bar(lambda: Console(file=page, force_terminal=True, width=100), clock)
    with watched_by(bar):
        for _ in range(9):
            clock.at += 0.5
            told("Laying out pages", None, 9)
    assert [int(n) for n in re.findall(r"(\d)/9", plain(page.getvalue()))][-1] == 8
    assert bar.line is None


def test_nobody_watches_and_nothing_is_told() -> None:
    assert list(counted_off("Working out", [1, 2])) == [1, 2]


def test_no_line_into_a_pipe(tmp_path: Path) -> None:
    """Nothing is drawn, and what draws isn't even imported."""
    code = (
        "import sys, generator.cli.progress as progress\n"
        "progress.AFTER_S = progress.STAGE_S = 0\n"
        "from generator.files.progress import counted_off\n"
        "with progress.shown_progress():\n"
        "    list(counted_off('Working out', range(9)))\n"
        "print('rich.progress' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("False\n", "")


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("kitchen-manual ba", "batch"),
        ("kitchen-manual batch bar", "barley-soup"),
        ("kitchen-manual order wed", ""),
        ("kitchen-manual binder sto", "stove"),
        ("kitchen-manual predict barley-soup --por", "--portions"),
    ],
)
def test_a_shell_completes(
    words: str, found: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from click.shell_completion import BashComplete

    from generator.cli import cli

    monkeypatch.chdir(Path(__file__).resolve().parents[2])
    *args, typed = words.split()[1:]
    offered = BashComplete(cli, {}, "kitchen-manual", "_C").get_completions(args, typed)
    assert [item.value for item in offered] == ([found] if found else [])
    monkeypatch.chdir(tmp_path)  # where there is no kitchen, no name is offered and nothing fails
    BashComplete(cli, {}, "kitchen-manual", "_C").get_completions(["batch"], "b")

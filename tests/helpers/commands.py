"""The command line as a person types it: in this process, or in one of its own.

A process of its own costs half a second to a second before it does anything, so a command is run in
this one, its streams caught and all it could leave behind put back. ``PROCESSES`` names the tests
for which that isn't the real thing.
"""

from __future__ import annotations

import contextlib
import contextvars
import io
import logging
import multiprocessing
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from conftest import ROOT

from generator.cli import main
from generator.cli.guide import every_command as every_command

DONE = subprocess.CompletedProcess
PROGRAM = "from generator.cli import main; main()"
COMMAND = [sys.executable, "-c", PROGRAM]
SAID = {"NO_COLOR": "1", "NO_MKDOCS_2_WARNING": "1"}
PROCESSES = {
    "test_benchmark.py": "what a whole process costs in time and memory",
    "test_benchmark_site.py": "the site builder on its own, timed",
    "test_binder.py": "the same bytes whatever the hash seed, zone, locale and folder; what is "
    "imported",
    "test_changes.py": "git alone",
    "test_cli.py": "the site builder's own command; that this process answers as one of its "
    "own does",
    "test_disk.py": "standard output and standard error full or closed; a disk mounted",
    "test_killed_builds.py": "builds that are killed",
    "test_print_register.py": "two printings at once, and printings killed",
    "test_progress.py": "what is imported where nothing is shown",
    "test_renames.py": "standard output on a full device",
    "test_second_builder.py": "another builder of sites",
    "test_unchanged_builds.py": "git alone",
    "test_who_may_see.py": "a server that listens; git alone",
    "test_heat_quick.py": "what is imported where no numbers in bulk are asked for",
    "test_imports_of_commands.py": "what a command imports",
    "test_units.py": "GNU units",
    "commands.py": "one process of its own, and one branched off this",
    "language_server.py": "a language server",
}
"""Who may start a process, and why; ``test_cli`` holds it."""


def typed(project: Path | None, arguments: tuple[str, ...]) -> list[str]:
    """The words of a command with its project and the fixed day, unless the test gives its own,
    before what ``--`` ends."""
    fixed = {"--project": str(project), "--as-of": "2026-11-25"} if project else {}
    options = [word for pair in fixed.items() if pair[0] not in arguments for word in pair]
    where = arguments.index("--") if "--" in arguments else len(arguments)
    return [*arguments[:where], *options, *arguments[where:]]


def run(project: Path | None, *arguments: str, cwd: Path | None = None) -> DONE[str]:
    """A command in this process: its exit status, what it answered, what it said besides."""
    words = typed(project, arguments)
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    with _alone(["kitchen-manual", *words], cwd or project or ROOT, out, err):
        status = contextvars.copy_context().run(_status)
    texts = []
    for stream in (out, err):
        stream.flush()
        texts.append(stream.buffer.getvalue().decode("utf-8"))  # type: ignore[attr-defined]
    return DONE(words, status, *texts)


def run_alone(project: Path | None, *arguments: str, cwd: Path | None = None) -> DONE[str]:
    """The same in a process of its own."""
    return subprocess.run(
        [*COMMAND, *typed(project, arguments)],
        cwd=cwd or project or ROOT,
        env={**os.environ, **SAID},
        capture_output=True,
        text=True,
        check=False,
    )


FORK = multiprocessing.get_context("fork")


def nothing() -> None:
    """Nothing is done before the command."""


def forked(
    project: Path, *arguments: str, before: Callable[[], object] = nothing
) -> multiprocessing.process.BaseProcess:
    """The same in a process of its own that needs no start of Python and no imports: one branched
    off this one, which does what is ``before`` and says nothing; ``ended`` waits for it. Not for a
    command that draws paper: the typesetter's threads aren't branched off, and it waits for them."""

    def work() -> None:
        status = 70
        try:
            with Path(os.devnull).open("w", encoding="utf-8") as nobody:
                words = ["kitchen-manual", *typed(project, arguments)]
                with _alone(words, ROOT, nobody, nobody):
                    before()
                    status = _status()
        finally:
            os._exit(status)  # nothing of this process's own is done at its end

    process = FORK.Process(target=work)
    process.start()
    return process


def ended(process: multiprocessing.process.BaseProcess) -> int | None:
    """The status a forked command ended with; a signal's number below zero, as where it didn't end
    in a minute."""
    process.join(60)
    process.kill()
    process.join()
    return process.exitcode


def _status() -> int:
    try:
        main()
    except SystemExit as ended:
        if isinstance(ended.code, str):
            sys.stderr.write(f"{ended.code}\n")
            return 1
        return ended.code or 0
    return 0


@contextlib.contextmanager
def _alone(argv: list[str], cwd: Path, out: Any, err: Any) -> Iterator[None]:
    """The process as it is when a command starts, and put back after it: its words, its folder, its
    environment, its streams, and its logs, which go to standard error as nobody has set them up."""
    environment, words = dict(os.environ), sys.argv
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    levels = {
        held: held.level
        for name, held in logging.root.manager.loggerDict.items()
        if name.split(".")[0] == "mkdocs" and isinstance(held, logging.Logger)
    }
    try:
        os.environ.update(SAID)
        sys.argv = argv
        root.handlers[:] = []
        root.setLevel(logging.WARNING)
        for logger in levels:
            logger.setLevel(logging.NOTSET)
        with (
            contextlib.chdir(cwd),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            yield
    finally:
        root.handlers[:] = handlers
        root.setLevel(level)
        for logger, was in levels.items():
            logger.setLevel(was)
        sys.argv = words
        os.environ.clear()
        os.environ.update(environment)

"""Standards as they were: a git revision of a project laid into a folder of its own.

Nothing of the checkout is touched; git is asked, never told.
"""

from __future__ import annotations

import datetime
import io
import os
import re
import subprocess
import tarfile
import tempfile
import zoneinfo
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from generator.finding import Refused, clipped
from generator.pictures import pages_folder

REGISTER = "standards/print-register.yaml"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOST_BYTES = 1 << 28


def _git(project: Path, *words: str) -> bytes:
    """What git answers. Raises Refused where git is missing or says no."""
    environment = {
        **os.environ,
        "GIT_OPTIONAL_LOCKS": "0",
        "LC_ALL": "C",
        "GIT_TERMINAL_PROMPT": "0",
    }
    try:
        done = subprocess.run(
            ["git", "-C", str(project), *words], capture_output=True, check=False, env=environment
        )
    except OSError:
        raise Refused(
            "git-missing",
            "git isn't on this machine.",
            "Install it to compare with an earlier revision.",
        ) from None
    if done.returncode != 0:
        reason = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise Refused("git-failed", f"git says: {clipped(reason[-1]) if reason else 'no'}")
    return done.stdout


def _in_a_checkout(project: Path) -> None:
    try:
        _git(project, "rev-parse", "--show-toplevel")
    except Refused as refused:
        if refused.code == "git-missing":
            raise
        if "dubious ownership" in refused.message:
            raise
        raise Refused(
            "not-a-checkout", f"{project} is not in a git checkout.",
            "Earlier standards are read from git: keep the project in it, or compare with the print register.",
        ) from None  # fmt: skip


def commit_of(project: Path, since: str, zone: str) -> str:
    """The full id of the commit meant by ``since``: a revision as git names it, or a day.

    A day means the last state before it began in the kitchen's time ``zone``. Raises Refused: no
    checkout, an unknown revision, a day before the first commit.
    """
    _in_a_checkout(project)
    if _DAY.fullmatch(since):
        try:
            day = datetime.date.fromisoformat(since)
        except ValueError:
            raise Refused(
                "date-unreadable", f"There is no day {since}.", "Check day and month."
            ) from None
        start = datetime.datetime.combine(day, datetime.time(), zoneinfo.ZoneInfo(zone))
        found = _git(
            project, "rev-list", "-1", "--first-parent", f"--before={start.isoformat()}", "HEAD"
        )
        if not found.strip():
            raise Refused(
                "revision-unknown", f"Nothing was committed before {since}.", "Name a later day."
            )
        return found.decode().strip()
    try:
        found = _git(
            project, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{since}^{{commit}}"
        )
    except Refused:
        raise Refused(
            "revision-unknown", f"`{clipped(since)}` is no revision of this checkout.",
            "Write a commit, a tag or a branch as git knows it, or a day as year-month-day.",
        ) from None  # fmt: skip
    return found.decode().strip()


def committed_on(project: Path, commit: str, zone: str) -> datetime.date:
    """The day of a commit in the kitchen's time ``zone``."""
    seconds = int(_git(project, "show", "-s", "--format=%ct", commit).decode())
    return datetime.datetime.fromtimestamp(seconds, zoneinfo.ZoneInfo(zone)).date()


@contextmanager
def standards_at(project: Path, commit: str) -> Iterator[Path]:
    """A folder with the project as it was at ``commit``: standards, reference data, pictures.

    Raises Refused where there were no standards then.
    """
    there = (
        _git(project, "ls-tree", "-z", "--name-only", commit).decode("utf-8", "replace").split("\0")
    )
    folder_of_pages = pages_folder(project)
    inside = folder_of_pages.is_relative_to(project)
    pages = folder_of_pages.relative_to(project).parts[:1] if inside else ()
    wanted = [name for name in ("standards", "shared", "mkdocs.yml", *pages) if name in there]
    if "standards" not in wanted:
        raise Refused(
            "revision-empty",
            f"At {commit[:12]} there were no standards here.",
            "Name a later revision.",
        )
    tar = _git(project, "archive", "--format=tar", commit, "--", *dict.fromkeys(wanted))
    with tempfile.TemporaryDirectory(prefix="standards-") as folder:
        try:
            with tarfile.open(fileobj=io.BytesIO(tar)) as archive:
                if sum(member.size for member in archive.getmembers()) > _MOST_BYTES:
                    raise Refused(
                        "revision-empty", f"The files of {commit[:12]} are too many to compare."
                    )
                archive.extractall(folder, filter="data")
        except (tarfile.TarError, OSError) as error:
            raise Refused(
                "revision-empty", f"The files of {commit[:12]} can't be laid out: {error}."
            ) from None
        yield Path(folder)


def committed(project: Path) -> str:
    """The commit the standards on disk are those of; empty where they differ from it, or there is
    no git. The print register itself doesn't count."""
    try:
        changed = _git(
            project, "status", "--porcelain", "--untracked-files=all", "--",
            "standards", "shared", "mkdocs.yml", f":(exclude){REGISTER}",
        )  # fmt: skip
        if changed.strip():
            return ""
        return _git(project, "rev-parse", "HEAD").decode().strip()
    except Refused:
        return ""

"""Standards as they were: a git revision of a project laid into a folder of its own.

Nothing of the checkout is touched; git is asked and changed by nothing here.
"""

from __future__ import annotations

import datetime
import difflib
import io
import re
import tarfile
import tempfile
import zoneinfo
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Literal

from generator.files.finding import Refused, clipped
from generator.files.git import git
from generator.resolve.pictures import pages_folder

REGISTER = "standards/print-register.yaml"
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOST_BYTES = 1 << 28


def _in_a_checkout(project: Path) -> None:
    try:
        git(project, "rev-parse", "--show-toplevel")
    except Refused as refused:
        if refused.code == "git-missing":
            raise
        if "dubious ownership" in refused.message:
            raise Refused(
                "git-failed",
                "git doesn't read a checkout that belongs to another user.",
                "If you trust it, run:",
                [f"git config --global --add safe.directory {project}"],
            ) from None
        raise Refused(
            "not-a-checkout",
            f"{project} is not in a git checkout.",
            "Earlier standards are read from git. Keep the project in git, or compare with the "
            "print register.",
        ) from None
    try:
        git(project, "rev-parse", "--verify", "--quiet", "HEAD^{commit}")
    except Refused:
        raise Refused(
            "revision-unknown",
            "Nothing is committed here yet.",
            "Commit the standards first; then change them.",
        ) from None


def commit_of(project: Path, since: str, zone: str, today: datetime.date | None = None) -> str:
    """The full id of the commit meant by ``since``: a revision as git names it, or a day.

    A day means the last state before it began in the kitchen's time ``zone``; ``today`` is the
    manual's day, by default the clock's. Raises Refused: no checkout, an unknown revision, a day
    before the first commit or one that hasn't come.
    """
    _in_a_checkout(project)
    if _DAY.fullmatch(since):
        return _commit_before(project, since, zoneinfo.ZoneInfo(zone), today)
    try:
        found = git(
            project, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{since}^{{commit}}"
        )
    except Refused:
        raise _unknown(project, since) from None
    return found.decode().strip()


_MOST_COMMITS = 300
"""So many commits of one file are looked at, from the last one back."""


def commits_of_revision(project: Path, file: str, revision: int) -> Iterator[str]:
    """The ids of the commits at which a file of a formula, by its path in the ``project``, states a
    ``revision``, the last first; none without git."""
    said = re.compile(rf"^revision:\s*[\"']?{revision}[\"']?\s*(?:#.*)?$".encode(), re.MULTILINE)
    with suppress(Refused):
        _in_a_checkout(project)
        words = ("log", f"-n{_MOST_COMMITS}", "--format=%H", "HEAD", "--", file)
        for commit in git(project, *words).decode().split():
            with suppress(Refused):  # the file was removed there
                if said.search(git(project, "show", f"{commit}:./{file}")):
                    yield commit


def _commit_before(
    project: Path, since: str, zone: zoneinfo.ZoneInfo, today: datetime.date | None
) -> str:
    try:
        day = datetime.date.fromisoformat(since)
    except ValueError:
        raise Refused(
            "date-unreadable", f"There is no day {since}.", "Check day and month."
        ) from None
    today = today or datetime.datetime.now(zone).date()
    if day > today:
        raise Refused(
            "day-not-come",
            f"{since} is in the future: the manual's day is {today.isoformat()}.",
            "Name an earlier day, or set the day with --as-of.",
        )
    start = datetime.datetime.combine(day, datetime.time(), zone)
    found = git(
        project, "rev-list", "-1", "--first-parent", f"--before={start.isoformat()}", "HEAD"
    )
    if found.strip():
        return found.decode().strip()
    oldest = git(project, "log", "--first-parent", "--format=%ct", "HEAD").split()
    first = datetime.datetime.fromtimestamp(int(oldest[-1]), zone).date()
    if _is_shallow(project):
        raise _shallow(
            f"Nothing before {since} is in this checkout: it begins on {first.isoformat()}."
        )
    next_day = first + datetime.timedelta(days=1)
    raise Refused(
        "revision-unknown",
        f"Nothing was committed before {since}.",
        f"The first commit is of {first.isoformat()}: name {next_day.isoformat()} or a later day."
        if next_day <= today
        else f"The first commit is of {first.isoformat()}. There is nothing earlier to compare "
        f"with.",
    )


def _is_shallow(project: Path) -> bool:
    return git(project, "rev-parse", "--is-shallow-repository").strip() == b"true"


def _shallow(words: str) -> Refused:
    return Refused(
        "history-shallow",
        f"{words} It is a shallow clone, which leaves older commits out.",
        "Fetch the others. If a workflow clones, let it clone the whole history.",
        ["git fetch --unshallow"],
    )


def _unknown(project: Path, since: str) -> Refused:
    """Why a revision can't be found, with advice that fits."""
    shown = clipped(since)
    if (day := _meant_as_day(since)) is not None:
        return Refused(
            "revision-unknown",
            f"`{shown}` is not a day as written here.",
            "Write a day as year-month-day.",
            [f"--since {day.isoformat()}"] if day else [],
        )
    if re.fullmatch(r"[0-9a-f]{4,40}", since):
        try:
            alike = git(project, "rev-parse", f"--disambiguate={since}").split()
        except Refused:
            alike = []
        if len(alike) > 1:
            return Refused(
                "revision-unknown",
                f"`{shown}` begins {len(alike)} names in this checkout.",
                "Write more of the commit's letters.",
            )
    if re.fullmatch(r"[0-9a-f]{7,40}|.*[~^].*", since) and _is_shallow(project):
        return _shallow(f"`{shown}` is not a revision of this checkout.")
    names = git(project, "for-each-ref", "--format=%(refname:short)").decode("utf-8", "replace")
    near = difflib.get_close_matches(since[:100], names.split(), n=1)
    return Refused(
        "revision-unknown",
        f"`{shown}` is not a revision of this checkout.",
        f"Did you mean `{near[0]}`?"
        if near
        else "Write a commit, a tag or a branch as git knows it, or a day as year-month-day.",
    )


def _meant_as_day(since: str) -> datetime.date | Literal[False] | None:
    """The day meant by a text in another form; False if it may be one of two, None if it is no
    day."""
    match = re.fullmatch(r"([0-9]{1,4})[-./]([0-9]{1,2})[-./]([0-9]{1,4})", since.strip())
    if match is None:
        return None
    first, second, third = (int(group) for group in match.groups())
    forms = [(first, second, third)] if len(match[1]) == 4 else []
    if len(match[3]) == 4:
        forms = [(third, second, first), (third, first, second)]
    found: set[datetime.date] = set()
    for form in forms:
        with suppress(ValueError):
            found.add(datetime.date(*form))
    return found.pop() if len(found) == 1 else False


def committed_on(project: Path, commit: str, zone: str) -> datetime.date:
    """The day of a commit in the kitchen's time ``zone``."""
    seconds = int(git(project, "show", "-s", "--format=%ct", commit).decode())
    return datetime.datetime.fromtimestamp(seconds, zoneinfo.ZoneInfo(zone)).date()


@contextmanager
def standards_at(project: Path, commit: str, reference: bool = True) -> Iterator[Path]:
    """A folder with the project as it was at ``commit``: standards, reference data, pictures. Its
    standards are in today's names: what was renamed since is no change. Without ``reference`` the
    reference data is today's.

    Raises Refused where there were no standards then.
    """
    from generator.records.upgrading import upgraded  # its rules are half of what git takes

    there = (
        git(project, "ls-tree", "-z", "--name-only", commit).decode("utf-8", "replace").split("\0")
    )
    folder_of_pages = pages_folder(project)
    inside = folder_of_pages.is_relative_to(project)
    pages = folder_of_pages.relative_to(project).parts[:1] if inside else ()
    data = ("shared",) if reference else ()
    wanted = [name for name in ("standards", *data, "mkdocs.yml", *pages) if name in there]
    if "standards" not in wanted:
        raise Refused(
            "revision-empty",
            f"At {commit[:12]} there were no standards here.",
            "Name a later revision.",
        )
    tar = git(project, "archive", "--format=tar", commit, "--", *dict.fromkeys(wanted))
    with tempfile.TemporaryDirectory(prefix="standards-") as folder:
        try:
            with tarfile.open(fileobj=io.BytesIO(tar)) as archive:
                if sum(member.size for member in archive.getmembers()) > _MOST_BYTES:
                    raise Refused(
                        "revision-empty", f"The files of {commit[:12]} are too many to compare."
                    )
                _lay_out(archive, Path(folder).resolve())
            if not reference and (project / "shared").is_dir():
                (Path(folder) / "shared").symlink_to((project / "shared").resolve())
            upgraded(Path(folder).resolve()).write()
        except (tarfile.TarError, OSError) as error:
            raise Refused(
                "revision-empty", f"The files of {commit[:12]} can't be written out: {error}."
            ) from None
        yield Path(folder)


def _lay_out(archive: tarfile.TarFile, folder: Path) -> None:
    """Folders and plain files of an archive, and links that stay in ``folder``; nothing else.

    ``extractall(filter="data")`` came with Python 3.11.4, and refuses the whole for one link.
    """
    for member in archive:
        path = folder / member.name
        if not path.parent.resolve().is_relative_to(folder) or ".." in Path(member.name).parts:
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        if member.isdir():
            path.mkdir(exist_ok=True)
        elif member.isreg() and (file := archive.extractfile(member)) is not None:
            path.write_bytes(file.read())
        elif member.issym() and _stays(path.parent / member.linkname, folder):
            path.symlink_to(member.linkname)


def _stays(target: Path, folder: Path) -> bool:
    try:
        return target.resolve().is_relative_to(folder)
    except (OSError, RuntimeError):
        return False


def newest_commit(project: Path) -> datetime.datetime | None:
    """When the newest commit that changed the standards was made, in the time of who made it; None
    without git, a checkout, or such a commit."""
    try:
        found = git(project, "log", "-1", "--format=%cI", "HEAD", "--", "standards")
    except Refused:
        return None
    text = found.decode("ascii", "replace").strip()
    return datetime.datetime.fromisoformat(text) if text else None


def differing(project: Path, commit: str) -> bool:
    """Whether the standards on the disk differ from those of a commit; the print register itself
    doesn't count. Raises Refused: no checkout, no such commit."""
    where = ("--", "standards", f":(exclude){REGISTER}")
    changed = git(project, "diff", "--name-only", "--no-renames", commit, *where)
    return bool(
        changed.strip()
        or git(project, "ls-files", "--others", "--exclude-standard", *where).strip()
    )


def committed(project: Path) -> str:
    """The commit the standards on disk are those of; empty where they differ from it, or there is
    no git. The print register itself doesn't count."""
    try:
        changed = git(
            project,
            "status",
            "--porcelain",
            "--untracked-files=all",
            "--",
            "standards",
            "shared",
            "mkdocs.yml",
            f":(exclude){REGISTER}",
        )
        if changed.strip():
            return ""
        return git(project, "rev-parse", "HEAD").decode().strip()
    except Refused:
        return ""

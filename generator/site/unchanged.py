"""A build of what was built already: where all that goes in is the last build's, and the site's
folder is as that build left it, it says what that build said and touches nothing.

It believes no file's time for what goes in: each is hashed. Of what is in the site's folder it
believes what the disk says (``files.looked_at``). What can't be told for sure is built whole: with
anybody else's plugin, hook, template or extension, with links among the files, with settings that
are taken from elsewhere.
"""

from __future__ import annotations

import datetime
import json
import os
import re
import zoneinfo
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, TypeVar

from generator.changes.word import git_word
from generator.files.kept import Kept, hash_of, program_hash
from generator.files.looked_at import Looked, Mark, Unsure, looked_at, marks_below, marks_of
from generator.files.replacing import being_made

BUILDERS = ("mkdocs", "mkdocs-material", "markdown", "jinja2")
_MADE_WITH = (*BUILDERS, "pillow", "tzdata")
_T = TypeVar("_T")
_OFFICE = "office"
"""Prices and suppliers, below standards/: never opened."""
_ELSEWHERE = re.compile(r"(?m)(?:^|[\s\[{,:-])!|^\s*[\"']?INHERIT")
"""A setting taken from the environment or another file, or made by a program."""
_FROM_OUTSIDE = ("SOURCE_DATE_EPOCH",)


@dataclass(frozen=True)
class Asked:
    """A build as it is asked for: the project, the folder of its reference data, the site's folder,
    the day (None: the kitchen's today) and the options."""

    project: Path
    reference: Path
    target: Path
    as_of: datetime.date | None
    strict: bool
    offline: bool

    @property
    def words(self) -> str:
        """All of it, with the program and what it is made with."""
        outside = [f"{name}={os.environ.get(name)}" for name in _FROM_OUTSIDE]
        made_with = [f"{name} {_version(name)}" for name in _MADE_WITH]
        asked = (self.project, self.reference, self.target, self.as_of, self.strict, self.offline)
        return hash_of(program_hash(), *map(str, asked), *outside, *made_with)

    def inputs(self, pages: Path) -> Looked:
        """All files that go in, ``pages`` the folder of those written by hand. Raises Unsure."""
        return looked_at(*self._places(pages))

    def marks(self, pages: Path) -> Mapping[tuple[str, str], Mark]:
        """What the disk says of them. Raises Unsure."""
        return marks_of(*self._places(pages))

    def _places(self, pages: Path) -> tuple[dict[Path, tuple[str, ...]], list[Path]]:
        folders = {self.project / "standards": (_OFFICE,), pages: (), self.reference: ()}
        return folders, [self.project / "mkdocs.yml"]


@dataclass(frozen=True)
class Built:
    """A build that ended well: what was asked, the hash of what went in, the day and whose day it
    is, the folder of pages written by hand, what git said, and of which commits; what was ``said``
    (a log's name, its level, words), how many pages there are, and the site's files."""

    asked: str
    inputs: str
    day: str
    zone: str
    pages_folder: str
    git: str
    commits: list[str]
    said: list[tuple[str, int, str]]
    pages: int
    files: dict[str, Mark] = field(repr=False)
    left: str = ""
    """The hash of what is kept of its pages and files beside."""

    @classmethod
    def read(cls, data: bytes) -> Built:
        """One from its bytes. Raises ValueError for others."""
        try:
            found = cls(**json.loads(data))
            files = {name: (a, b, c, d) for name, (a, b, c, d) in found.files.items()}
            said = [(name, level, words) for name, level, words in found.said]
            return replace(found, files=files, said=said)
        except (TypeError, AttributeError) as error:
            raise ValueError(str(error)) from None

    @property
    def written(self) -> bytes:
        """Its bytes."""
        return json.dumps(asdict(self), separators=(",", ":")).encode()


class Last:
    """The last build of a site, as it is ``kept``, and the one that is made now."""

    def __init__(self, kept: Kept, asked: Asked) -> None:
        self._kept, self._asked = kept, asked
        self._key = hash_of("built", str(asked.project), str(asked.target))
        self._words = asked.words if kept.keeps else ""
        self.built = kept.there(self._key, Built.read) if kept.keeps else None
        self._before: tuple[Path, Looked] | None = None
        self._git = ""
        self._files: dict[str, Mark] = {}
        self._left = b""

    def unchanged(self) -> Built | None:
        """The last build, where this one would be the same in all it says and writes."""
        built = self.built
        if built is None or built.asked != self._words:
            return None
        if self._asked.as_of is None and built.day != _today(built.zone):
            return None
        with suppress(Unsure):
            pages = Path(built.pages_folder)
            inputs = self._asked.inputs(pages)
            self._before = pages, inputs
            same = (
                inputs.digest == built.inputs
                and git_word(self._asked.project, built.commits) == built.git
                and not being_made(self._asked.target)
                and not self._asked.target.is_symlink()
                and marks_below(self._asked.target) == built.files
            )
            return built if same else None
        return None

    def begins(self) -> None:
        """A whole build begins. What is kept of the last one is in use."""
        if not self._kept.keeps:
            return
        from generator.resolve.pictures import pages_folder  # where all is known it isn't asked for

        pages = pages_folder(self._asked.project)
        self._git = git_word(self._asked.project)
        if self._before is None or self._before[0] != pages:
            self._before = None
            with suppress(Unsure):
                self._before = pages, self._asked.inputs(pages)

    def configured(self, config: Any, pure: frozenset[str], alone: bool) -> None:
        """The site is built with this configuration: where its extensions aren't all ``pure``, it
        isn't the program ``alone`` that has a say, or it takes anything from elsewhere than the
        files looked at, nothing is kept."""
        if self._before is not None:
            same = Path(config.docs_dir).absolute() == self._before[0].absolute()
            if not (alone and same and all_known(config, pure)):
                self._before = None

    @property
    def can_tell(self) -> bool:
        """Whether it is known for sure what goes into this build."""
        return self._before is not None

    def left(self, read: Callable[[bytes], _T]) -> _T | None:
        """What the last build left beside, as ``read`` makes it of its bytes; None where there is
        none, or it is another build's."""

        def its_own(data: bytes) -> _T:
            if self.built is None or hash_of(data) != self.built.left:
                raise ValueError("of another build")
            return read(data)

        return self._kept.there(hash_of("left", self._key), its_own) if self.can_tell else None

    def made(self, site: Path, taken: Mapping[str, Mark], left: bytes) -> None:
        """The new ``site`` is written, and not yet in its place; it has ``taken`` files of the last
        one, and what is ``left`` of it is to be kept."""
        if self._before is not None:
            with suppress(Unsure):
                self._files, self._left = marks_below(site), left
                if not _the_same({n: self._files[n] for n in taken}, taken):
                    self._files = {}  # written over while it was taken

    def ended(
        self,
        day: datetime.date,
        zone: str,
        commits: Iterable[str],
        said: list[tuple[str, int, str]],
        pages: int,
    ) -> None:
        """The site is in its place: keep what this build said and left, if for sure nothing changed
        meanwhile."""
        if self._before is None or not self._files:
            return
        folder, before = self._before
        named = sorted(set(commits))
        project = self._asked.project
        with suppress(Unsure):
            files = marks_below(self._asked.target)
            if not _the_same(files, self._files) or self._asked.marks(folder) != before.marks:
                return
            git = git_word(project)
            if git != self._git:
                return
            built = Built(
                self._words,
                before.digest,
                day.isoformat(),
                zone,
                str(folder),
                git_word(project, named) if named else git,
                named,
                said,
                pages,
                files,
                hash_of(self._left),
            )
            self._kept.put(hash_of("left", self._key), self._left)
            self._kept.put(self._key, built.written)


def _the_same(files: Mapping[str, Mark], made: Mapping[str, Mark]) -> bool:
    """Whether files are those that were made: a file has another time of change once it lost or got
    another name, and is the same."""
    return files.keys() == made.keys() and all(files[n][:3] == made[n][:3] for n in files)


def _today(zone: str) -> str:
    return datetime.datetime.now(zoneinfo.ZoneInfo(zone)).date().isoformat()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


def all_known(config: Any, pure: frozenset[str]) -> bool:
    """Whether a configuration takes nothing from anywhere but the files looked at: its extensions
    are ``pure``, its settings are written in mkdocs.yml alone."""
    try:
        text = Path(config.config_file_path).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return False
    return pure.issuperset(config.markdown_extensions) and not _ELSEWHERE.search(text)

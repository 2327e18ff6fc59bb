"""The folder that ``serve`` builds into, as the last build left it: a page or a file that would be
written as it is already is left alone.

The builder empties the folder before each build, all but hidden names: what it holds is under one
while that is done.
"""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from generator.files.looked_at import mark_of
from generator.framing.saving import Digests
from generator.site.reloading import Reloading

_ASIDE = ".before"
_OURS = frozenset({"kitchen-manual", "material/search", "search"})
_MADE_OF_ANOTHER = ("sitemap.xml.gz",)
"""What the builder writes beside a template's file."""


class Laid(NamedTuple):
    """A page as it is laid out: the key of its layout, the marks in it, and what is put in for
    them."""

    key: str
    marks: tuple[str, ...]
    stamps: tuple[str | None, ...]


class Served:
    """What lies in the folder: the pages of ours, by their source, and the other files with what
    they were made of, by their address."""

    digests: Digests = MappingProxyType({})
    """The hashes of all files, once they are written."""

    @property
    def known(self) -> Digests:
        """The hashes of files that lie there: none is asked for while serving."""
        return {}

    def __init__(self, reloading: Reloading) -> None:
        self.pages: dict[str, Laid] = {}
        self.laid: dict[str, Laid] = {}
        """The pages of the build under way."""
        self.nav: Any = None
        self.reloading = reloading
        self._files: dict[str, object] = {}
        self._now: dict[str, object] = {}
        self._there: frozenset[str] = frozenset()
        self._was: frozenset[str] = frozenset()
        self._folder = ""
        self._left: frozenset[str] = frozenset()
        self._written: set[str] = set()

    def begun(self, folder: str, keeps: bool) -> None:
        """A build into ``folder`` begins, and the builder is about to empty it. It ``keeps`` what
        is there only where the last build was of this folder, and ended well."""
        self._was, self._there = self._there, frozenset()  # until this build ends well
        known = bool(self._was) and keeps and self._folder == folder
        self._folder = folder
        self.laid, self._now, self._left, self._written = {}, {}, frozenset(), set()
        aside = Path(folder) / _ASIDE
        shutil.rmtree(aside, ignore_errors=True)
        if known:
            with suppress(OSError):
                aside.mkdir()
                for entry in [one for one in Path(folder).iterdir() if one.name[0] != "."]:
                    entry.rename(aside / entry.name)
                return
        self._forget()
        shutil.rmtree(aside, ignore_errors=True)

    def emptied(self, files: Any, config: Any) -> None:
        """The builder has emptied the folder: what was there is there again. Of its ``files`` it
        writes those alone that aren't there yet."""
        if not self._folder:
            return
        aside = Path(self._folder) / _ASIDE
        try:
            for entry in list(aside.iterdir()):
                entry.rename(Path(self._folder) / entry.name)
            aside.rmdir()
        except OSError:
            self._forget()
            shutil.rmtree(aside, ignore_errors=True)
        self._sparing(files)

    def ready(self, page: Any) -> bool:
        """Whether a page that would be laid out as it was lies where it is to be."""
        return True

    def _sparing(self, files: Any) -> None:
        """Have the builder write those of its ``files`` alone that aren't there yet."""
        true = files.documentation_pages

        def documentation_pages(**asked: Any) -> Any:
            """Every page; of those to write, as the builder asks for them, none that is left."""
            pages = true(**asked)
            return [one for one in pages if one.src_uri not in self._left] if asked else pages

        files.documentation_pages = documentation_pages
        files.copy_static_files = partial(self._copy, files)

    def leave(self, pages: Iterable[Any]) -> None:
        """Have ``pages`` that lie there as they would be written now left so."""
        self._left = frozenset(self.reloading.left(pages))

    def _copy(self, files: Any, dirty: bool, *, inclusion: Callable[[Any], bool]) -> None:
        """Copy the files that aren't there yet."""
        for file in files:
            if not inclusion(file.inclusion):
                continue
            self._written.add(file.dest_uri)
            if not file.is_documentation_page() and not self._is_there(file):
                file.copy_file(dirty)

    def _is_there(self, file: Any) -> bool:
        """Whether a file that is no page lies there as it would be written now."""
        made = made_of(file)
        if made is not None:
            self._now[file.dest_uri] = made
        return made is not None and self._files.get(file.dest_uri) == made

    def ended(self, config: Any) -> None:
        """The build ended well: what else an earlier one wrote goes."""
        if not self._folder:
            return
        now = frozenset({*self._written, *templates_of(config)})
        for name in self._was - now:
            path = Path(self._folder) / name
            with suppress(OSError):
                path.unlink()
                _without_empty(path.parent, Path(self._folder))
        self.pages, self._files, self._there = self.laid, self._now, now

    def overwritten(self, name: str) -> None:
        """A file was written between two builds."""
        self._files.pop(name, None)

    def _forget(self) -> None:
        self.pages, self._files, self._was = {}, {}, frozenset()


def _without_empty(folder: Path, top: Path) -> None:
    """Take a folder away that holds nothing, and those above it that then hold nothing."""
    while folder != top:
        folder.rmdir()
        folder = folder.parent


def written_whole(path: Path, data: bytes) -> None:
    """Write a file of the served folder whole, so that no page is served in part."""
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.name}.new")
    aside.write_bytes(data)
    aside.replace(path)


def ours_alone(config: Any) -> bool:
    """Whether nobody else's plugin, hook or template has a say in a page."""
    return not (set(config.plugins) - _OURS or config.hooks or config.theme.custom_dir)


def unseen(config: Any) -> bool:
    """Whether nobody else looks at pages either, as the builder's own search does."""
    return ours_alone(config) and "search" not in config.plugins


def templates_of(config: Any) -> frozenset[str]:
    """What the builder makes of templates that are no page's."""
    names = (*config.theme.static_templates, *config.extra_templates, *_MADE_OF_ANOTHER)
    return frozenset(map(str, names))


def made_of(file: Any) -> str | None:
    """What tells a file's content from another: the hash of one that is made, what the disk says of
    one that is copied; None where nobody can say."""
    if file.abs_src_path is None:
        return hashlib.sha256(file.content_bytes).hexdigest()
    try:
        return f"{mark_of(Path(file.abs_src_path).stat())} {file.abs_src_path}"
    except OSError:
        return None


class Spared:
    """Events of the builder that only ``served`` asks for: before it empties the folder, and when
    the way through the manual is known."""

    served: Served
    serving = False

    @property
    def reloading(self) -> Reloading:
        """Which open pages are loaded again."""
        return self.served.reloading

    def on_pre_build(self, *, config: Any) -> None:
        """A build begins. A search that has to see each page is somebody else's."""
        if self.serving:
            self.served.begun(config.site_dir, unseen(config))

    def on_nav(self, nav: Any, *, config: Any, files: Any) -> None:
        """The way through the manual."""
        self.served.nav = nav

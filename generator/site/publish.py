"""Build the site aside, verify it, and swap it in whole; serve it with live reload."""

from __future__ import annotations

import datetime
import os
import re
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

from generator.files.disk import not_written
from generator.files.kept import NOTHING, kept_of
from generator.files.replacing import healed, is_ours, swapped_in
from generator.sheet.manual import Manual
from generator.site.drawn import PURE
from generator.site.linked import Left, Linked
from generator.site.owned import finish
from generator.site.served import ours_alone
from generator.site.unchanged import Last

MARK = ".kitchen-manual"
"""A file in every site built here, with the list of what the build wrote: only a folder that holds
it is ever replaced."""

_FETCHED = re.compile(
    r"""<(?:script|img|iframe|source|audio|video|embed|object)\b[^>]*?\b(?:src|data|srcset)\s*=\s*["']?(?:https?:)?//"""
    r"""|<link\b(?=[^>]*\brel=["']?(?:stylesheet|icon|preload|preconnect|dns-prefetch|manifest))[^>]*\bhref\s*=\s*["']?(?:https?:)?//"""
    r"""|@import\s+(?:url\()?["']?(?:https?:)?//|url\(\s*["']?(?:https?:)?//""",
    re.IGNORECASE,
)


class PublishError(Exception):
    """Why a site was not put in place; nothing was changed."""


def build_site(
    manual: Manual,
    out: Path,
    strict: bool,
    offline: bool = True,
    report: Callable[[str], None] = lambda words: None,
    last: Last | None = None,
) -> int:
    """Build ``manual`` into ``out``, which is replaced as a whole. Returns the number of pages.
    What is known of the ``last`` build learns of this one.

    Without ``offline`` no phone may save a copy, and those that did delete it on their next visit.
    Files that no build wrote are kept; ``report`` names them once, and what a killed build
    left. Raises PublishError if ``out`` holds something else, the build fails, or the built site
    lacks a page or would fetch anything from elsewhere; Refused if the disk doesn't take it, or a
    file kept has a page's name. ``out`` is then as it was.
    """
    try:
        for words in healed(out):
            report(words)
        return _built(manual, out, strict, offline, report, last)
    except OSError as error:
        raise not_written(out, error) from None


def _built(
    manual: Manual,
    out: Path,
    strict: bool,
    offline: bool,
    report: Callable[[str], None],
    last: Last | None,
) -> int:
    if out.is_symlink() or (out.exists() and not out.is_dir()):
        raise PublishError(f"{out} is not a folder. Name another with --out")
    if not is_ours(out, MARK):
        raise PublishError(
            f"{out} has files that are not a manual. Empty it or name another folder"
        )
    with swapped_in(out) as site:
        folders, linked = _mkdocs_build(manual, site, strict, offline, _before(out, last))
        verify(folders, site, linked.verified)
        kept = finish(out, site, MARK, "built by kitchen-manual; replaced at the next build")
        if last is not None:
            last.made(site, linked.taken, linked.left.written)
    if kept:
        report(kept)
    return len(folders)


def _before(out: Path, last: Last | None) -> Callable[[Any], Left]:
    """What is known, under a configuration, of what the last build left in a folder."""

    def found(config: Any) -> Left:
        if last is None:
            return Left()
        last.configured(config, PURE, ours_alone(config))
        left = last.left(Left.read)
        if left is None or last.built is None:
            return Left()
        return replace(left, folder=out, files=last.built.files)

    return found


def _config(project: Path, **overrides: Any) -> tuple[Any, Any]:
    """The project's MkDocs configuration, and our plugin in it."""
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
    from mkdocs.config import load_config
    from mkdocs.exceptions import ConfigurationError

    path = project / "mkdocs.yml"
    if not path.is_file():
        raise PublishError("there is no mkdocs.yml in this project")
    try:
        config = load_config(str(path), **overrides)
    except ConfigurationError as error:
        raise PublishError(f"mkdocs.yml can't be used: {error}") from None
    plugin = config.plugins.get("kitchen-manual")
    if plugin is None:
        raise PublishError("mkdocs.yml doesn't list the plugin kitchen-manual")
    return config, plugin


def _mkdocs_build(
    manual: Manual, site: Path, strict: bool, offline: bool, before: Callable[[Any], Left]
) -> tuple[list[str], Linked]:
    """Build ``manual`` into ``site``; ``before`` says what the last build left. Returns the folders
    of its pages, and what it took of the last one."""
    config, plugin = _config(manual.project, site_dir=str(site), strict=strict)
    serves, linked = plugin.served, Linked(before(config))
    from mkdocs.commands.build import build
    from mkdocs.exceptions import Abort, MkDocsException

    config.plugins.on_startup(command="build", dirty=False)
    plugin.given, plugin.offline, plugin.served = manual, offline, linked
    try:
        build(config)
        return [page.folder for page in plugin.pages.values()], linked
    except (Abort, MkDocsException) as error:
        raise PublishError(
            f"the site builder stopped: {str(error) or 'see its messages above'}"
        ) from None
    finally:
        plugin.given, plugin.served = None, serves  # MkDocs keeps the plugin for who serves next
        config.plugins.on_shutdown()


def verify(folders: Iterable[str], site: Path, known: Collection[str] = ()) -> None:
    """Check a built site: the pages of ``folders`` are there and nothing is fetched from elsewhere.
    Files that are ``known`` were looked through before.

    Raises PublishError.
    """
    for folder in folders:
        if not (site / folder / "index.html").is_file():
            raise PublishError(f"the page {folder or 'index'} is missing from the built site")
    for where in _texts(site, known):
        fetched = fetched_in((site / where).read_text(encoding="utf-8", errors="replace"))
        if fetched:
            raise PublishError(f"{where} would fetch from elsewhere: {fetched[:80]}")


def fetched_in(text: str) -> str:
    """What a page or a style sheet would fetch from elsewhere, as it is written; empty if nothing.

    An address elsewhere holds ``//``, and nothing that fetches one holds ``>``: only what is
    between two of those, and has the first in it, is looked at.
    """
    at = text.find("//")
    while at >= 0:
        end = text.find(">", at)
        end = end if end >= 0 else len(text)
        match = _FETCHED.search(text, text.rfind(">", 0, at) + 1, end)
        if match:
            return match[0]
        at = text.find("//", end)
    return ""


def _texts(site: Path, known: Collection[str]) -> Iterator[str]:
    """The pages and style sheets below a folder, but those ``known``."""
    for at, folders, names in os.walk(site):
        folders.sort()
        texts = [name for name in names if name.endswith((".html", ".css"))]
        inside = Path(at).relative_to(site).as_posix() if texts else ""
        places = (f"{inside}/{name}".removeprefix("./") for name in sorted(texts))
        yield from (place for place in places if place not in known)


def serve_site(
    project: Path, as_of: datetime.date | None, host: str, port: int, keeps: bool = True
) -> None:
    """Serve ``project`` with live reload until interrupted, with the dates of one day or, without
    ``as_of``, of each day as it comes. What didn't change is kept from build to build if it
    ``keeps``. Raises PublishError.

    It serves from a folder of its own; ``site`` is put right if a killed build left it missing.
    """
    from mkdocs.commands.serve import serve
    from mkdocs.exceptions import MkDocsException

    _, plugin = _config(project)
    with suppress(OSError):  # where it is read only: serving needs nothing there
        healed(project / "site")
    plugin.earlier.kept = kept_of(project, remembers=True) if keeps else NOTHING
    plugin.day = as_of  # MkDocs reads the configuration again, and keeps the plugin
    try:
        serve(str(project / "mkdocs.yml"), dev_addr=f"{host}:{port}", open_in_browser=False)
    except (MkDocsException, OSError) as error:
        raise PublishError(f"the site can't be served: {error}") from None
    finally:
        plugin.day = plugin.earlier.kept = None

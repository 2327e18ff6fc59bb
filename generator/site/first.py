"""The page of a formula that was saved is shown before the whole manual is built again.

A build of a large kitchen takes seconds, most of them for what one weight doesn't change. So the
formula that was saved is computed alone, with what it hangs together with, and its page is written
where ``serve`` has it; the build that follows makes everything true, this page too. Where anything
else was saved, or anything is wrong, nothing is done first.
"""

from __future__ import annotations

import datetime
import logging
import os
import threading
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from jinja2 import Environment, TemplateError, meta

from generator.changes.revisions import as_drafts, compared
from generator.measures.marks import written_with
from generator.measures.words import date
from generator.pages.changed import address_of
from generator.pages.escape import ENVIRONMENT
from generator.pages.finding import stopped_page
from generator.pages.formula import formula_page
from generator.pages.page import Page
from generator.sheet.edited import edited
from generator.sheet.manual import Broken, Manual
from generator.site.drawn import filled
from generator.site.papers import with_papers
from generator.site.seen import seen_file, with_seen
from generator.site.served import Served, ours_alone, written_whole

log = logging.getLogger("mkdocs.plugins.kitchen_manual")

_FORMULAS = "standards/formulas"
_Signature = tuple[int, int, int]


def signatures(folders: Iterable[str]) -> dict[str, _Signature]:
    """What tells each file below some folders from what it was: its place on the disk, its size,
    its time."""
    found: dict[str, _Signature] = {}
    waiting = list(folders)
    while waiting:
        with suppress(OSError), os.scandir(waiting.pop()) as entries:
            for entry in entries:
                if entry.is_dir(follow_symlinks=False):
                    waiting.append(entry.path)
                    continue
                one = entry.stat()
                found[entry.path] = one.st_ino, one.st_size, one.st_mtime_ns
    return found


def saved_formula(
    project: Path, before: Mapping[str, _Signature], now: Mapping[str, _Signature]
) -> str | None:
    """The id of the formula whose file was saved, if that is all that differs."""
    if before.keys() != now.keys():
        return None
    saved = [path for path, one in now.items() if before[path] != one]
    path = Path(saved[0]) if len(saved) == 1 else None
    mine = path is not None and path.parent == project / _FORMULAS and path.suffix == ".yaml"
    return path.stem if path is not None and mine else None


def first_page(
    manual: Manual,
    ident: str,
    day: datetime.date | None,
    seen: Mapping[str, tuple[str, bytes]],
) -> tuple[Page, tuple[str, bytes] | None] | None:
    """The page of a formula that was saved, and its file of facts (``seen`` are those of all) if it
    has one, on a ``day`` or, without, on the kitchen's today; None where that is for the whole
    build to say, or what other pages show of it changed with it."""
    before = _place_of(manual, ident)
    found = edited(manual, ident, day)
    if found is None or before is None:
        return None
    if ident in found.stopped:
        stopped = found.stopped[ident]
        stopped = replace(stopped, station=stopped.station or before[1])
        found = replace(found, stopped={ident: stopped})
        page = stopped_page(stopped)
        return (page, None) if _place_of(found, ident) == before else None
    control = compared(found, {ident})
    if control.unknown or _place_of(found, ident) != before:
        return None
    found = as_drafts(found, control)
    with written_with(manual.writing):
        facts = seen_file(found, found.sheets[ident], date(manual.as_of))
    (page,) = with_papers(manual, [formula_page(found, ident)])
    about = {**seen, address_of(found.sheets[ident]): facts}
    (page,) = with_seen([page], about, manual.keeping.kept)
    return page, facts


def _place_of(manual: Manual, ident: str) -> tuple[str, str] | None:
    """What a formula is called, and the station it is at."""
    sheet, stopped = manual.sheets.get(ident), manual.stopped.get(ident)
    if sheet is not None:
        return sheet.name, sheet.formula.formula.home
    return (stopped.name, stopped.station) if stopped is not None else None


@dataclass(frozen=True)
class Laid:
    """How the last build laid pages out: its configuration and files, the way through it, where
    templates come from, and the builder's own function for what a template is shown."""

    config: Any
    files: Any
    nav: Any
    env: Any
    context: Callable[..., Any]

    def page(self, uri: str) -> Any:
        """The builder's page of a source; None if there is none."""
        file = self.files.get_file_from_path(uri)
        return file.page if file is not None else None

    def html(self, page: Any) -> str:
        """A page laid out, as the builder does it."""
        page.active = True
        try:
            shown = self.context(self.nav, self.files.documentation_pages(), self.config, page)
            template = self.env.get_template(page.meta.get("template", "main.html"))
            return str(template.render(shown))
        finally:
            page.active = False


class ShowsFirst:
    """Shows the page of a formula that was saved before the whole is built. What else it asks of
    the plugin is that of the last build."""

    project: Path
    manual: Manual | Broken | None
    seen: dict[str, tuple[str, bytes]]
    served: Served
    serving: bool
    laid: Laid | None = None
    _folders: tuple[str, ...] = ()
    _before: Mapping[str, _Signature] = MappingProxyType({})

    def _day(self) -> datetime.date | None:
        raise NotImplementedError

    def begun(self, folders: Iterable[str]) -> None:
        """A build begins, of what lies in some folders now."""
        self.laid = None
        if self.serving:
            self._folders = tuple(folders)
            self._before = signatures(self._folders)

    def laid_out(self, laid: Laid) -> None:
        """A build is about to lay its pages out."""
        self.laid = laid if self.serving and ours_alone(laid.config) else None

    def after_first(self, server: Any) -> Any:
        """MkDocs's live-reload ``server``, building after one page is shown, where open pages can
        be told of it."""
        if self.served.reloading.answers and hasattr(server, "builder"):
            server.builder = partial(self.built_after_first, server.builder)
            threading.Thread(target=self.ready, daemon=True).start()
        return server

    def ready(self) -> None:
        """Have the templates of a formula's page compiled before they are asked for: where all
        pages were kept from an earlier run, the first edit would wait for that."""
        compiled(ENVIRONMENT, "formula.html")
        if (laid := self.laid) is not None:  # a build may begin meanwhile
            compiled(laid.env, "main.html")

    def built_after_first(self, build: Callable[[], None]) -> None:
        """Show the page of a formula that was saved, if that is all; then build."""
        try:
            self.show_first()
        except Exception as error:  # the build that follows says what is wrong
            log.debug(f"Nothing is shown first: {error}")
        build()

    def show_first(self) -> bool:
        """Write the page of the formula that was saved, if nothing else was. Returns whether it
        did."""
        if self.laid is None or not isinstance(self.manual, Manual):
            return False
        ident = saved_formula(self.project, self._before, signatures(self._folders))
        made = first_page(self.manual, ident, self._day(), self.seen) if ident else None
        page = self.laid.page(made[0].uri) if made is not None else None
        if made is None or page is None:
            return False
        known, facts = made
        filled(page, known)
        page.content = known.html
        html, folder = self.laid.html(page), Path(self.laid.config.site_dir)
        page.content = ""
        if facts is not None:
            name = facts[0].partition("?")[0]
            self.served.overwritten(name)
            written_whole(folder / name, facts[1])
        written_whole(folder / page.file.dest_uri, html.encode("utf-8", "xmlcharrefreplace"))
        self.served.reloading.first(page.url, html)
        log.info(f"{known.title} is shown as it was saved.")
        return True


def compiled(environment: Environment, name: str) -> None:
    """Have a template compiled, and those it refers to by name."""
    loader, waiting, known = environment.loader, [name], set[str]()
    while waiting and loader is not None:
        one = waiting.pop()
        if one in known:
            continue
        known.add(one)
        with suppress(TemplateError):
            environment.get_template(one)
            source = loader.get_source(environment, one)[0]
            found = meta.find_referenced_templates(environment.parse(source))
            waiting += [ref for ref in found if ref is not None]

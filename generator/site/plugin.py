"""The MkDocs plugin: hooks only. It asks the pipeline for the pages and hands them over."""

from __future__ import annotations

import logging
from datetime import date
from os.path import relpath
from pathlib import Path
from typing import Any

from mkdocs.commands.build import get_context
from mkdocs.config import base, config_options
from mkdocs.exceptions import Abort
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files, InclusionLevel

from generator.framing import Mode, Written, make_frame
from generator.framing.hosts import guarded
from generator.framing.saving import finish
from generator.pages.fault import fault_pages
from generator.pages.finding import in_place
from generator.pages.navigation import navigation
from generator.pages.page import Page
from generator.sheet.manual import Broken, Manual
from generator.site.drawn import Drawn, LaysOneByOne, text_of
from generator.site.earlier import Earlier, keeping_of, kept_with
from generator.site.first import Laid, ShowsFirst
from generator.site.layouts import laid_once
from generator.site.papers import make_site_pages
from generator.site.reloading import Reloading
from generator.site.seen import seen_files, with_seen
from generator.site.served import Served, Spared, unseen
from generator.site.settings import (
    THEME_NAME,
    kept_inside,
    make_room,
    report,
    settle,
    tidy,
    watched,
    written_by_hand,
    written_pages,
)
from generator.site.theming import quickened

log = logging.getLogger("mkdocs.plugins.kitchen_manual")


class Options(base.Config):
    """``as_of``: the day to work out dates for, year-month-day; today if empty. ``offline``: may a
    phone save the manual? Without, phones that did delete their copy."""

    as_of = config_options.Type(str, default="")
    offline = config_options.Type(bool, default=True)


class KitchenManual(ShowsFirst, LaysOneByOne, Spared, BasePlugin[Options]):
    """Puts the computed manual into a MkDocs site; nothing is written into the tree."""

    strict = owns_nav = False
    manual: Manual | Broken | None = None
    given: Manual | None = None
    """A manual that is computed already, to build from."""
    day: date | None = None
    offline = True
    """What a command asks for; ``day`` goes before ``as_of``."""

    def __init__(self) -> None:
        self.earlier = Earlier()
        self.stations: dict[str, str] = {}
        self.seen: dict[str, tuple[str, bytes]] = {}
        self.served = Served(Reloading())

    def on_startup(self, *, command: str, dirty: bool) -> None:
        self.serving = command == "serve"

    def on_config(self, config: Any) -> Any:
        self.project = Path(config.config_file_path).resolve().parent
        self.owns_nav = config.nav is None  # MkDocs keeps a plugin from build to build
        self.strict = bool(config.strict)
        wanted = self.offline and self.config["offline"]
        self.mode: Mode = "served" if self.serving else "saved" if wanted else "unsaved"
        if config.theme.name != THEME_NAME:
            raise Abort(
                f"mkdocs.yml: write `theme: {{name: {THEME_NAME}}}`, not {config.theme.name}"
            )
        settle(config, log)
        self.begun([*watched(self.project), config.docs_dir])
        quickened(config.theme)
        self.pages = {page.uri: page for page in self._pages()}
        self.drawn = Drawn(self.pages, kept_with(self.manual), at_once=not unseen(config))
        self.written = list[Written]()
        return config

    def _pages(self) -> list[Page]:
        """The pages, or the reason why there are none: a build stops, ``serve`` shows it. An
        exception while serving would hang every request, so it becomes a page."""
        try:
            made = self.given or self.earlier.manual(self.project, self._day(), self.serving)
            self.manual = in_place(made, self.stations)
            if stopped := report(self.manual, log, strict=self.strict, serving=self.serving):
                raise Abort(stopped)
            pages = make_site_pages(self.manual)
            self.seen = seen_files(self.manual) if isinstance(self.manual, Manual) else {}
            return with_seen(pages, self.seen, kept_with(self.manual))
        except Exception as error:
            if not self.serving:
                raise
            log.exception("The manual can't be made")
            self.manual = None
            return fault_pages(error)

    def _day(self) -> date | None:
        """The day asked for; None for the kitchen's today."""
        day = self.config["as_of"]
        try:
            return self.day or (date.fromisoformat(day) if day else None)
        except ValueError:
            raise Abort(f"mkdocs.yml: as_of: {day} is not a date; write year-month-day.") from None

    def on_files(self, files: Files, *, config: Any) -> Files:
        self.served.emptied(files, config)
        own = [File.generated(config, p.uri, content=text_of(p)) for p in self.pages.values()]
        make_room(files, {file.dest_uri for file in own}, log)
        roots = (self.project, Path(config.docs_dir))
        for old, data in kept_inside(files, roots, log, None if self.serving else Abort):
            files.remove(old)
            files.append(File.generated(config, old.src_uri, content=data, inclusion=old.inclusion))
        for file in (written := written_pages(files, serving=self.serving)):
            file.edit_uri = f"{relpath(config.docs_dir, self.project)}/{file.src_uri}"
        for file, ours in zip(own, self.pages.values(), strict=True):
            file.edit_uri = ours.edit
            file.inclusion = InclusionLevel.UNDEFINED if ours.listed else InclusionLevel.NOT_IN_NAV
            files.append(file)
        self.count = len(own) + len(written)
        if self.owns_nav:
            house = self.manual.house if isinstance(self.manual, Manual) else None
            config.nav = navigation(self.pages.values(), house, [f.src_uri for f in written])
        return files

    def on_pre_page(self, page: Any, *, config: Any, files: Files) -> Any:
        return self.drawn.taken(page, config, files)

    def on_page_content(self, html: str, *, page: Any, config: Any, files: Files) -> str:
        known = self.pages.get(page.file.src_uri)
        tidy(page, self.manual, known is None, self.count)
        if known is None:
            self.written.append(written_by_hand(page, html, log, keeping_of(self.manual)))
            return html
        return self.drawn.content(page, known)

    def on_env(self, env: Any, *, config: Any, files: Files) -> Any:
        """All pages are known and none is laid out yet: the files round them are made here."""
        about = (self.manual, self.pages.values(), self.written)
        frame = make_frame(config.theme.dirs, *about, config.site_name, self.mode)
        env.globals["ks"] = frame
        pages = (f.page for f in files.documentation_pages() if f.src_uri in self.pages)
        laid_once(env, config, frame, kept_with(self.manual), self.served, pages)
        facts = {path.partition("?")[0]: data for path, data in self.seen.values()}
        for name, data in {**frame.files, **facts}.items():
            files.append(File.generated(config, name, content=data))
        self.laid_out(Laid(config, files, self.served.nav, env, get_context))
        return env

    def on_post_build(self, *, config: Any) -> None:
        self.served.ended(config)
        self.reloading.built(isinstance(self.manual, Manual))
        about = (self.manual, self.mode, self.served.known)
        self.served.digests = finish(Path(config.site_dir), *about)
        self.earlier.done(log)

    def on_serve(self, server: Any, *, config: Any, builder: Any) -> Any:
        for folder in watched(self.project):
            server.watch(folder)
        server.set_app(guarded(self.reloading.answering(server), config.dev_addr.host))
        return self.after_first(server)

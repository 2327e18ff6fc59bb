"""The MkDocs plugin: hooks only. It asks the pipeline for the pages and hands them over."""

from __future__ import annotations

import logging
from datetime import date
from os.path import relpath
from pathlib import Path
from typing import Any

from mkdocs.config import base, config_options
from mkdocs.exceptions import Abort
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.toc import AnchorLink, TableOfContents

from generator.binder.papers import make_pages
from generator.finding import as_text, total_words
from generator.manual import Manual, make_manual
from generator.pages import ASSETS, ON_DEMAND, STATIC
from generator.pages.escape import escape
from generator.pages.fault import fault_pages
from generator.pages.finding import in_place
from generator.pages.navigation import navigation
from generator.pages.page import Heading, Page

log = logging.getLogger("mkdocs.plugins.kitchen_manual")
THEME = Path(__file__).resolve().parent / "theme"


class Options(base.Config):
    """``as_of``: the day to work out dates for, year-month-day; today if empty."""

    as_of = config_options.Type(str, default="")


class KitchenManual(BasePlugin[Options]):
    """Puts the computed manual into a MkDocs site; nothing is written into the tree."""

    serving = strict = owns_nav = False
    manual: Manual | None = None
    given: Manual | None = None
    """A manual that is computed already, to build from."""
    day: date | None = None
    """The day a command asks for; it goes before ``as_of``."""

    def __init__(self) -> None:
        self.stations: dict[str, str] = {}

    def on_startup(self, *, command: str, dirty: bool) -> None:
        self.serving = command == "serve"

    def on_config(self, config: Any) -> Any:
        self.project = Path(config.config_file_path).resolve().parent
        self.owns_nav = config.nav is None  # MkDocs keeps a plugin from build to build
        self.strict = bool(config.strict)
        if not config.use_directory_urls:
            log.warning("mkdocs.yml: use_directory_urls: links need true; taken as true.")
            config.use_directory_urls = True
        self.pages = {page.uri: page for page in self._pages()}
        if str(THEME) not in config.theme.dirs:
            config.theme.dirs.insert(0, str(THEME))
        if "assets/manual.css" not in config.extra_css:
            config.extra_css.append("assets/manual.css")
            config.extra_javascript.extend(f"assets/{a}" for a in ASSETS if a.endswith(".js"))
        return config

    def _pages(self) -> list[Page]:
        """The pages, or the reason why there are none: a build stops, ``serve`` shows it.

        An exception while serving would hang every request, so it becomes a page.
        """
        try:
            made = self.given or make_manual(self.project, self._day())
            self.manual = in_place(made, self.stations)
            self._report(self.manual)
            return make_pages(self.manual)
        except Exception as error:
            if not self.serving:
                raise
            log.exception("The manual can't be made")
            self.manual = None
            return fault_pages(error)

    def _day(self) -> date:
        day = self.config["as_of"]
        try:
            return self.day or (date.fromisoformat(day) if day else date.today())
        except ValueError:
            raise Abort(f"mkdocs.yml: as_of: {day} is not a date; write year-month-day.") from None

    def _report(self, manual: Manual) -> None:
        """Findings to the log: errors, and under ``strict`` warnings (which ``-q`` would hide from
        MkDocs' own count), stop a build before anything is written."""
        told = [f for f in manual.findings if f.severity != "note"]
        if (manual.errors or (told and self.strict)) and not self.serving:
            for finding in manual.findings:
                log.error(as_text(finding))
            raise Abort(f"Nothing built: {total_words(manual.findings)}.")
        for finding in told:
            log.log(logging.INFO if self.serving else logging.WARNING, as_text(finding))

    def on_files(self, files: Files, *, config: Any) -> Files:
        own = [File.generated(config, p.uri, content=p.text) for p in self.pages.values()]
        places = {file.dest_uri for file in own}
        for other in [file for file in files if file.dest_uri in places]:
            log.warning(f"{other.src_uri}: the manual puts a page of its own there; rename yours.")
            files.remove(other)
        for file in (written := [f for f in files if f.is_documentation_page()]):
            file.edit_uri = f"{relpath(config.docs_dir, self.project)}/{file.src_uri}"
        for file, ours in zip(own, self.pages.values(), strict=True):
            file.edit_uri = ours.edit
            file.inclusion = InclusionLevel.UNDEFINED if ours.listed else InclusionLevel.NOT_IN_NAV
            files.append(file)
        for name in (*ASSETS, *ON_DEMAND):
            files.append(File.generated(config, f"assets/{name}", abs_src_path=str(STATIC / name)))
        if self.owns_nav:
            house = self.manual.house if self.manual is not None else None
            config.nav = navigation(self.pages.values(), house, [f.src_uri for f in written])
        return files

    def on_page_markdown(self, markdown: str, *, page: Any, config: Any, files: Files) -> str:
        """A page of ours is HTML already: sending it through Markdown takes a third of a build."""
        return "" if page.file.src_uri in self.pages else markdown

    def on_page_content(self, html: str, *, page: Any, config: Any, files: Files) -> str:
        known = self.pages.get(page.file.src_uri)
        if known is None:
            return html
        page.present_anchor_ids = known.ids
        if known.headings:
            page.toc = TableOfContents([_anchor(h) for h in known.headings])
        return known.html

    def on_serve(self, server: Any, *, config: Any, builder: Any) -> Any:
        for folder in ("standards", "shared"):
            if (self.project / folder).is_dir():
                server.watch(str(self.project / folder))
        return server


def _anchor(heading: Heading) -> AnchorLink:
    """A line of "On this page": its number, its words, the limits there. The theme prints it raw."""
    chips = "".join(
        f' <span class="ks-chip"><b>{escape(chip.figure)}</b> {escape(chip.words)}</span>'
        for chip in heading.chips
    )
    number = f'<span class="ks-toc-no">{escape(heading.number)}</span> '
    return AnchorLink(f"{number}<span>{escape(heading.title)}{chips}</span>", heading.id, 2)

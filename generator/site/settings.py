"""What the site's configuration has to say whatever ``mkdocs.yml`` says, and what its log is
reported."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any

from generator.files.finding import Refused, texts, total_words, visible, visible_lines
from generator.files.kept import hash_of
from generator.files.progress import told
from generator.framing import REPLACED, THEME, Written
from generator.framing.policy import refused_in
from generator.framing.written import title_of
from generator.pages import ASSETS
from generator.resolve.pictures import leads_out, published
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual

TAKEN = "the manual has its own page there. Rename yours."
"""What is reported of a page written by hand at an address of ours."""

THEME_NAME = "material"
_MOST_BOOST = 1000
LEADS_OUT = "is a link out of the project. Copy the file into it."


class Visible(logging.Filter):
    """What the builder logs with what can't be seen written out: names of files and addresses asked
    for never steer a terminal."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = visible_lines(record.getMessage()), ()
        return True

    @classmethod
    def everywhere(cls) -> None:
        """Put it on every logger of the builder, once."""
        for name in [n for n in logging.root.manager.loggerDict if n.split(".")[0] == "mkdocs"]:
            logger = logging.getLogger(name)
            if not any(isinstance(held, cls) for held in logger.filters):
                logger.addFilter(cls())


def settle(config: Any, log: logging.Logger) -> None:
    """Set it in a MkDocs configuration; what it said otherwise is reported."""
    Visible.everywhere()
    if not config.use_directory_urls:
        log.warning("mkdocs.yml: use_directory_urls: links need true; taken as true.")
        config.use_directory_urls = True
    if str(THEME) not in config.theme.dirs:
        config.theme.dirs.insert(0, str(THEME))
    for script in (f"assets/{name}" for name in ASSETS if name.endswith(".js")):
        if not any(str(known) == script for known in config.extra_javascript):
            config.extra_javascript.append(script)
    # Columns are aligned by an attribute: the policy refuses a style written into a page.
    config.mdx_configs.setdefault("tables", {})["use_align_attribute"] = True
    if (builders := config.plugins.get("material/search")) is not None:
        builders.config.enabled = False  # its index is large, and no misspelling finds anything


def report(manual: Manual | Broken, log: logging.Logger, *, strict: bool, serving: bool) -> str:
    """Findings to the log. Returns why a build has to stop before anything is written, if it has
    to: errors, no formula at all, and under ``strict`` warnings (which ``-q`` would hide from
    MkDocs' own count)."""
    reported = [f for f in manual.findings if f.severity != "note"]
    if (manual.errors or manual.is_empty or (reported and strict)) and not serving:
        for _, text in texts(manual.findings):
            log.error(text)
        return f"Nothing built: {total_words(manual.findings)}."
    for _, text in texts(reported):
        log.log(logging.INFO if serving else logging.WARNING, text)
    return ""


def tidy(page: Any, manual: Manual | Broken | None, by_hand: bool, pages: int) -> None:
    """A page's day, which is the manual's, and the title of one written by hand as text; told as
    one more of so many pages."""
    told("Laying out pages", None, pages)
    if manual is not None:
        page.update_date = manual.as_of.isoformat()
    if by_hand:
        page.title = title_of(page.title)
        if "title" in page.meta:
            page.meta["title"] = page.title


def written_by_hand(page: Any, html: str, log: logging.Logger, keeping: Keeping) -> Written:
    """A page written by hand, for the search and for the frame; what it holds that is refused, to
    the log."""
    weight = weight_of(page, log)
    warn_refused(page.file.src_uri, html, log, keeping)
    return page.file.url.removeprefix("./"), page.title or "", html, weight


def watched(project: Path) -> list[str]:
    """The folders of a project that ``serve`` looks at for changes, beside the pages."""
    folders = (project / name for name in ("standards", "shared"))
    return [str(folder) for folder in folders if folder.is_dir()]


def warn_refused(name: str, html: str, log: logging.Logger, keeping: Keeping) -> None:
    """What the site's policy refuses in a page written by hand, to the log: looked for once while
    its HTML is the same."""

    for what in keeping.tabled("refused", hash_of(html), lambda: list(refused_in(html))):
        log.warning(f"{name}: {what} is refused by the site's security policy.")


def weight_of(page: Any, log: logging.Logger) -> float:
    """The weight in the search that a page written by hand asks for, as `search: {boost: 0.1}`
    above its text; 1 if it says none. A weight that is no number above zero is warned of, and
    is 1."""
    search = page.meta.get("search")
    asked = search.get("boost", 1) if isinstance(search, dict) else 1
    if isinstance(asked, int | float) and not isinstance(asked, bool) and 0 < asked < _MOST_BOOST:
        return asked
    log.warning(
        f"{page.file.src_uri}: search: boost: {asked} is no number above 0 and below {_MOST_BOOST}."
    )
    return 1


def written_pages(files: Any, *, serving: bool) -> list[Any]:
    """The pages written by hand that are shown: a draft only while ``serving``."""
    pages = [f for f in files if f.is_documentation_page()]
    if serving:
        return [f for f in pages if f.inclusion.is_in_serve()]
    return [f for f in pages if f.inclusion.is_included()]


def make_room(files: Any, places: set[str], log: logging.Logger) -> None:
    """Take the builder's files out where pages of ours go, and those that ours replace."""
    for other in [f for f in files if f.dest_uri in places or f.src_uri.startswith(REPLACED)]:
        if other.dest_uri in places:
            log.warning(f"{other.src_uri}: {TAKEN}")
        files.remove(other)


def kept_inside(
    files: Any, roots: tuple[Path, ...], log: logging.Logger, stop: type[Exception] | None
) -> list[tuple[Any, bytes]]:
    """The pictures among a site's files, each with its dots alone.

    A file that lies outside ``roots`` and a picture that can't be published ``stop`` the build;
    without it, while serving, they are logged and taken out.
    """
    found: list[tuple[Any, bytes]] = []
    for file in [f for f in files if f.abs_src_path and str(f.src_dir) == str(roots[-1])]:
        source = Path(file.abs_src_path)
        try:
            if leads_out(source, roots):
                raise Refused("link-outside", f"{visible(file.src_uri)} {LEADS_OUT}")
            if file.inclusion.is_excluded():
                continue
            if (data := published(source, file.src_uri)) is not None:
                found.append((file, data))
        except Refused as refused:
            if stop is not None:
                raise stop(refused.message) from None
            log.error(refused.message)
            files.remove(file)
    return found

"""Pages as they are laid out, kept from build to build: what a page's frame shows of others is the
way through the manual and the stamps of its files.

A stamp changes whenever a word of the search does, so pages are laid out with marks in place of
stamps, and the stamps are put in behind that, whether a layout was kept or made.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from importlib.metadata import version
from typing import Any

from generator.files.kept import Kept, hash_of, program_hash
from generator.framing import Frame
from generator.framing.sharding import FOLDER
from generator.site.served import Laid, Served, ours_alone
from generator.site.unchanged import BUILDERS

_LAID = "main.html"
_MARK = re.compile(r"\?-ks-([0-9a-f]{40})-")


class _Marked(Frame):
    """A frame that gives marks for stamps, and is the same else."""

    def stamped(self, path: object) -> str:
        name = str(path)
        return f"{name}?-ks-{_mark(name)}-" if name in self.files else name


def _mark(name: str) -> str:
    return hash_of("stamp", name)[:40]


class Layouts:
    """How the pages of one build are laid out: with what is kept, in a frame, under a
    configuration."""

    def __init__(self, config: Any, frame: Frame, kept: Kept) -> None:
        self.kept = kept
        # A language's words are in a file of its own; a page names the language and the file alone.
        tongues = [f"{one.code} {one.name} {one.file}" for one in frame.tongues]
        round_it = [frame.policy, str(frame.saving), *tongues, repr(frame.stations)]
        round_it += sorted(n for n in frame.files if not n.startswith(FOLDER))
        self._base = hash_of("layout", settings_of(config), *round_it)
        self.marked = _Marked(
            frame.files, frame.policy, frame.saving, frame.tongues, frame.stations
        )
        self._stamps = {
            _mark(name): f"?{frame.stamped(name).partition('?')[2]}" for name in frame.files
        }
        self._way: _Way | None = None

    def key(self, page: Any, nav: Any) -> str:
        """The key of the layout of a page."""
        if self._way is None or self._way.nav is not nav:
            self._way = _Way(nav)
        ours = getattr(page, "body", None)
        of_it = ours.digest if ours is not None else hash_of(page.content or "")
        return hash_of(self._base, self._way.at(page), _of_page(page), of_it)

    def laid(self, key: str, html: str) -> Laid:
        """What tells a page that is laid out so from any other."""
        marks = tuple(sorted(set(_MARK.findall(html))))
        return Laid(key, marks, self._put_in(marks))

    def is_as(self, laid: Laid, key: str) -> bool:
        """Whether a page of this key would be as one that was laid out before."""
        return laid.key == key and laid.stamps == self._put_in(laid.marks)

    def left(self, pages: Iterable[Any], served: Served) -> Iterator[Any]:
        """The pages that lie in the served folder as they would be laid out now."""
        for page in pages if served.pages else ():
            known, key = served.pages.get(page.file.src_uri), self.key(page, served.nav)
            if known is not None and self.is_as(known, key) and served.ready(page):
                self.kept.still(key)
                served.laid[page.file.src_uri] = known
                yield page

    def _put_in(self, marks: tuple[str, ...]) -> tuple[str | None, ...]:
        return tuple(self._stamps.get(mark) for mark in marks)

    def stamped(self, html: str) -> str:
        """A layout with the stamps in place of their marks."""
        return _MARK.sub(lambda found: self._stamps.get(found[1], found[0]), html)


class _Template:
    """The template that lays a page out."""

    def __init__(self, template: Any, layouts: Layouts, seen: dict[str, Laid]) -> None:
        self._template, self._layouts, self._seen = template, layouts, seen

    def __getattr__(self, name: str) -> Any:
        """What a template that extends this one asks of it."""
        return getattr(self._template, name)

    def render(self, context: Mapping[str, Any]) -> str:
        layouts = self._layouts
        given = {**context, "ks": layouts.marked}
        page, nav = context.get("page"), context["nav"]
        key = layouts.key(page, nav) if page is not None else ""
        html = layouts.kept.of(key, lambda: self._template.render(given), str.encode, bytes.decode)
        if page is not None:
            self._seen[page.file.src_uri] = layouts.laid(key, html)
        return layouts.stamped(html)


def kept_layouts(
    get_template: Callable[..., Any], layouts: Layouts, seen: dict[str, Laid]
) -> Callable[..., Any]:
    """How MkDocs gets a template, with that of pages laying out no page twice; each page laid out
    goes to ``seen``, by its source."""
    laid: dict[int, _Template] = {}

    def found(name: str, *more: Any, **named: Any) -> Any:
        template = get_template(name, *more, **named)
        if name != _LAID:
            return template
        if id(template) not in laid:  # asked for once a page, and the same for all of them
            laid[id(template)] = _Template(template, layouts, seen)
        return laid[id(template)]

    return found


def laid_once(
    env: Any, config: Any, frame: Frame, kept: Kept, served: Served, pages: Iterable[Any]
) -> None:
    """Have MkDocs's ``env`` lay no page twice, and those of our ``pages`` not at all that lie in
    the ``served`` folder as they would be. Where nothing is kept, or anybody else's plugin, hook or
    template has a say, each is laid out as ever."""
    if ours_alone(config) and kept.keeps:
        layouts = Layouts(config, frame, kept)
        env.get_template = kept_layouts(env.get_template, layouts, served.laid)
        served.leave(layouts.left(pages, served))


def settings_of(config: Any) -> str:
    """The program, what it builds with, and all that the configuration says but where the site goes
    and in which mode it is made."""
    versions = [program_hash(), *(f"{name} {version(name)}" for name in BUILDERS)]
    said = {k: v for k, v in config.items() if k not in ("site_dir", "plugins", "theme", "nav")}
    theme = {key: config.theme[key] for key in config.theme}
    return json.dumps([versions, said, theme, config.theme.dirs], default=str, sort_keys=True)


class _Way:
    """The way through the manual as each page shows it: every section, and what is in the ones the
    page is in (``partials/nav.html``). What is in a section is hashed once for all its pages."""

    def __init__(self, nav: Any) -> None:
        self.nav = nav
        home = nav.homepage.url if nav.homepage else None
        self._top = hash_of(json.dumps([home, _entries(nav.items)], default=str))
        self._within: dict[int, str] = {}

    def at(self, page: Any) -> str:
        """A hash of what a page shows of it."""
        return hash_of(self._top, *(self._in(section) for section in page.ancestors))

    def _in(self, section: Any) -> str:
        known = self._within.get(id(section))
        if known is None:
            known = hash_of(json.dumps(_entries(section.children or ()), default=str))
            self._within[id(section)] = known
        return known


def _entries(items: Any) -> list[Any]:
    """The lines of a section: each with its title, where it leads, whether it is the section's own
    page, whether it holds more."""
    return [
        [item.title, _first_of(item), bool(getattr(item, "is_index", False)), bool(item.children)]
        for item in items
    ]


def _first_of(item: Any) -> Any:
    """Where a line leads: a section to the first page in it."""
    while item.children:
        item = item.children[0]
    return getattr(item, "url", None)


def _of_page(page: Any) -> str:
    """All a page has to show beside its words: where it is, what is on it."""

    def of(item: Any) -> list[Any]:
        return [item.title, item.url, item.level, [of(one) for one in item.children]]

    facts = [
        page.url,
        page.file.src_uri,
        page.title,
        page.meta,
        page.canonical_url,
        page.edit_url,
        page.is_homepage,
        page.is_index,
        [[one.title, getattr(one, "url", None)] for one in page.ancestors],
        [one and one.url for one in (page.previous_page, page.next_page)],
        [of(item) for item in page.toc],
        getattr(page, "update_date", ""),
    ]
    return json.dumps(facts, default=str, sort_keys=True)

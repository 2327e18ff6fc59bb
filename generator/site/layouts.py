"""Pages as they are laid out, kept from build to build: what a page's frame shows of others is the
way through the manual and the stamps of its files.

A stamp changes whenever a word of the search does, so pages are laid out with marks in place of
stamps, and the stamps are put in behind that, whether a layout was kept or made.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from importlib.metadata import version
from typing import Any

from generator.files.kept import Kept, hash_of
from generator.framing import Frame
from generator.framing.sharding import FOLDER
from generator.sheet.inputs import program_hash

_LAID = "main.html"
_BUILDERS = ("mkdocs", "mkdocs-material", "markdown", "jinja2")
_OURS = frozenset({"kitchen-manual", "material/search", "search"})
_MARK = re.compile(r"\?-ks-([0-9a-f]{40})-")


class _Marked(Frame):
    """A frame that gives marks for stamps, and is the same else."""

    def stamped(self, path: object) -> str:
        name = str(path)
        return f"{name}?-ks-{_mark(name)}-" if name in self.files else name


def _mark(name: str) -> str:
    return hash_of("stamp", name)[:40]


class _Laid:
    """The template that lays a page out."""

    def __init__(self, template: Any, frame: Frame, kept: Kept, base: str) -> None:
        self._template, self._kept, self._base = template, kept, base
        self._marked = _Marked(
            frame.files, frame.policy, frame.saving, frame.tongues, frame.stations
        )
        self._stamps = {
            _mark(name): f"?{frame.stamped(name).partition('?')[2]}" for name in frame.files
        }
        self._way: tuple[Any, str] = (None, "")

    def __getattr__(self, name: str) -> Any:
        """What a template that extends this one asks of it."""
        return getattr(self._template, name)

    def render(self, context: Mapping[str, Any]) -> str:
        given = {**context, "ks": self._marked}
        page, nav = context.get("page"), context["nav"]
        if page is None:
            key = ""
        else:
            if self._way[0] is not nav:
                self._way = nav, _way(nav)
            key = hash_of(self._base, self._way[1], *_of_page(page))
        laid = self._kept.of(key, lambda: self._template.render(given), str.encode, bytes.decode)
        return _MARK.sub(lambda found: self._stamps.get(found[1], found[0]), laid)


def kept_layouts(
    get_template: Callable[..., Any], config: Any, frame: Frame, kept: Kept
) -> Callable[..., Any]:
    """How MkDocs gets a template, with that of pages laying out no page twice. Where anybody else's
    plugin, hook or template has a say, it is ``get_template`` itself."""
    others = set(config.plugins) - _OURS
    if others or config.hooks or config.theme.custom_dir or not kept.keeps:
        return get_template
    versions = [f"{name} {version(name)}" for name in _BUILDERS]
    round_it = [frame.policy, str(frame.saving), *map(repr, frame.tongues)]
    round_it += [
        repr(frame.stations),
        *(n for n in sorted(frame.files) if not n.startswith(FOLDER)),
    ]
    base = hash_of("layout", program_hash(), *versions, _settings(config), *round_it)

    def found(name: str, *more: Any, **named: Any) -> Any:
        template = get_template(name, *more, **named)
        return _Laid(template, frame, kept, base) if name == _LAID else template

    return found


def _settings(config: Any) -> str:
    """All that the configuration says but where the site goes, and in which mode it is made."""
    said = {k: v for k, v in config.items() if k not in ("site_dir", "plugins", "theme", "nav")}
    theme = {key: config.theme[key] for key in config.theme}
    return json.dumps([said, theme, config.theme.dirs], default=str, sort_keys=True)


def _way(nav: Any) -> str:
    """The way through the manual, whole."""

    def of(item: Any) -> list[Any]:
        url = getattr(item, "url", None)
        inner = [of(one) for one in item.children or ()]
        return [item.title, url, bool(getattr(item, "is_index", False)), inner]

    home = nav.homepage.url if nav.homepage else None
    return hash_of(json.dumps([home, [of(item) for item in nav.items]], default=str))


def _of_page(page: Any) -> list[str]:
    """All a page has to show: where it is, its words, what is on it."""

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
    return [json.dumps(facts, default=str, sort_keys=True), page.content or ""]

"""What a page may load and run: its own files, and nothing written into it."""

from __future__ import annotations

from html.parser import HTMLParser

POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'none'"
)
"""The Content-Security-Policy in every page. ``frame-ancestors`` has no meaning there: only a
header of the host can set it."""

_FETCH = frozenset({"img", "script", "iframe", "source", "video", "audio", "link"})
_LINKS_ONLY = frozenset({"canonical", "alternate", "prev", "next", "license", "author"})
_DATA = ("application/json", "application/ld+json")


def refused_in(html: str) -> list[str]:
    """What the policy would refuse in a page: scripts, styles and handlers written into it, and
    forms that send. Each as one would look for it in the source: ``<script>``, ``style= in
    <td>``."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return list(reader.found)


_NEVER = ("style", "base", "object", "embed")
"""Tags the policy refuses whatever they hold."""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, None] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        written = tag == "script" and "src" not in given and given.get("type") not in _DATA
        if written or tag in _NEVER or "action" in given:
            self.found[f"<{tag}>"] = None
        for name, value in given.items():
            problems = _problem(tag, name, value, given.get("rel", ""))
            if problems:
                self.found[f"{problems} in <{tag}>"] = None


def _problem(tag: str, name: str, value: str, rel: str) -> str:
    """What of an attribute the policy refuses, or nothing."""
    if name == "style" or name.startswith("on"):
        return f"{name}="
    if value.strip().lower().startswith("javascript:"):
        return f"{name}=javascript:"
    if _fetches(tag, name, rel) and _elsewhere(value):
        return f"{name}= to another place"
    return ""


def _fetches(tag: str, name: str, rel: str) -> bool:
    if tag not in _FETCH or name not in ("src", "href", "srcset"):
        return False
    return tag != "link" or rel.lower() not in _LINKS_ONLY


def _elsewhere(value: str) -> bool:
    return value.strip().lower().startswith(("http:", "https:", "//"))

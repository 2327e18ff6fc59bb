"""A name typed where an id belongs: answered with the id that bears the name.

Only words of a finding change: nothing is ever joined by a name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from generator.files.finding import Finding

_KEY = re.compile(r"(?:^|[{,\s])(?P<key>[a-z_]+):\s*\[?[^:{}]*$")
_KINDS: dict[str, tuple[str, ...]] = {
    "station": ("station:",),
    "stations": ("station:",),
    "process": ("process:",),
    "vessel": ("equipment:",),
    "with": ("equipment:",),
    "in": ("equipment:",),
    "probe": ("equipment:",),
}
_ITEMS = ("",)
"""Ids of ingredients and formulas are without a prefix."""


def by_name(findings: Iterable[Finding], names: Mapping[str, str]) -> list[Finding]:
    """The findings with ids offered for names. ``names`` holds name by id, ids with their
    prefix."""
    called: dict[tuple[str, str], str] = {}
    for ident, name in names.items():
        prefix, sign, bare = ident.rpartition(":")
        called.setdefault((prefix + sign, _plain(name)), bare)
    known = {ident.rpartition(":")[2] for ident in names}
    return [_offered(f, called, known) if f.code == "id-form" else f for f in findings]


def _offered(finding: Finding, called: Mapping[tuple[str, str], str], known: set[str]) -> Finding:
    place = finding.place
    start = place.column - 1
    typed = place.text[start : start + place.length].strip().rstrip(":")
    match = _KEY.search(place.text[:start])
    key = match["key"] if match else ""
    prefixes = _KINDS.get(key, _ITEMS)
    ident = next((called[(p, _plain(typed))] for p in prefixes if (p, _plain(typed)) in called), "")
    if ident:
        words = f"`{typed}` is a name; its id is `{ident}`."
        return replace(finding, message=words, write=(place.fixed(ident),))
    exist = all(_as_id(word) in known for word in typed.split(","))
    if key in _KINDS and not exist:  # an id that doesn't exist fixes nothing
        return replace(finding, write=())
    return finding


def _as_id(typed: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", typed.lower()).strip("-")


def _plain(name: str) -> str:
    return " ".join(name.replace("-", " ").split()).casefold()

"""What food is in, with its coefficient: ``shared/media.yaml``, read when it is asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from generator.files.finding import BrokenData, Finding, Place
from generator.files.source_text import read_file
from generator.heat.ranges import Range

FILE = "media.yaml"
_FIGURE = re.compile(r"\d{1,6}(?:\.\d{1,3})?", re.ASCII)


@dataclass(frozen=True)
class Figure:
    """A coefficient as it was read, W/(m² K): what it is of, and the key of its source."""

    h: float
    of: str
    source: str


@dataclass(frozen=True)
class Medium:
    """A medium: its name and words for people, the coefficient in use within bounds W/(m² K), and
    the figures it rests on."""

    id: str
    name: str
    words: str
    h: Range
    read: tuple[Figure, ...]


def load_media(shared: Path) -> dict[str, Medium]:
    """The media of ``shared/media.yaml`` by their ids. Raises BrokenData if the file can't be read
    or an entry isn't whole. Nobody may change what is found: it is read once for the same state of
    the file."""
    try:
        found = (shared / FILE).stat()
    except OSError:
        return _load.__wrapped__(shared, 0, 0)
    return _load(shared, found.st_mtime_ns, found.st_size)


@lru_cache(maxsize=4)
def _load(shared: Path, changed: int, size: int) -> dict[str, Medium]:
    """The reading itself; ``changed`` and ``size`` are others for another state of the file."""
    document = read_file(shared / FILE, f"shared/{FILE}")
    if document.tree is None or document.findings:
        raise BrokenData(document.findings or (_broken("it is empty"),))
    found: dict[str, Medium] = {}
    for ident, entry in _mapping(document.tree.get("media"), "media").items():
        try:
            found[str(ident)] = _medium(str(ident), _mapping(entry, ident))
        except (KeyError, TypeError, ValueError) as error:
            raise BrokenData((_broken(f"{ident}: {error}"),)) from None
    return found


def _mapping(value: Any, name: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise BrokenData((_broken(f"`{name}` has no entries"),))
    return value


def _medium(ident: str, entry: Mapping[str, Any]) -> Medium:
    bounds = _mapping(entry["range"], f"{ident}: range")
    h = Range(*(_figure(bounds[edge]) for edge in ("low", "likely", "high")))
    read = tuple(
        Figure(_figure(row["h"]), str(row["of"]), str(row["source"])) for row in entry["read"]
    )
    if h.low <= 0 or not read:
        raise ValueError("a coefficient above zero and a source are needed")
    return Medium(ident, str(entry["name"]), str(entry["words"]), h, read)


def _figure(text: Any) -> float:
    if not _FIGURE.fullmatch(str(text)):
        raise ValueError(f"`{text}` is not a figure")
    return float(text)


def _broken(reason: str) -> Finding:
    help = "Compare it with the installed copy: `media`, with `range` and `read`."
    message = f"The media can't be used: {reason}."
    return Finding("media-broken", "error", message, Place(f"shared/{FILE}"), help)

"""The copy of the manual that a phone saves: a list of every file with its SHA-256, and its
revision.

The revision is the hash of that list, so that one file changed is another revision and nothing else
is. The list is made when the site is written whole; nothing in a page depends on it but the size.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import zlib
from dataclasses import dataclass
from pathlib import Path

from generator.framing.slim import slim
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual

STATIC = Path(__file__).resolve().parent / "static"
WORKER, LIST, REVISION = "sw.js", "saved.json", "revision.json"
_APART = frozenset({WORKER, LIST, REVISION})
_SIZE = "<!--kb-->"


@dataclass(frozen=True)
class Saved:
    """What a phone would save: files, the bytes they take up, and the bytes to load, gzipped."""

    revision: str
    files: dict[str, str]
    size: int
    load: int


def finish(site: Path, manual: Manual | Broken | None, mode: str) -> None:
    """What a built site still lacks: the copy for phones, or, "unsaved", the end of all copies."""
    if mode == "saved" and isinstance(manual, Manual):
        write_saved(site, manual.house.kitchen.time_zone, manual.keeping)
    elif mode == "saved":
        write_saved(site, "UTC")
    elif mode == "unsaved":
        _write_revision(site, _revision(_hashes(_paths(site))))
        write_end(site)


def write_saved(site: Path, zone: str, keeping: Keeping | None = None) -> Saved:
    """Write the worker, the list and the revision into a built ``site``.

    ``zone`` is the kitchen's IANA time zone, in which the line of a saved page says the time. What
    a file takes to load is kept for the next build by ``keeping``.
    """
    keeping = keeping or Keeping()
    home = site / "index.html"
    paths = _paths(site)
    files = _hashes(paths)
    load = sum(_load(path, files[name], keeping) for name, path in paths.items())
    if home.is_file():
        text = home.read_text(encoding="utf-8")
        home.write_text(text.replace(_SIZE, str(max(1, round(load / 1000)))), encoding="utf-8")
        files |= _hashes({home.name: home})
    revision = _revision(files)
    saved = {"revision": revision, "zone": zone, "files": files}
    _write(site / LIST, json.dumps(saved, separators=(",", ":")))
    _write_revision(site, revision)
    _write(site / WORKER, slim((STATIC / "sw.js").read_text(encoding="utf-8")))
    size = sum(path.stat().st_size for path in paths.values())
    return Saved(revision, files, size, load)


def _load(path: Path, digest: str, keeping: Keeping) -> int:
    """The bytes of a file of this hash, gzipped as a server does."""

    def gzipped() -> int:
        return len(gzip.compress(path.read_bytes(), 6, mtime=0))

    return keeping.number(gzipped, "gzip", zlib.ZLIB_RUNTIME_VERSION, digest)


def _hashes(paths: dict[str, Path]) -> dict[str, str]:
    """The SHA-256 of every file, by its address."""
    return {name: hashlib.sha256(path.read_bytes()).hexdigest() for name, path in paths.items()}


def _revision(files: dict[str, str]) -> str:
    """The revision of a site of these hashes."""
    return hashlib.sha256(json.dumps(files, sort_keys=True).encode()).hexdigest()[:16]


def _write_revision(site: Path, revision: str) -> None:
    """What an open page asks for to learn that another revision was published."""
    _write(site / REVISION, json.dumps({"revision": revision}))


def write_end(site: Path) -> None:
    """Write the worker that ends saved copies: phones that visit delete theirs."""
    _write(site / WORKER, slim((STATIC / "sw-off.js").read_text(encoding="utf-8")))


def _paths(site: Path) -> dict[str, Path]:
    """What is saved, by address: all but hidden files, maps for robots and the saving itself."""
    found: dict[str, Path] = {}
    for path in sorted(site.rglob("*")):
        name = path.relative_to(site).as_posix()
        hidden = any(part.startswith(".") for part in name.split("/"))
        if (
            path.is_file()
            and not hidden
            and name not in _APART
            and not name.startswith("sitemap.xml")
        ):
            found[name] = path
    return found


def _write(path: Path, text: str) -> None:
    path.write_text(text.rstrip("\n") + "\n", encoding="utf-8")

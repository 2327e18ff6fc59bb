"""The copy of the manual that a phone saves: a list of every file with its SHA-256, and its
revision.

The revision is the hash of that list, so that one file changed is another revision and nothing else
is. The list is made when the site is written whole; nothing in a page depends on it but the size.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import os
import re
import zlib
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from generator.framing.slim import slim
from generator.pages.parting import FEWEST_FORMULAS
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual
from generator.views.uris import address, formula_uri, station_uri

STATIC = Path(__file__).resolve().parent / "static"
WORKER, LIST, REVISION = "sw.js", "saved.json", "revision.json"
_APART = frozenset({WORKER, LIST, REVISION})
_SIZE, _PARTS = "<!--kb-->", "<!--parts-->"
_DIGEST = 32
"""How many signs of a SHA-256 the list holds: 128 bits tell a file from any other."""
_FACTS = "assets/facts/"
_PART = re.compile(r"--\d+(?=/$)")


Digests = Mapping[str, tuple[str, int]]
"""The SHA-256 of files, by their addresses, and the bytes each takes to load, gzipped."""


@dataclass(frozen=True)
class Saved:
    """What a phone would save: files, the bytes they take up, and the bytes to load, gzipped; and
    the hash and load of each as it was written first."""

    revision: str
    files: dict[str, str]
    size: int
    load: int
    digests: Digests = field(default_factory=dict, repr=False)


def finish(
    site: Path, manual: Manual | Broken | None, mode: str, known: Digests | None = None
) -> Digests:
    """What a built site still lacks: the copy for phones, or, "unsaved", the end of all copies.
    What is ``known`` of some files is taken for true. Returns the same of all files saved."""
    if mode == "saved":
        zone = manual.house.kitchen.time_zone if isinstance(manual, Manual) else "UTC"
        keeping = manual.keeping if isinstance(manual, Manual) else None
        about = (dict(stations_apart(manual)), station_pages_of(manual), keeping, known)
        return write_saved(site, zone, *about).digests
    if mode == "unsaved":
        _write_revision(site, _revision(_hashes(_paths(site), known or {})))
        write_end(site)
    return {}


def stations_apart(manual: Manual | Broken | None) -> tuple[tuple[str, str], ...]:
    """The stations that a phone may save by themselves, ids and names: those of a large manual."""
    if not isinstance(manual, Manual) or len(manual.sheets) <= FEWEST_FORMULAS:
        return ()
    return tuple((ident, station.name) for ident, station in manual.house.stations.items())


def station_pages_of(manual: Manual | Broken | None) -> dict[str, frozenset[str]]:
    """For each formula's address (``stove/stock/``) the stations that save it: those it is made at,
    and those of all that is made with it."""
    if not isinstance(manual, Manual):
        return {}
    of: dict[str, set[str]] = {}
    for sheet in manual.sheets.values():
        waiting, known = [sheet.id], {sheet.id}
        while waiting:
            ident = waiting.pop()
            of.setdefault(ident, set()).update(sheet.formula.formula.station)
            made = manual.sheets.get(ident)
            more = [one for one in (made.formula.sub_formulas if made else ()) if one not in known]
            known.update(more)
            waiting += more
    return {
        address(formula_uri(sheet.formula.formula.home, ident)): frozenset(of[ident])
        for ident, sheet in manual.sheets.items()
    }


def write_saved(
    site: Path,
    zone: str,
    stations: Mapping[str, str] | None = None,
    pages: Mapping[str, Collection[str]] | None = None,
    keeping: Keeping | None = None,
    known: Digests | None = None,
) -> Saved:
    """Write the worker, the list and the revision into a built ``site``.

    ``zone`` is the kitchen's IANA time zone, in which the line of a saved page says the time.
    Phones may save by ``stations`` (ids and names) if there are any; ``pages`` says of which
    stations each formula's page is. What a file takes to load is kept for the next build by
    ``keeping``; of files that are ``known`` nothing is worked out.
    """
    home = site / "index.html"
    paths = _paths(site)
    digests = _digests(paths, keeping or Keeping(), known or {})
    files = {name: digest for name, (digest, _) in digests.items()}
    loads = {name: load for name, (_, load) in digests.items()}
    load = sum(loads.values())
    groups = _groups(paths, stations or {}, pages or {})
    if home.is_file():
        text = home.read_text(encoding="utf-8")
        text = text.replace(_SIZE, str(max(1, round(load / 1000))))
        _write_anew(home, text.replace(_PARTS, _kilobytes(groups, loads)))
        files |= _hashes({home.name: home}, {})
    revision = _revision(files)
    short = {name: digest[:_DIGEST] for name, digest in files.items()}
    saved = _list_of(revision, zone, short, groups, stations or {})
    _write(site / LIST, json.dumps(saved, separators=(",", ":")))
    _write_revision(site, revision)
    _write(site / WORKER, slim((STATIC / "sw.js").read_text(encoding="utf-8")))
    size = sum(path.stat().st_size for path in paths.values())
    return Saved(revision, files, size, load, digests)


def _list_of(
    revision: str,
    zone: str,
    short: Mapping[str, str],
    groups: dict[tuple[str, ...], list[str]],
    stations: Mapping[str, str],
) -> dict[str, object]:
    """The list of a site's files: what every phone saves, then each group's own."""
    saved: dict[str, object] = {
        "revision": revision,
        "zone": zone,
        "files": {name: short[name] for name in groups.pop((), ())},
    }
    if groups:
        saved["stations"] = stations
        saved["groups"] = [
            {"of": list(which), "files": {name: short[name] for name in own}}
            for which, own in groups.items()
        ]
    return saved


def _digests(paths: dict[str, Path], keeping: Keeping, known: Digests) -> Digests:
    """The hash and the load of every file, worked out for those that aren't ``known``."""
    return {
        name: known[name] if name in known else (digest, _load(paths[name], digest, keeping))
        for name, digest in _hashes(paths, known).items()
    }


def _load(path: Path, digest: str, keeping: Keeping) -> int:
    """The bytes of a file of this hash, gzipped as a server does."""

    def gzipped() -> int:
        return len(gzip.compress(path.read_bytes(), 6, mtime=0))

    return keeping.number(gzipped, "gzip", zlib.ZLIB_RUNTIME_VERSION, digest)


def _groups(
    names: Iterable[str], stations: Mapping[str, str], pages: Mapping[str, Collection[str]]
) -> dict[tuple[str, ...], list[str]]:
    """The files by the stations they are saved with; what every phone saves under none."""
    of = {at: tuple(s for s in stations if s in which) for at, which in pages.items()}
    of |= {f"{_FACTS}{at.strip('/').replace('/', '.')}.js": which for at, which in of.items()}
    of |= {address(station_uri(ident)): (ident,) for ident in stations}
    found: dict[tuple[str, ...], list[str]] = {(): []}
    for name in names:
        folder = _PART.sub("", name.removesuffix("index.html"))
        found.setdefault(of.get(folder, ()) if stations else (), []).append(name)
    return found


def _kilobytes(groups: Mapping[tuple[str, ...], list[str]], loads: Mapping[str, int]) -> str:
    """What each group takes to load, in kilobytes, with its stations: ``980: 212:stove,sweets``."""
    return " ".join(
        f"{max(1, round(sum(loads[name] for name in names) / 1000))}:{','.join(of)}"
        for of, names in groups.items()
    )


def _hashes(paths: dict[str, Path], known: Digests) -> dict[str, str]:
    """The SHA-256 of every file, by its address."""
    return {
        name: known[name][0] if name in known else hashlib.sha256(path.read_bytes()).hexdigest()
        for name, path in paths.items()
    }


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
    found: list[tuple[str, Path]] = []
    for at, folders, names in os.walk(site):
        folders[:] = [name for name in folders if not name.startswith(".")]
        here = Path(at)
        inside = "" if here == site else f"{here.relative_to(site).as_posix()}/"
        for name in (f"{inside}{one}" for one in names if not one.startswith(".")):
            apart = name in _APART or name.startswith("sitemap.xml")
            if not apart and (site / name).is_file():
                found.append((name, site / name))
    return dict(sorted(found, key=lambda one: one[0].split("/")))


def _write(path: Path, text: str) -> None:
    _write_anew(path, text.rstrip("\n") + "\n")


def _write_anew(path: Path, text: str) -> None:
    """Write a file of its own: what was there may be the last build's under a second name."""
    path.unlink(missing_ok=True)
    path.write_text(text, encoding="utf-8")

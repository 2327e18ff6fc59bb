"""What is round the pages: look, script, search, policy, the copy for a phone. Free of any
builder.

Every file has a stamp in its address, the beginning of its SHA-256: a page asks for the very files
it was published with, whatever a browser or a phone has kept.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Literal

from generator.framing.icon import png, svg
from generator.framing.policy import POLICY
from generator.framing.saving import stations_apart
from generator.framing.searching import INDEX, search_scripts, written_entries
from generator.framing.sharding import FOLDER
from generator.framing.slim import slim, slim_sheet
from generator.framing.trimming import names_in, parted, trimmed
from generator.pages import ASSETS, ON_DEMAND
from generator.pages import STATIC as LOOK
from generator.pages.page import LISTED, Body, Page
from generator.pages.wording import NAMES, Tongue, names_script, tongues
from generator.sheet.keeping import Keeping
from generator.sheet.manual import Broken, Manual

STATIC = Path(__file__).resolve().parent / "static"
THEME = Path(__file__).resolve().parent / "theme"
LOOK_FILE = "assets/manual.css"
MORE_FILE = "assets/more.css"
"""What no formula's page is drawn with: lists, registers, findings. A cook's first look doesn't
wait for it."""
LICENCE_FILE = "assets/LICENSE.mkdocs-material.txt"
PRINT_FILE = "assets/print.css"
"""What paper changes: it is asked for at the end of a page, so that no phone waits for it."""
PARTS = "assets/parts.js"
FINDERS = ("assets/minisearch.js", INDEX, PARTS, "assets/find.js")
"""What the search loads, in no order but for the last; PARTS where the index is in parts."""
REPLACED = ("assets/javascripts/", "assets/stylesheets/", "assets/images/favicon")
"""Where the theme's own files lie that this frame replaces."""
Mode = Literal["served", "saved", "unsaved"]
"""Served for editing, or published with or without a copy for phones."""
Written = tuple[str, str, str, float]
"""A page written by hand: its address, its title, its HTML, its weight in the search."""
_SHEET = "assets/stylesheets/main.*.min.css"
_STAMP = 10
_WORD = re.compile(r"[\w-]+")


@dataclass(frozen=True)
class Frame:
    """The files round the pages by address, and what the templates ask for.

    ``policy`` is empty while a site is served for editing: the builder writes its reloading into
    the page. ``saving`` says whether phones may save a copy. ``tongues`` are the languages the
    pages can be read in, the kitchen's own first. ``stations`` are those of a large manual, which a
    phone may save by station: their ids and names.
    """

    files: Mapping[str, bytes]
    policy: str
    saving: bool
    tongues: tuple[Tongue, ...] = ()
    stations: tuple[tuple[str, str], ...] = ()

    def stamped(self, path: object) -> str:
        """The address of a file with its stamp; as it is for a file that isn't ours."""
        name = str(path)
        stamp = self._stamps.get(name)
        return name if stamp is None else f"{name}?{stamp}"

    @cached_property
    def _stamps(self) -> dict[str, str]:
        """The stamp of each file; every page asks for several, and the index is large."""
        return {name: stamp_of(data) for name, data in self.files.items()}

    def later(self, scripts: Iterable[object]) -> str:
        """The addresses of the scripts that start.js asks for, in their order: the frame's, then
        those of ``scripts``, a page's, that are ours."""
        ours = ["assets/frame.js", *(["assets/words.js"] if len(self.tongues) > 1 else [])]
        ours += [str(script) for script in scripts if str(script) in self.files]
        return " ".join(self.stamped(path) for path in ours)

    @property
    def finders(self) -> str:
        """The addresses of what the search loads. The index has no stamp: with one, every page
        would be another whenever a name is."""
        found = (path for path in FINDERS if path in self.files)
        return " ".join(path if path == INDEX else self.stamped(path) for path in found)


def stamp_of(data: bytes) -> str:
    """The stamp of a file in its address: the beginning of its SHA-256."""
    return hashlib.sha256(data).hexdigest()[:_STAMP]


def make_frame(
    theme: Iterable[str],
    manual: Manual | Broken | None,
    pages: Collection[Page],
    written: Iterable[Written],
    site_name: str,
    mode: Mode,
) -> Frame:
    """The frame of a site of ``pages`` and of pages ``written`` by hand.

    ``theme`` are the builder's folders of templates; its style sheet is cut to what the pages ask
    for.
    """
    written = list(written)
    keeping = manual.keeping if isinstance(manual, Manual) else Keeping()
    bodies = [*(page.body for page in pages), *(Body.of(html) for _, _, html, _ in written)]
    entries = [entry for page in written for entry in written_entries(*page)]
    offered = tongues(manual)
    texts = {
        **_styles(theme, bodies, keeping),
        **_searched(search_scripts(manual, pages, entries, keeping)),
        "assets/icon.svg": svg(),
        "manifest.webmanifest": web_manifest(site_name),
        **_told(offered, manual, site_name),
    }
    files = {name: text.encode() for name, text in texts.items()}
    files |= {f"assets/icon-{size}.png": png(size) for size in (192, 512)}
    return Frame(
        files, "" if mode == "served" else POLICY, mode == "saved", offered, stations_apart(manual)
    )


def _told(
    offered: Iterable[Tongue], manual: Manual | Broken | None, site_name: str
) -> dict[str, str]:
    """The scripts of the languages offered, and of the kitchen's names, which all of them need."""
    scripts = {tongue.file: tongue.script for tongue in offered if tongue.file}
    if scripts and isinstance(manual, Manual):
        scripts[NAMES] = names_script(manual, site_name)
    return scripts


def _searched(scripts: Mapping[str, str]) -> dict[str, str]:
    """The scripts, those of the search among them; none reads its parts where it has none."""
    engine = (STATIC / "minisearch.js").read_text(encoding="utf-8")
    texts = {**scripts, "assets/minisearch.js": engine, **_scripts()}
    if not any(name.startswith(f"{FOLDER}/") for name in texts):
        del texts[PARTS]
    return texts


def _styles(theme: Iterable[str], bodies: Iterable[Body], keeping: Keeping) -> dict[str, str]:
    """The builder's style sheet cut to what the pages' ``bodies`` and the frame use, then ours;
    what only paper needs, and what no formula's page does, is in files of their own."""
    sheets = (path for folder in theme for path in sorted(Path(folder).glob(_SHEET)))
    look = (LOOK / "manual.css").read_text(encoding="utf-8")
    base, paper = _AT.split(look)
    own = base + (STATIC / "frame.css").read_text(encoding="utf-8")
    # Templates and scripts may put a class together, so each of their words counts as one.
    ours = [
        *THEME.rglob("*.html"),
        *(STATIC / name for name in ("start.js", "frame.js", "find.js")),
    ]
    words = {w for p in ours for w in _WORD.findall(p.read_text("utf-8"))}
    bodies = list(bodies)
    of_formulas = [body for body in bodies if body.utf8.startswith(_FORMULA)]
    formulas = names_in([Body.of(LISTED), *of_formulas], keeping)
    others = names_in((b for b in bodies if not b.utf8.startswith(_FORMULA)), keeping)
    scripts = {w for text in _scripts().values() for w in _WORD.findall(text)}
    first, more = _ours(own, frozenset(others - formulas - scripts - words))
    theirs = _cut(
        next(sheets).read_text(encoding="utf-8"), frozenset(formulas | others | words), own
    )
    return {
        LOOK_FILE: f"{_NOTICE}{theirs}{first}",
        MORE_FILE: more,
        PRINT_FILE: slim_sheet(paper),
        LICENCE_FILE: (STATIC / "LICENSE.mkdocs-material").read_text(encoding="utf-8"),
    }


@lru_cache(4)
def _cut(theirs: str, names: frozenset[str], own: str) -> str:
    """The builder's sheet cut to ``names``: the same from build to build, as a rule."""
    return trimmed(theirs, names, own)


@lru_cache(4)
def _ours(own: str, elsewhere: frozenset[str]) -> tuple[str, str]:
    """Our sheet, slimmed: what any page may need, and the rules of classes ``elsewhere`` than on
    a formula's page."""
    return parted(slim_sheet(own), elsewhere)


def _scripts() -> dict[str, str]:
    """Our scripts by their files, slimmed."""
    look = [LOOK / name for name in (*ASSETS, *ON_DEMAND) if name.endswith(".js")]
    own = ("start.js", "frame.js", "find.js", "parts.js", "words.js", "told.js")
    scripts = [*(STATIC / name for name in own), *look]
    texts = {p.name: slim(p.read_text(encoding="utf-8")) for p in scripts}
    return {f"assets/{name}": _asking(name, texts) for name in texts}


def _asking(name: str, texts: Mapping[str, str]) -> str:
    """A script as it is published: whatever it fetches, it asks for by the stamped address."""
    text = texts[name]
    for other in ON_DEMAND:
        if other != name and f'"{other}"' in text:
            stamp = stamp_of(_asking(other, texts).encode())
            text = text.replace(f'"{other}"', f'"{other}?{stamp}"')
    return text


_FORMULA = b'<div class="ks ks-formula"'
_NOTICE = (
    "/*! mkdocs-material, cut. Copyright (c) Martin Donath and others, MIT licence: "
    f"{LICENCE_FILE.rpartition('/')[2]} */\n"
)
_AT = re.compile(r"^(?=/\* Paper: )", re.MULTILINE)
"""Where what paper changes begins in the look: its last part."""


def web_manifest(site_name: str) -> str:
    """What a phone needs to put the manual on its screen (W3C Web Application Manifest)."""
    icons = [
        {
            "src": f"assets/icon-{size}.png",
            "sizes": f"{size}x{size}",
            "type": "image/png",
            "purpose": purpose,
        }
        for size in (192, 512)
        for purpose in ("any", "maskable")
    ]
    facts = {
        "name": site_name,
        "short_name": site_name.partition(" · ")[0],
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#fbfaf6",
        "theme_color": "#fbfaf6",
        "icons": icons,
    }
    return json.dumps(facts, ensure_ascii=False, separators=(",", ":")) + "\n"

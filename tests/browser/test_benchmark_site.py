"""What a first visit costs, beside plain Material on the same pages in the same run:
``pytest -m benchmark -s``. Bytes are those on the wire from a server that compresses, counted by
the browser for every fetch it makes; times are Chromium's own, at 250 kbit/s, 500 ms and a slowed
processor.
"""

from __future__ import annotations

import gzip
import logging
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF
from synthetic import synthetic_kitchen
from visits import Visit, packed, visit

from generator.framing import STATIC
from generator.framing.slim import slim
from generator.pages import ASSETS, ON_DEMAND
from generator.pages import STATIC as LOOK
from generator.sheet.manual import make_manual
from generator.site.exporting import export_tree
from generator.site.publish import build_site

pytestmark = pytest.mark.benchmark

PLAIN = (
    "site_name: Plain\ndocs_dir: pages\ntheme: {name: material, font: false}\nplugins: [search]\n"
)


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str, int]:
    """Ours and plain Material's of one kitchen of 200 pages; one of its formulas' pages; how
    many."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    base = tmp_path_factory.mktemp("visits")
    manual = make_manual(synthetic_kitchen(base / "kitchen", 165), AS_OF)
    assert manual.errors == ()
    pages = build_site(manual, base / "ours", strict=False)
    export_tree(manual, base / "plain/pages")
    (base / "plain/mkdocs.yml").write_text(PLAIN)
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q"],
        cwd=base / "plain",
        check=True,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
    )
    sheet = manual.sheets["made-7"]
    return base / "ours", base / "plain/site", f"{sheet.formula.formula.home}/made-7/", pages


def share(made: Visit, *parts: str) -> float:
    return sum(size for name, size in made.sizes.items() if name.endswith(parts)) / 1000


def parts_of(made: Visit) -> float:
    """What of an index in parts was fetched."""
    return sum(size for name, size in made.sizes.items() if "assets/find/" in name) / 1000


def test_a_first_visit_at_200_pages(browser: Any, sites: tuple[Path, Path, str, int]) -> None:
    ours, plain, page, pages = sites
    assert pages >= 200
    made: dict[str, Visit] = {}
    paints: dict[str, list[Visit]] = {}
    for name, folder, search in (
        ("ours", ours, "#ks-find"),
        ("plain Material", plain, "label[for=__search]"),
    ):
        with packed(folder) as address:
            made[name] = visit(browser, address, page, search, slow=False)
            paints[name] = sorted(
                (visit(browser, address, page, search, slow=True) for _ in range(3)),
                key=lambda v: v.paint,
            )
    print(
        f"\nFirst visit to a formula page at {pages} pages, search included (kB on the wire, gz):"
    )
    print(
        f"{'':16}{'all':>8}{'page':>8}{'CSS':>8}{'JS':>8}{'index':>8}{'fetches':>9}{'LCP s':>8}{'CLS':>7}"
    )
    for name, one in made.items():
        index = share(one, "assets/index.js", "search_index.json") + parts_of(one)
        scripts = share(one, ".js") - share(one, "assets/index.js") - parts_of(one)
        middle = paints[name][1]
        print(
            f"{name:16}{one.total / 1000:8.1f}{share(one, page):8.1f}{share(one, '.css'):8.1f}{scripts:8.1f}"
            f"{index:8.1f}{len(one.sizes):9}{middle.paint / 1000:8.2f}{max(v.shift for v in paints[name]):7.3f}"
        )
    own = made["ours"]
    scripts = share(own, ".js") - share(own, "assets/index.js") - share(own, "minisearch.js")
    scripts -= parts_of(own)
    facts = sum(n for name, n in own.sizes.items() if "assets/facts/" in name) / 1000
    scripts -= facts  # what the formula says, kept to tell what changed: no program
    print(f"  our own scripts fetched on it, MiniSearch apart: {scripts:.1f} kB")
    assert scripts <= 16  # 14.7 before the search came in parts
    assert own.total <= 75_000
    assert own.total < made["plain Material"].total
    assert own.strangers == [] and all(v.strangers == [] for v in paints["ours"])
    assert paints["ours"][1].paint <= 2500
    assert max(v.shift for v in paints["ours"]) == 0


def test_our_own_scripts() -> None:
    """All that is ours, gzipped, MiniSearch apart."""
    scripts = [
        *STATIC.glob("*.js"),
        *(LOOK / a for a in (*ASSETS, *ON_DEMAND) if a.endswith(".js")),
    ]
    sizes = {
        p.name: len(gzip.compress(slim(p.read_text(encoding="utf-8")).encode(), 9))
        for p in sorted(scripts)
    }
    library = sizes.pop("minisearch.js")
    print("\nOwn scripts, gz: " + ", ".join(f"{n} {s / 1000:.1f}" for n, s in sizes.items()))
    print(f"  in all {sum(sizes.values()) / 1000:.1f} kB; MiniSearch {library / 1000:.1f} kB")
    first = sum(
        sizes[n]
        for n in sizes
        if n not in ("find.js", "parts.js", "sw.js", "sw-off.js", *ON_DEMAND)
    )
    print(f"  on a first visit before anything is asked for: {first / 1000:.1f} kB")
    assert sum(sizes[n] for n in ("frame.js", "find.js", "sw.js")) <= 8_300


def test_the_whole_demo_saved(demo_site: Path) -> None:
    files = [p for p in demo_site.rglob("*") if p.is_file()]
    load = sum(len(gzip.compress(p.read_bytes(), 6)) for p in files)
    print(
        f"\nThe whole demo: {len(files)} files, "
        f"{sum(p.stat().st_size for p in files) / 1e6:.2f} MB, {load / 1e6:.2f} MB gz"
    )
    assert load <= 2_000_000

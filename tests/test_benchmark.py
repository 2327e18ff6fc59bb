"""Timings with ratios, in one run: ``pytest -m benchmark -s``. Nothing here fails for being slow
on a slow machine; what is held is that the generator is a small share of the whole build."""

from __future__ import annotations

import gzip
import logging
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import AS_OF, ROOT
from synthetic import synthetic_kitchen

from generator.manual import Manual, make_manual
from generator.pages import make_pages
from generator.publish import build_site

pytestmark = pytest.mark.benchmark


def median(call: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def whole(project: Path, *arguments: str) -> float:
    command = [sys.executable, "-c", "from generator.cli import main; main()", *arguments]
    environment = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}

    def run() -> None:
        subprocess.run(
            [*command, "--project", str(project), "--as-of", AS_OF.isoformat()],
            check=True, capture_output=True, env=environment,
        )  # fmt: skip

    return median(run, 3)


@pytest.mark.parametrize("formulas", [4, 100])
def test_the_generator_beside_the_builder(tmp_path: Path, formulas: int) -> None:
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    project = ROOT if formulas == 4 else synthetic_kitchen(tmp_path / "kitchen", formulas)
    manual = make_manual(project, AS_OF)
    assert manual.errors == ()
    compute = median(lambda: make_manual(project, AS_OF))
    render = median(lambda: make_pages(manual))
    build = median(lambda: build_site(manual, tmp_path / "site", strict=False), 3)
    check = whole(project, "check")
    share = (compute + render) / build
    print(
        f"\n{formulas} formulas: check, whole process {check:.2f} s; read + walk {compute * 1000:.0f} ms, "
        f"render {render * 1000:.0f} ms, whole build {build:.2f} s: {share:.0%} of it, "
        f"{build / len(make_pages(manual)) * 1000:.1f} ms a page"
    )
    assert share < 0.5


def test_first_visit(demo: Manual, tmp_path: Path) -> None:
    """Bytes of the formula page and what it fetches, gzipped, without the search index."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    site = tmp_path / "site"
    build_site(demo, site, strict=False)

    def size(path: Path) -> int:
        return len(gzip.compress(path.read_bytes(), 6))

    page = size(site / "cold-kitchen/turkey-chive-roll/index.html")
    own = size(site / "assets/manual.css") + size(site / "assets/manual.js")
    builder = sum(size(p) for p in (site / "assets").rglob("*.css") if p.name != "manual.css")
    builder += sum(size(p) for p in (site / "assets/javascripts").glob("*.js"))
    index = size(site / "search/search_index.json")
    print(
        f"\nfirst visit, gz: page {page} B, own CSS and JS {own} B, the theme's {builder} B, search index {index} B"
    )
    assert page < 40_000

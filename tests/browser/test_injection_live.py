"""Hostile texts through a real browser, and through the text a PDF holds: nothing runs, nothing is
missing."""

from __future__ import annotations

import re
import shutil
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from browsing import Server, served, tab
from click.testing import CliRunner
from test_injection import PAYLOADS, site, spaced

from generator.cli import cli

__all__ = ["site"]
pytestmark = pytest.mark.xdist_group("hostile")
SAME = re.compile(r"\s+")
ACTIVE = re.compile(r"[<&]|script:|onclick|\$\{|\]\(")
"""What a browser could make more of than text."""


@pytest.fixture
def running(site: Path) -> Iterator[Server]:
    with served(site) as server:
        server.within = ""
        yield server


@contextmanager
def watched(browser: Any, server: Server) -> Iterator[Any]:
    """A page on which a dialog, a request to elsewhere, a download or another address fails the
    test."""
    with tab(browser) as page:
        seen: list[str] = []
        page.on(
            "dialog", lambda dialog: (seen.append(f"dialog {dialog.message}"), dialog.dismiss())
        )
        page.on("download", lambda download: seen.append(f"download {download.url}"))
        page.on("popup", lambda popup: seen.append(f"popup {popup.url}"))
        page.on(
            "request",
            lambda r: None if r.url.startswith((server.address, "data:")) else seen.append(r.url),
        )
        yield page
        page.wait_for_timeout(50)
        assert seen == []


def shown(page: Any) -> str:
    """The words of the article, folds and all, as the browser holds them."""
    return spaced(page.evaluate("document.querySelector('article').textContent"))


def queries(payload: str) -> tuple[str, str]:
    """What a QR code may bring: the payload in the places of an address."""
    coded = payload.replace("#", "%23", 1)
    return f"?s=1&r={coded}&h={coded}#{payload}", f"?s={coded}&r=1&h=1"


@pytest.mark.parametrize("apart", [6, pytest.param(1, marks=pytest.mark.slow)])
def test_pages_in_a_browser_run_nothing_and_lack_nothing(
    running: Server, browser: Any, apart: int
) -> None:
    """Each payload that could run on the page of its formula, each sixth on those of its process and
    its ingredient too; slow, all of them: what all of them read as is held in ``test_injection``
    every day. A formula's page is opened by an address that holds the next payload, in one
    place: the address a sheet names is compared, and shown as text."""
    running.still = True
    with watched(browser, running) as page:
        for number, payload in enumerate(PAYLOADS):
            if apart > 1 and not ACTIVE.search(payload):
                continue
            text = spaced(payload)
            shared = (f"processes/toss-{number}/", f"ingredients/hostile-{number}/")
            query = queries(PAYLOADS[(number + 1) % len(PAYLOADS)])[number % 2]
            for address in (
                *(shared if number % apart == 0 else ()),
                f"pass/salad-{number}/{query}",
            ):
                page.goto(running.address + address)
                assert SAME.sub("", text) in SAME.sub("", shown(page)), (address, text)
            assert spaced(page.title()) == f"{text} - Hostile"
            assert (
                page.evaluate(
                    "document.querySelectorAll('article script, article iframe, article style, "
                    "article form, .ks-paper img').length"
                )
                == 0
            )
        page.goto(f"{running.address}pass/salad-0/#{PAYLOADS[1]}")
        page.goto(f"{running.address}pass/salad-0/?s=<img src=x onerror=alert(1)>&r=1&h=1")
        assert page.evaluate("document.querySelectorAll('.ks-paper img').length") == 0


def test_the_search_in_a_browser_shows_hostile_names_as_text(running: Server, browser: Any) -> None:
    with watched(browser, running) as page:
        page.goto(running.address)
        page.locator("#ks-find").click()
        found: set[str] = set()
        for typed in (
            "alert",
            "script",
            "onerror",
            "<script>",
            "iframe",
            "</title>",
            "evil",
            "secret",
            "danger",
            "{{ 7*7 }}",
            '"><img src=x onerror=alert(9)>',
            "javascript:alert(1)",
            "__proto__",
            "constructor",
        ):
            page.locator(".ks-search input").fill(typed)
            page.wait_for_timeout(60)
            found |= set(
                page.evaluate(
                    "[...document.querySelectorAll('#ks-hits a')].map(a => "
                    "a.firstChild.textContent)"
                )
            )
            assert (
                page.evaluate(
                    "document.querySelectorAll('#ks-hits img, #ks-hits script, #ks-hits "
                    "iframe, #ks-hits svg').length"
                )
                == 0
            )
        hostile = {spaced(p) for p in PAYLOADS if "alert" in p or "script" in p}
        assert hostile & {spaced(f) for f in found}, "hostile names are found, as typed"


@pytest.mark.slow
def test_hostile_addresses_in_a_browser_stay_text(running: Server, browser: Any) -> None:
    """Each payload in every place of the address."""
    with watched(browser, running) as page:
        for payload in PAYLOADS:
            for query in queries(payload):
                page.goto(f"{running.address}pass/salad-0/{query}")
                assert page.evaluate("document.querySelectorAll('.ks-paper img').length") == 0


def test_a_saved_copy_in_a_browser_runs_nothing_and_lacks_nothing(
    running: Server, browser: Any
) -> None:
    with watched(browser, running) as page:
        page.goto(running.address)
        page.locator("#ks-save").click()
        page.wait_for_selector("text=Saved: revision", timeout=40_000)
        running.broken.append("/")  # no signal: whatever is shown comes from the copy
        try:
            for number in (0, 1, 5, 8, 17, 23):
                page.goto(f"{running.address}pass/salad-{number}/")
                assert SAME.sub("", spaced(PAYLOADS[number])) in SAME.sub("", shown(page))
        finally:
            running.broken.remove("/")


@pytest.fixture(scope="module")
def papers(site: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The binder of the hostile station, eight formulas at a time: its log has a page's room."""
    made: list[Path] = []
    for start in range(0, len(PAYLOADS), 8):
        project: Path = tmp_path_factory.mktemp("paper")
        shutil.copytree(site.parent / "standards", project / "standards")
        shutil.copyfile(site.parent / "mkdocs.yml", project / "mkdocs.yml")
        for number in range(len(PAYLOADS)):
            if not start <= number < start + 8:
                (project / f"standards/formulas/salad-{number}.yaml").unlink()
        out = project / "hostile.pdf"
        words = ["binder", "pass", "--project", str(project), "--as-of", "2026-11-25"]
        done = CliRunner().invoke(cli, [*words, "--out", str(out)])
        assert done.exit_code == 0, done.output
        made.append(out)
    return made


def test_a_pdf_holds_every_hostile_text_as_typed(papers: list[Path]) -> None:
    """Broken over lines where the column ends, so spaces don't count."""
    reported = []
    for paper in papers:
        with pypdfium2.PdfDocument(paper) as opened:
            reported += [page.get_textpage().get_text_range() for page in opened]
    text = SAME.sub("", "".join(reported)).replace("\u00ad", "")
    missing = [p for p in PAYLOADS if SAME.sub("", p) not in text]
    assert missing == []


def test_a_pdf_does_nothing(papers: list[Path]) -> None:
    """No script, no action on opening, no attachment, no form; links lead to the manual alone."""
    barred = rb"/(?:JS|JavaScript|OpenAction|AA|Launch|EmbeddedFiles?|AcroForm|SubmitForm|RichMedia|GoToR|ImportData)"
    for paper in papers:
        objects = bare_objects(paper.read_bytes())
        assert objects.count(b"<<") > 100 and b"/Catalog" in objects
        assert re.findall(barred + rb"(?![A-Za-z])", objects) == []
        links = re.findall(rb"/URI\s*\(((?:\\.|[^\\)])*)\)", objects)
        assert not [link for link in links if re.search(b"evil|javascript", link)]


def bare_objects(pdf: bytes) -> bytes:
    """Every object of a PDF as written, those packed into streams too, without what a page or a
    font is drawn from."""
    parts = []
    at = 0
    for match in re.finditer(rb"<<(?:[^<>]|<(?!<)|<<[^<>]*>>)*?>>\s*stream\r?\n", pdf):
        end = pdf.index(b"endstream", match.end())
        parts.append(pdf[at : match.end()])
        if b"/ObjStm" in match.group():
            parts.append(zlib.decompressobj().decompress(pdf[match.end() : end]))
        at = end
    return b"".join([*parts, pdf[at:]])

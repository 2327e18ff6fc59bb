"""The pages in Spanish, in a real Chromium: chosen once and kept, figures as they were, nothing of the
frame left in English, what a batch writes as well."""

from __future__ import annotations

import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdf
import pytest
from browsing import KINDS, Server, served, tab
from conftest import ROOT
from test_accessibility import THIN, violations
from test_accessibility import axe as axe  # a fixture
from translating import Translator, translator

from generator.pages.wording import own_words
from generator.reference.catalogue import read_catalogues
from generator.sheet.manual import Manual

ROLL = "cold-kitchen/turkey-chive-roll/"
PAGES = (
    "",
    "cold-kitchen/",
    ROLL,
    "stove/barley-soup/",
    "control/limits/",
    "control/allergens/",
    "control/cautions/",
    "processes/poached-roll/",
    "ingredients/egg-whole/",
    "kitchen/equipment/",
    "plans/first-week/",
)
LISTED = tuple(at for at in KINDS if not at.startswith(("guide/", "about/")))
TEXTS = """() => {
  const found = [], nodes = document.createTreeWalker(document.body, 4);
  while (nodes.nextNode()) {
    const box = nodes.currentNode.parentElement;
    if (box.closest("script, style, svg, [data-kept], .ks-part h3, .ks-name, .ks-formula > h1")) continue;
    const text = nodes.currentNode.data.replace(/\\s+/g, " ").trim();
    if (text) found.push([text, box.lang === "en"]);
  }
  for (const box of document.querySelectorAll("[aria-label], [placeholder]"))
    if (!box.closest("[data-kept]")) found.push([(box.getAttribute("aria-label") || box.placeholder).replace(/\\s+/g, " ").trim(), false]);
  return found;
}"""
FIGURE = re.compile(r"\d+(?:[.,]\d+)*")


CLAUSES = re.compile(r"(?:\d+ CFR [\d.()a-z]+(?:, )?)+")
"""A list of clauses is the same in every language."""


@pytest.fixture(scope="module")
def spanish(demo: Manual) -> Translator:
    """What puts a text into Spanish, by its second writing in tests."""
    return translator(read_catalogues(ROOT / "shared")["es"], own_words(demo))


def choose(page: Any, code: str = "es") -> None:
    """Choose a language as a cook does, and wait until the page is in it."""
    with page.expect_navigation():
        page.select_option("#ks-words", code)
    ready(page, code)


def ready(page: Any, code: str = "es") -> None:
    page.wait_for_function(f"() => document.documentElement.lang === '{code}'")


def left_in_english(page: Any, spanish: Translator) -> list[str]:
    """Texts on a Spanish page that Spanish has words for."""
    found = page.evaluate(TEXTS)
    assert len(found) > 20
    return [t for t, own in found if not own and spanish(t) not in (None, t) and "{" not in t]


def figures(page: Any) -> Counter[str]:
    return Counter(FIGURE.findall(page.evaluate("document.querySelector('main').textContent")))


def test_a_language_is_chosen_once_and_holds_everywhere(
    browser: Any, server: Server, demo: Manual
) -> None:
    with tab(browser) as page:
        page.goto(server.address + ROLL)
        switch = page.locator("#ks-words")
        assert switch.locator("option").all_text_contents() == ["English", "Español"]
        box = switch.bounding_box()
        assert box["width"] >= 48 and box["height"] >= 48
        assert page.locator("#steps").text_content() == "Steps"
        choose(page)
        assert page.locator("#steps").text_content() == "Pasos"
        assert page.locator("h1").text_content() == "Turkey roll with chives and mustard"
        page.reload()
        ready(page)
        page.goto(server.address + "control/allergens/")
        ready(page)
        page.go_back()
        ready(page)
        assert page.locator("#steps").text_content() == "Pasos"
        chef = page.locator(".ks-do", has_text="Chill meat, knife and plate first.")
        assert chef.get_attribute("lang") == "en" and "ks-untold" in chef.get_attribute("class")
        choose(page, "en")
        assert page.locator("#steps").text_content() == "Steps"
        assert page.locator(".ks-untold").count() == 0


def test_nothing_more_is_fetched_while_the_kitchens_language_is_read(
    browser: Any, server: Server
) -> None:
    server.asked.clear()
    with tab(browser) as page:
        page.goto(server.address + ROLL)
        page.wait_for_load_state("networkidle")
    assert not [path for path in server.asked if "told.js" in path or "words-" in path]


SENTENCES = """() => {
  const found = [], nodes = document.createTreeWalker(document.querySelector("main"), 4);
  while (nodes.nextNode()) {
    const box = nodes.currentNode.parentElement, text = nodes.currentNode.data.replace(/\\s+/g, " ").trim();
    if (!box.closest("script, style, [data-kept]") && text.split(" ").filter(w => /^\\p{L}{2,}/u.test(w)).length >= 4)
      found.push([text, Boolean(box.closest("[lang=en]:not(html)")), Boolean(box.closest(".ks-part > h3, .ks-name, h1, a, option"))]);
  }
  return found;
}"""


@dataclass
class Reading:
    """What one page holds: its figures, its sentences, and what is left of the frame's English; how
    wide it is, and what axe finds."""

    figures: Counter[str]
    sentences: list[tuple[str, bool, bool]]
    left: list[str]
    width: int
    faults: list[str]


@pytest.fixture(scope="module")
def both(
    browser: Any, demo_site: Path, spanish: Translator, axe: str
) -> tuple[dict[str, Reading], dict[str, Reading]]:
    """Each page as it is in English and in Spanish; each is opened once in either, the next one
    while this is read, so that it comes to rest meanwhile."""

    def read(page: Any, at: str, left: bool) -> Reading:
        if left:
            ready(page)
        page.wait_for_load_state("networkidle")
        english = left_in_english(page, spanish) if left and at in PAGES else []
        found = figures(page), page.evaluate(SENTENCES), english
        width = page.evaluate("document.documentElement.scrollWidth")
        return Reading(*found, width, page.evaluate(THIN) + violations(page, axe) if left else [])

    every = [*PAGES, *(at for at in LISTED if at not in PAGES)]

    def read_all(pages: list[Any], left: bool) -> dict[str, Reading]:
        found: dict[str, Reading] = {}
        for number, at in enumerate([*every, None]):
            if at is not None:
                pages[number % 2].goto(server.address + at)
            if number:
                last = every[number - 1]
                found[last] = read(pages[(number - 1) % 2], last, left)
        return found

    with (
        served(demo_site, still=True) as server,
        tab(browser, viewport={"width": 320, "height": 700}) as page,
    ):
        pages = [page, page.beside()]
        pages[1].set_viewport_size({"width": 320, "height": 700})
        english = read_all(pages, left=False)
        choose(page)
        return english, read_all(pages, left=True)


def test_figures_are_the_same_and_nothing_of_the_frame_is_left(
    both: tuple[dict[str, Reading], dict[str, Reading]],
) -> None:
    english, ours = both
    for at in PAGES:
        assert ours[at].figures == english[at].figures, at
    assert {at: ours[at].left for at in PAGES if ours[at].left} == {}


def test_no_sentence_is_in_english_without_its_mark(
    both: tuple[dict[str, Reading], dict[str, Reading]],
) -> None:
    """What a page says in English after it was put into Spanish is the kitchen's own or a source's
    title, and marked as English; names of dishes and foods stay."""
    english, ours = both
    bare, marked = {}, 0
    for at in LISTED:
        before = {text for text, *_ in english[at].sentences}
        same = [one for one in ours[at].sentences if one[0] in before]
        marked += sum(is_marked for _, is_marked, _ in same)
        bare_here = [text for text, is_marked, name in same if not is_marked and not name]
        if left := [text for text in bare_here if not CLAUSES.fullmatch(text)]:
            bare[at] = left
    assert bare == {}
    assert marked > 20  # the chef's sentences are there, and marked


def test_what_a_batch_writes_is_spanish_and_its_record_is_not(
    browser: Any, server: Server, spanish: Translator
) -> None:
    with tab(browser) as page:
        page.goto(server.address + ROLL)
        choose(page)
        page.get_by_role("button", name="Iniciar un lote", exact=True).click()
        page.locator("dialog button", has_text="Iniciar un lote de").click()
        page.wait_for_selector(".ks-at-bench", state="attached")
        page.get_by_role("button", name="La sonda marca 59 °C: iniciar").first.click()
        page.wait_for_selector(".ks-strips")
        page.locator("#step-6").get_by_role("button", name="Lectura", exact=True).first.click()
        dialog = page.locator("dialog[open]")
        for key in "74":
            dialog.get_by_role("button", name=key, exact=True).click()
        dialog.get_by_role("button", name=re.compile("Guardar 74")).click()
        page.wait_for_timeout(1200)
        assert left_in_english(page, spanish) == []
        kept = page.evaluate("ksStore.all()")[0]
        assert kept["clocks"][0]["name"] == "7 Chill"
        assert "aún no" in dialog.text_content()
        assert "not yet" in [reading["verdict"] for reading in kept["readings"]]


def test_names_of_parts_other_units_and_a_print(browser: Any, server: Server) -> None:
    """ "Mince" over the weights is a name; the verb's Spanish would tell a cook to chop. The other
    units go there and back; a print is in the language of the page."""
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + ROLL)
        names = page.locator(".ks-part h3").all_inner_texts()
        assert "Mince" in names
        choose(page)
        page.wait_for_selector("html[lang=es]")
        assert page.locator(".ks-part h3").all_inner_texts() == names
        limit = page.locator("#step-7 .ks-limit")
        before = limit.inner_text()
        units = page.get_by_role("button", name="°F, lb, oz")
        units.click()
        page.wait_for_timeout(300)
        assert "68" in limit.inner_text() and "or" not in limit.inner_text().split()
        page.locator(".ks-tools button", has_text="°").click()
        page.wait_for_timeout(300)
        assert limit.inner_text() == before
        paper = pypdf.PdfReader(io.BytesIO(page.pdf()))
        text = " ".join(one.extract_text() for one in paper.pages)
        assert "la sonda debe marcar" in text and "probe must read" not in text
        assert "Copia impresa" in text and "Printed copy" not in text


def test_axe_finds_nothing_in_spanish(both: tuple[dict[str, Reading], dict[str, Reading]]) -> None:
    """By every rule, on every kind of page, and none is wider than the smallest glass."""
    _, ours = both
    assert set(ours) >= set(LISTED)
    assert {at: one.width for at, one in ours.items() if one.width > 320} == {}
    assert {at: one.faults for at, one in ours.items() if one.faults} == {}


def test_a_saved_copy_is_read_in_spanish_without_signal(browser: Any, server: Server) -> None:
    server.still = False
    with tab(browser) as page:
        page.goto(server.address)
        choose(page)
        page.locator("#ks-save").click()
        page.wait_for_selector("text=/Guardado: revisión/", timeout=60_000)
        page.offline(True)
        page.goto(server.address + ROLL)
        ready(page)
        assert page.locator("#weigh").text_content() == "Pesar"
        assert "Copia guardada" in page.locator(".ks-saved").text_content()


def test_a_page_written_by_hand_keeps_its_language(browser: Any, server: Server) -> None:
    with tab(browser) as page:
        page.goto(server.address + "about/")
        text = page.locator("article").inner_text()
        choose(page)
        assert page.locator("article").inner_text() == text
        assert page.locator("article").get_attribute("lang") == "en"
        assert page.locator("#ks-menu").get_attribute("aria-label") == "Menú"

"""The frame's words in other languages: whole, with the same places, and nothing of the kitchen's."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import AS_OF, ROOT
from translating import placed, texts_of, translator

from generator.files.finding import Refused
from generator.framing.wording import own_words, tongues
from generator.pages import make_pages
from generator.reference.catalogue import Catalogue, places, read_catalogues
from generator.sheet.manual import Manual, make_manual

CATALOGUES = read_catalogues(ROOT / "shared")
KITCHENS = ("base", "england", "second_kitchen")
REFERENCE = re.compile(r"reference/(glossary|sources|rules-.*|findings.*|find)\.md")
"""Pages of reference data: glossary, sources, packs. Their texts keep their language."""
FIGURES = re.compile(r"\d+(?:[.,]\d+)*")


def missing(manual: Manual, found: Catalogue) -> list[str]:
    """The texts of a manual's pages that have no words, but for those of reference data."""
    told = translator(found, own_words(manual))
    texts = {
        text
        for page in make_pages(manual)
        if not REFERENCE.fullmatch(page.uri)
        for text in texts_of(page.html)
    }
    return sorted({placed(text) for text in texts if told(text) is None})


@pytest.mark.parametrize("code", CATALOGUES)
def test_every_text_of_the_demos_pages_has_words(code: str, demo: Manual) -> None:
    assert missing(demo, CATALOGUES[code]) == []


@pytest.mark.parametrize("kitchen", KITCHENS)
@pytest.mark.parametrize("code", CATALOGUES)
def test_every_text_of_other_kitchens_pages_has_words(code: str, kitchen: str) -> None:
    manual = make_manual(ROOT / "tests" / "kitchens" / kitchen, AS_OF)
    assert isinstance(manual, Manual)
    assert missing(manual, CATALOGUES[code]) == []


@pytest.mark.parametrize("code", CATALOGUES)
def test_every_text_round_the_pages_has_words(code: str, demo: Manual, demo_site: Path) -> None:
    """Header, menu, foot and what the saved copy says, on one page of each kind."""
    told = translator(CATALOGUES[code], own_words(demo))
    site = re.search("(?m)^site_name: (.*)", (ROOT / "mkdocs.yml").read_text("utf-8"))
    assert site is not None
    known = {site[1], *site[1].split(" · "), "· standards manual"}
    lost = set()
    for name in ("index.html", "control/limits/index.html", "control/allergens/index.html"):
        html = (demo_site / name).read_text(encoding="utf-8")
        html = re.sub(r'<label class="[^"]*ks-words.*?</label>', "", html)
        for text in texts_of(html):
            if all(
                part not in known and told(part) is None for part in {text, text.split(" - ")[0]}
            ):
                lost.add(text)
    # What the builder makes of pages written by hand is theirs.
    assert lost - {"About this manual", "About"} == set()


@pytest.mark.parametrize("code", CATALOGUES)
def test_the_closed_lists_have_words(code: str, demo: Manual) -> None:
    """Whatever a kitchen may use: every verb, every caution, every allergen."""
    library = demo.library
    told = translator(CATALOGUES[code], ())
    texts = [v.name for v in library.verbs.values()]
    texts += [v.done for v in library.verbs.values() if v.done]
    texts += [text for c in library.cautions.values() for text in (c.name, c.words)]
    assert [text for text in texts if told(text) is None] == []


@pytest.mark.parametrize("code", CATALOGUES)
def test_both_sides_of_a_message_have_the_same_places(code: str) -> None:
    found = CATALOGUES[code]
    assert len(found.all) > 2000
    assert {e: w for e, w in found.all.items() if places(e) != places(w)} == {}
    # A figure belongs to the page: a message that holds one would say it for every page.
    assert [
        w for w in found.all.values() if re.search(r"\d", re.sub(r"\{\d\}|SO2|B\.", "", w))
    ] == []


@pytest.mark.parametrize("code", CATALOGUES)
def test_the_sources_of_the_terms_are_known(code: str, demo: Manual) -> None:
    terms = CATALOGUES[code].terms
    assert len({term.term for term in terms}) == len(terms) > 30
    named = [term.source for term in terms if term.source]
    assert named and set(named) <= set(demo.library.sources)


@pytest.mark.parametrize("code", CATALOGUES)
def test_figures_are_copied(code: str, demo: Manual) -> None:
    """Every figure of every page is there once again, whatever its order."""
    told = translator(CATALOGUES[code], own_words(demo))
    texts = {text for page in make_pages(demo) for text in texts_of(page.html)}
    checked = 0
    for text in texts:
        words = told(text)
        if words is not None:
            checked += 1
            assert sorted(FIGURES.findall(words)) == sorted(FIGURES.findall(text)), text
    assert checked > 3000


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Poach", "Escalfar"),
        ("Add the ice and salt.", "Agregar: ice y salt."),
        ("Above 20 °C after 2 h: throw it away.", "Más de 20 °C después de 2 h: desechar."),
        ("on 30 Nov 2026 · revision 4", "el 30 nov 2026 · revisión 4"),
        ("milk, eggs, tree nuts (walnut)", "leche, huevos, frutos secos de árbol (nuez)"),
        ("Chill the knife.", None),  # the chef's, and nobody translated it
        ("Add the knife.", None),  # no part of this kitchen
        ("−18 °C", "−18 °C"),
    ],
)
def test_a_text_in_spanish(text: str, words: str | None) -> None:
    assert translator(CATALOGUES["es"], ("ice", "salt"))(text) == words


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("messages: {Weigh: Pesar}", "doesn't say its language"),
        ("language: X\nmessages: {Weigh: ''}", "`Weigh` has no words"),
        ("language: X\nmessages: {'{} g': g}", "other places than `{} g`"),
        ("language: X\nmessages: {'{x} of {y}': '{x} de {x}'}", "other places"),
        ("language: X\nmessages: [a]", "no list of texts"),
        ("language: X\nterms: [{term: probe}]", "a term without its words"),
        ("language: X\nmessages: {a: b", "shared/words/xx.yaml"),
    ],
)
def test_words_that_cannot_be_read_are_refused(text: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "words").mkdir()
    (tmp_path / "words" / "xx.yaml").write_text(text + "\n", encoding="utf-8")
    with pytest.raises(Refused) as refused:
        read_catalogues(tmp_path)
    assert said in refused.value.message


def test_the_script_holds_messages_and_names_but_no_sentence_of_the_kitchen(demo: Manual) -> None:
    home, *others = tongues(demo, "Heron Mill")
    assert (home.code, home.file) == ("en", "") and [t.code for t in others] == list(CATALOGUES)
    for tongue in others:
        value = json.loads(tongue.script.removeprefix("ksWords="))
        assert value["messages"] == CATALOGUES[tongue.code].all
        assert "turkey thigh, boneless, skinless" in value["own"]
        assert not [text for text in value["own"] if text.endswith(".")]

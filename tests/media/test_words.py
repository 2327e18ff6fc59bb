"""The frame's words in other languages: whole, with the same places, and nothing of the kitchen's."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import AS_OF, ROOT, compute, edit, lay
from each_row import each_row
from translating import Translator, placed, texts_of, translator

from generator.files.finding import Refused
from generator.pages import make_pages
from generator.pages.wording import names_script, own_words, tongues
from generator.reference.catalogue import Catalogue, places, read_catalogues
from generator.sheet.manual import Manual, make_manual

CATALOGUES = read_catalogues(ROOT / "shared")
KITCHENS = ("base", "england", "second_kitchen")
NAMES = re.compile(r"reference/(glossary|sources|findings.*|find)\.md")
"""Pages of titles, and of what else a food is called: they keep their language."""
REFERENCE = re.compile(rf"{NAMES.pattern}|reference/rules-.*\.md")
"""With the packs of other kitchens, whose texts keep theirs too."""
FIGURES = re.compile(r"\d+(?:[.,]\d+)*")


def missing(manual: Manual, found: Catalogue, but: re.Pattern[str] = REFERENCE) -> list[str]:
    """The texts of a manual's pages that have no words, but for those of the pages ``but``."""
    told = translator(found, own_words(manual))
    texts = {
        text
        for page in make_pages(manual)
        if not but.fullmatch(page.uri)
        for text in texts_of(page.html)
    }
    return sorted({placed(text) for text in texts if told(text) is None})


@pytest.mark.parametrize("code", CATALOGUES)
def test_every_text_of_the_demos_pages_has_words(code: str, demo: Manual) -> None:
    """Its rule packs as well, to the last note."""
    assert missing(demo, CATALOGUES[code], NAMES) == []


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
        html = re.sub(r'<label class="[^"]*ks-tongue.*?</label>', "", html)
        for text in texts_of(html):
            if all(
                part not in known and told(part) is None for part in {text, text.split(" - ")[0]}
            ):
                lost.add(text)
    # What the builder makes of pages written by hand is theirs.
    assert lost - {"About this manual", "About"} == set()


@pytest.mark.parametrize("code", CATALOGUES)
def test_the_closed_lists_have_words(code: str, demo: Manual) -> None:
    """Whatever a kitchen may use: every verb, every caution, every term of the glossary."""
    library = demo.library
    told = translator(CATALOGUES[code], ())
    texts = [v.name for v in library.verbs.values()]
    texts += [v.done for v in library.verbs.values() if v.done]
    texts += [text for c in library.cautions.values() for text in (c.name, c.words)]
    texts += [
        text
        for term in library.glossary.terms.values()
        for text in (term.term, term.means, term.matters)
        if text
    ]
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


@each_row(
    ("text", "words"),
    [
        ("Poach", "Escalfar"),
        (
            "Draft, do not use · revision 4 · not these figures",
            "Borrador, no usar · revisión 4 · no estas cifras",
        ),
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
    home, *others = tongues(demo)
    names = json.loads(names_script(demo, "Heron Mill").removeprefix("ksNames="))
    assert {"turkey thigh, boneless, skinless", "heron mill"} <= set(names)
    assert not [text for text in names if text.endswith(".")]
    assert (home.code, home.file) == ("en", "") and [t.code for t in others] == list(CATALOGUES)
    for tongue in others:
        value = json.loads(tongue.script.removeprefix("ksWords="))
        assert value["messages"] == CATALOGUES[tongue.code].all
        assert not {text for text, words in value["own"].items() if not words}


@pytest.fixture(scope="module")
def translated(tmp_path_factory: pytest.TempPathFactory) -> Manual:
    """The clean kitchen with some of its texts in Spanish beside the English."""
    kitchen = lay("base", tmp_path_factory.mktemp("translated") / "kitchen")
    edit(
        kitchen,
        "processes/baked.yaml",
        "loses: 10 %",
        "loses: 10 %\n    how: {en: [Turn it over., Baste it.], es: [Darle la vuelta., Bañarlo.]}\n"
        "    until: {en: It is brown., es: Está dorado.}\n"
        "    probe: {en: The centre of the loaf., es: El centro del pan.}\n"
        "    if_missed: {en: Bake on., es: Seguir horneando.}\n"
        "    note: {en: Hot., es: Caliente.}",
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "name: Pork bake",
        "name: {en: Pork bake, es: Cerdo al horno}",
    )
    found = compute(kitchen)
    assert isinstance(found, Manual), found
    return found


def test_the_kitchens_own_language_is_all_that_is_computed_with(
    translated: Manual, clean: Manual
) -> None:
    assert [f for f in translated.findings if f.severity != "note"] == []
    assert translated.standards.formulas["pork-bake"].name == "Pork bake"
    step = next(s for s in translated.standards.processes["baked"].steps if s.until)
    assert (step.how, step.until) == (("Turn it over.", "Baste it."), "It is brown.")
    mine, theirs = translated.sheets["pork-bake"], clean.sheets["pork-bake"]
    assert [b.loads.count for b in mine.batches] == [b.loads.count for b in theirs.batches]
    assert [limit.id for limit in mine.walk.limits] == [limit.id for limit in theirs.walk.limits]


def test_the_page_carries_both(translated: Manual) -> None:
    script = next(t.script for t in tongues(translated) if t.code == "es")
    own = json.loads(script.removeprefix("ksWords="))["own"]
    assert own["turn it over."] == "Darle la vuelta." and own["it is brown."] == "Está dorado."
    assert (
        own["pork bake"] == "Cerdo al horno"
        and own["the centre of the loaf"] == "El centro del pan"
    )
    words = {**{w.lower(): w for w in own_words(translated)}, **{k: v for k, v in own.items() if v}}
    found = CATALOGUES["es"]
    told = Translator(found.all, words, found.joins, found.same)
    page = next(p for p in make_pages(translated) if p.uri.endswith("pork-bake.md"))
    texts = {told(text) for text in texts_of(page.html)}
    assert {"Darle la vuelta.", "Bañarlo.", "Está dorado.", "Seguir horneando."} <= texts
    assert "Medir con la sonda: El centro del pan. Anotar la lectura y la hora." in texts


@pytest.mark.parametrize(
    ("languages", "notes"),
    [("", 0), ("languages: [en]", 0), ("languages: [en, es]", 1)],
)
def test_what_is_not_translated_is_counted_once(languages: str, notes: int, tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path / "kitchen")
    edit(kitchen, "kitchen.yaml", "cup: us", f"cup: us\n{languages}")
    edit(kitchen, "processes/baked.yaml", "loses: 10 %", "loses: 10 %\n    how: [One., Two.]")
    found = compute(kitchen)
    said = [f for f in found.findings if f.code == "language-untold"]
    assert len(said) == notes and all("2 of the kitchen" in f.message for f in said)
    assert not [f for f in found.findings if f.severity == "error"]

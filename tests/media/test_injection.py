"""Thirty hostile texts as names, notes and steps: in the built page they stay text."""

from __future__ import annotations

import functools
import html
import json
import logging
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
import yaml
from conftest import AS_OF, compute, lay

from generator.pages.page import Page
from generator.site.publish import build_site

pytestmark = pytest.mark.xdist_group("hostile")  # its site is built once, for a browser too
PAYLOADS = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "<svg/onload=alert(1)>",
    '"><b onmouseover=alert(1)>x</b>',
    "'><iframe src=//evil.example></iframe>",
    "</title><script>alert(2)</script>",
    "</div></article><h1>Gone</h1>",
    "[click](javascript:alert(1))",
    "![picture](https://evil.example/x.png)",
    "[ref][1] and [1]: javascript:alert(1)",
    "<https://evil.example>",
    "https://evil.example/plain",
    "javascript:alert(1)",
    "text {: onclick=alert(1) .big }",
    "{{ config.site_name }} {{ 7*7 }}",
    "{% include 'secret' %} {# gone #}",
    '--8<-- "secret.md"',
    '!!! danger "Now"',
    "??? note",
    "<!-- hidden --> shown",
    "&lt;script&gt;alert(3)&lt;/script&gt;",
    "&#60;b&#62;bold&#60;/b&#62;",
    "]]><![CDATA[x",
    "`code` ``more`` ~~~fence~~~",
    "**bold** _em_ ~~gone~~ ==mark== ^up^",
    "<details open><summary>x</summary></details>",
    "# Heading ## Two",
    "| a | b | --- | --- |",
    "1. one - two * three > quote",
    "$\\alpha$ \\(x\\) :smile: @user #123 [^1]",
    "--- title: other ---",
    "<style>body{display:none}</style>",
    "<?php echo 1 ?> <%= 1 %> ${7*7}",
    "*[HTML]: abbr \\<b\\> \\`x\\`",
]

EXTENSIONS = (
    "abbr",
    "admonition",
    "attr_list",
    "def_list",
    "footnotes",
    "md_in_html",
    "meta",
    "smarty",
    "tables",
    "toc: {permalink: true}",
    "pymdownx.arithmatex",
    "pymdownx.betterem",
    "pymdownx.caret",
    "pymdownx.critic",
    "pymdownx.details",
    "pymdownx.emoji",
    "pymdownx.highlight",
    "pymdownx.inlinehilite",
    "pymdownx.keys",
    "pymdownx.magiclink",
    "pymdownx.mark",
    "pymdownx.progressbar",
    "pymdownx.smartsymbols",
    "pymdownx.snippets",
    "pymdownx.superfences",
    "pymdownx.tabbed",
    "pymdownx.tasklist",
    "pymdownx.tilde",
    "pymdownx.blocks.html",
)
"""What a kitchen may switch on in its mkdocs.yml: none may act on what the chef typed."""

OURS = {
    "div",
    "h1",
    "h2",
    "h3",
    "h4",
    "p",
    "b",
    "i",
    "u",
    "br",
    "a",
    "section",
    "span",
    "label",
    "input",
    "ul",
    "li",
    "small",
    "details",
    "summary",
    "dl",
    "dt",
    "dd",
    "header",
    "footer",
    "nav",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "svg",
    "path",
    "strong",
    "em",
    "wbr",
    "pre",
    "mark",
    "code",
    "article",
    "dialog",
    "select",
    "optgroup",
    "option",
    "button",
}
HOLDS = {
    "class",
    "data-gone",
    "id",
    "href",
    "for",
    "type",
    "name",
    "value",
    "checked",
    "autocomplete",
    "aria-label",
    "aria-hidden",
    "aria-labelledby",
    "viewbox",
    "d",
    "role",
    "open",
    "scope",
    "title",
    "data-search-exclude",
    "data-kept",
    "data-loads",
    "tabindex",
    "rel",
    "data-at",
    "data-dough",
    "data-base",
    "data-batch",
    "data-facts",
    "data-kind",
    "data-limit",
    "data-other",
    "data-alt",
    "data-timer",
    "data-for",
    "data-i",
    "label",
    "inputmode",
    "hidden",
    "disabled",
    "data-sheets",
    "data-as-of",
}


class Article(HTMLParser):
    """Tags, attributes and text of the article; the titles and links of the navigation."""

    def __init__(self, markup: str) -> None:
        super().__init__(convert_charrefs=True)
        self.inside = False
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.links: set[str] = set()
        self.words: list[str] = []
        self.everything: list[str] = []
        self.script = 0
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "article":
            self.inside = True
        if tag == "script":
            self.script += 1
        if self.inside:
            self.tags.add(tag)
            self.attributes |= {name for name, _ in attrs}
        self.links |= {value or "" for name, value in attrs if name in ("href", "src")}
        assert not [n for n, _ in attrs if n.startswith("on")], (tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        if tag == "article":
            self.inside = False

    def handle_data(self, data: str) -> None:
        self.everything.append(data)
        if self.inside:
            self.words.append(data)


@functools.cache
def article(page: Path) -> Article:
    """A page of the site, read once for all the texts looked for on it."""
    return Article(page.read_text(encoding="utf-8"))


@functools.cache
def words_of(page: Path) -> str:
    return spaced("".join(article(page).words))


def spaced(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def quote(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One real build with every payload in every place."""
    project = lay("base", tmp_path_factory.mktemp("hostile") / "kitchen")
    standards = project / "standards"
    (project / "pages").mkdir()
    (project / "mkdocs.yml").write_text(
        "site_name: Hostile\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
        "plugins: [search, kitchen-manual]\n"
        f"markdown_extensions: [{', '.join(EXTENSIONS)}]\n"
    )
    salad = (standards / "formulas/rice-salad.yaml").read_text()
    toss = (standards / "processes/toss.yaml").read_text()
    ingredients = (standards / "ingredients/all.yaml").read_text()
    equipment = (standards / "equipment/house.yaml").read_text()
    for number, payload in enumerate(PAYLOADS):
        text = quote(payload)
        own = salad.replace(
            "name: Rice salad",
            f"name: {text}\nnote: {text}\nlooks_right: {text}\nlooks_wrong: {text}\nother_names: [{text}]",
        )
        own = own.replace(
            "makes: {portion: 180 g}", f"makes: {{portion: 180 g, portion_unit: {text}}}"
        )
        own = own.replace(
            "cooked-rice: 2 kg",
            f"hostile-{number}: {{amount: 2 kg, prepare: {text}, note: {text}}}",
        )
        own = own.replace("approved: R. Osei", f"approved: {text}").replace(
            "process: toss", f"process: toss-{number}"
        )
        (standards / f"formulas/hostile-{number}.yaml".replace("hostile-", "salad-")).write_text(
            own
        )
        step = toss.replace("name: Tossed salad", f"name: {text}\nnote: {text}").replace(
            "  - do: toss\n",
            f"  - do: toss\n    with: hostile-{number}\n    how: [{text}]\n    until: {text}\n"
            f"    note: {text}\n    probe: {text}\n    if_missed: {text}\n",
        )
        (standards / f"processes/toss-{number}.yaml").write_text(step)
        ingredients += (
            f"hostile-{number}:\n  name: {text}\n  species: none\n  state: ready-to-eat\n"
            "  allergens: none\n"
            f"  note: {text}\n  other_names: [{text}]\n  weighs: {{cup: 200 g, {text}: 20 g}}\n"
            f"  source: {text}\n"
            f"  composition: {{water: 80 %, protein: 10 %, fat: 5 %, source: {text}}}\n"
        )
        equipment += (
            f"hostile-{number}: {{kind: mixer, name: {text}, note: {text}, capacity: 90 "
            "kg, station: pass}\n"
        )
    (standards / "ingredients/all.yaml").write_text(ingredients)
    (standards / "equipment/house.yaml").write_text(equipment)
    kitchen = (standards / "kitchen.yaml").read_text()
    kitchen = kitchen.replace("name: Harbour Room", f"name: {quote(PAYLOADS[0])}")
    kitchen = kitchen.replace("Port Sable Health Rule 9", quote(PAYLOADS[1]))
    (standards / "kitchen.yaml").write_text(kitchen)
    (standards / "stations/pass.yaml").write_text(
        f"name: {quote(PAYLOADS[5])}\nabout: {quote(PAYLOADS[6])}\n"
    )
    assert yaml.safe_load((standards / "kitchen.yaml").read_text())["name"] == PAYLOADS[0]
    manual = compute(project)
    assert manual.errors == ()
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    build_site(manual, project / "site", strict=False)
    assert manual.as_of == AS_OF
    return project / "site"


def test_there_are_thirty() -> None:
    assert len(PAYLOADS) == len(set(PAYLOADS)) >= 30


@pytest.mark.parametrize(
    "number", range(len(PAYLOADS)), ids=[re.sub(r"\W+", "-", p)[:24] for p in PAYLOADS]
)
def test_a_payload_stays_text(site: Path, number: int) -> None:
    markup = (site / f"pass/salad-{number}/index.html").read_text(encoding="utf-8")
    page = Article(markup)
    text = spaced(PAYLOADS[number])
    shown = spaced("".join(page.words))
    assert shown.count(text) >= 8, "name, note, looks, prepare, step texts: all as typed"
    assert page.tags <= OURS, page.tags - OURS
    assert page.attributes <= HOLDS, page.attributes - HOLDS
    sheets = re.search(r'data-sheets="([^"]*)" data-gone="[0-9 ]*" data-as-of="([^"]*)"', markup)
    assert sheets is not None and re.fullmatch(r"(\d+:(\d+|none):[0-9a-f]{8}:[a-z]* ?)+", sheets[1])
    assert re.fullmatch(r"\d{1,2}\s[A-Z][a-z]{2}\s\d{4}", sheets[2])
    assert page.script == article(site / "404.html").script, "no script but the builder's own"
    assert not [x for x in page.links if "evil" in x or x.strip().lower().startswith("javascript")]
    everything = spaced("".join(page.everything))
    assert everything.count(text) > shown.count(text), (
        "the navigation and the title show it as text"
    )
    title = re.search(r"<title>(.*?)</title>", markup, re.DOTALL)
    assert title is not None and "<" not in title[1]
    assert spaced(html.unescape(title[1])) == f"{text} - Hostile", "once escaped, not twice"


def check_text(site: Path, address: str, text: str, at_least: int) -> None:
    """A page of the site shows a payload as typed, so often, and holds nothing but our own tags."""
    file = site / address / "index.html"
    page = article(file)
    assert words_of(file).count(text) >= at_least, address
    assert page.tags <= OURS, page.tags - OURS
    assert page.attributes <= HOLDS, page.attributes - HOLDS
    assert not [x for x in page.links if "evil" in x or x.strip().lower().startswith("javascript")]


@pytest.mark.parametrize(
    "number", range(len(PAYLOADS)), ids=[re.sub(r"\W+", "-", p)[:24] for p in PAYLOADS]
)
def test_a_payload_stays_text_on_what_is_shared(site: Path, number: int) -> None:
    text = spaced(PAYLOADS[number])
    check_text(
        site, f"processes/toss-{number}", text, 8
    )  # name, note, machine, how, until, probe, …
    check_text(
        site, f"ingredients/hostile-{number}", text, 7
    )  # name, also, note, use, measure, sources
    for shared in ("kitchen/processes", "kitchen/ingredients", "control/allergens"):
        check_text(site, shared, text, 1)
    check_text(site, "kitchen/equipment", text, 2)
    check_text(site, "reference/conversions", text, 3)
    check_text(site, "reference/sources", text, 2)
    check_text(site, "reference/tags", text, 2)


def test_home_and_station_stay_text(site: Path) -> None:
    home = Article((site / "index.html").read_text(encoding="utf-8"))
    assert PAYLOADS[0] in "".join(home.words)
    assert home.tags <= OURS
    station = Article((site / "pass/index.html").read_text(encoding="utf-8"))
    assert PAYLOADS[5] in "".join(station.words) and PAYLOADS[6] in "".join(station.words)
    assert station.tags <= OURS


def test_the_search_index_holds_the_words_as_typed(site: Path) -> None:
    """The index is data, shown as text by the script; no tag can be in it that a parser of HTML
    would see."""
    script = (site / "assets/index.js").read_text(encoding="utf-8")
    assert "<" not in script
    rows = json.loads(script.splitlines()[0].removeprefix("ksIndex="))
    assert len(rows) > len(PAYLOADS)
    titles = {spaced(row[0]) for row in rows}
    assert {spaced(payload) for payload in PAYLOADS} <= titles, "found under the name as typed"


def test_titles_in_front_matter_are_escaped() -> None:
    from generator.pages.page import make_page

    page: Page = make_page(
        "x.md",
        PAYLOADS[0],
        "",
        "finding.html",
        file="",
        status="",
        counted="",
        explain="",
        findings=[],
    )
    assert "<script" not in page.text

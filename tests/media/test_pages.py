"""Pages: text stays text, numbers are the sheet's, nothing needs a script."""

from __future__ import annotations

import datetime
import html
import json
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import jinja2
import pytest
import yaml
from conftest import BASE, ROOT, compute, edit
from hypothesis import given
from hypothesis import strategies as st
from mkdocs.config import load_config
from mkdocs.exceptions import Abort

from generator.pages import ASSETS, ON_DEMAND, PAGES, STATIC, make_pages
from generator.pages.escape import ENVIRONMENT, escape
from generator.pages.fault import fault_pages
from generator.pages.finding import in_place
from generator.pages.navigation import navigation
from generator.pages.page import Page, make_page
from generator.rules.basics.limit import (
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    HeatingLimit,
    InWords,
    KeepingLimit,
    NotCovered,
    ShareLimit,
    TimeLimit,
)
from generator.sheet.manual import Manual
from generator.site.publish import build_site, serve_site
from generator.views.uris import link

EMPTY_STATION: dict[str, object] = dict.fromkeys(
    (
        "about",
        "formulas",
        "scales",
        "machines",
        "routines",
        "planned",
        "register_href",
        "document",
        "adopted",
    ),
    "",
)


class Shown(HTMLParser):
    """The text a browser shows, element by element, and every tag with its attributes."""

    def __init__(self, markup: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())


def body(page: Page) -> str:
    return page.text.split("\n---\n", 1)[1]


def page_of(manual: Manual, uri: str) -> Page:
    return next(p for p in make_pages(manual) if p.uri == uri)


@given(
    st.text(
        alphabet=st.characters(exclude_categories=["Cs", "Cc", "Cn"]) | st.just("\n"), max_size=80
    )
)
def test_escaped_text_is_shown_as_typed(text: str) -> None:
    """Property: a browser shows what was typed, line breaks and the space before a degree apart,
    and no sign is left to act on."""
    escaped = str(escape(text))
    kept = re.sub(r"\s*[\n\u2028\u2029]\s*", " ", text)
    kept = re.sub("[\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]", "\ufffd", kept)
    assert not set(escaped.replace("&#", "")) & set('<>"`*_{}[]()!|~\\:/=@#$^+-')
    assert "\n" not in escaped
    assert "".join(Shown(escaped).words).replace("\u00a0", " ") == kept.replace("\u00a0", " ")


@given(st.text(alphabet=st.characters() | st.characters(categories=["Cc", "Cs"]), max_size=40))
def test_what_cannot_be_seen_breaks_nothing(text: str) -> None:
    """Property: controls, halves of characters and direction marks leave one encodable line, and a
    title goes through the front matter and back unchanged."""
    escaped = str(escape(text))
    escaped.encode("utf-8")
    assert len(f"a{escaped}b".splitlines()) == 1
    assert not re.search(
        "[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]", escaped
    )
    page = make_page("x.md", text, "", "station.html", **EMPTY_STATION)
    front = page.text.split("\n---\n", 1)[0].removeprefix("---\n")
    assert yaml.safe_load(front) == {"title": escaped}


def test_no_template_can_forget_the_escaper() -> None:
    template = ENVIRONMENT.from_string(
        "{{ x }}|{{ [x]|join(', ') }}|{{ x|upper }}|{{ [x]|first }}|{{ '%s'|format(x) }}"
        "{% autoescape false %}{{ x }}{% endautoescape %}{% set y %}{{ x }}{% endset %}{{ y }}"
    )
    shown = template.render(x="<b>*a*</b>")
    assert not set("<*/") & set(shown)
    for weaker in ("safe", "e", "escape", "forceescape", "tojson", "urlize", "xmlattr"):
        with pytest.raises(jinja2.TemplateAssertionError):
            ENVIRONMENT.from_string(f"{{{{ x|{weaker} }}}}")


def test_every_kind_of_page_is_there(demo: Manual) -> None:
    uris = {p.uri for p in make_pages(demo)}
    assert {
        "index.md",
        "control/limits.md",
        "stove/index.md",
        "stove/brown-turkey-stock.md",
        "control/allergens.md",
        "control/cautions.md",
        "kitchen/processes.md",
        "processes/stock.md",
        "kitchen/ingredients.md",
        "ingredients/thyme.md",
        "kitchen/equipment.md",
        "reference/conversions.md",
        "reference/glossary.md",
        "reference/sources.md",
        "reference/tags.md",
    } <= uris
    assert len(PAGES) == len(set(PAGES))


def test_pages_are_one_html_block_any_builder_keeps(demo: Manual) -> None:
    for page in make_pages(demo):
        front, rest = page.text.split("\n---\n", 1)
        assert json.loads(front.removeprefix("---\ntitle: "))
        block = rest.strip("\n")
        assert block.startswith('<div class="ks') and block.endswith("</div>")
        assert "\n\n" not in block
        tags = Shown(block).tags
        assert not [t for t, a in tags if t in ("script", "style", "iframe", "form", "object")]
        assert not [a for t, a in tags if any(k.startswith("on") or k == "style" for k in a)]
        ids = [a["id"] for _, a in tags if "id" in a]
        assert len(ids) == len(set(ids)), f"{page.uri}: an id twice"
        targets = {a["for"] for t, a in tags if t == "label" and "for" in a}
        assert targets <= set(ids)
        assert {h.id for h in page.headings} <= set(ids)
        hrefs = {a.get("href") or "" for t, a in tags if t == "a"}
        assert not [h for h in hrefs if ":" in h or h.startswith("//")]


def test_no_page_lies_where_another_does(kitchen: Path) -> None:
    """A station and formulas named like pages of ours: none is lost."""
    salad = kitchen / "standards/formulas/rice-salad.yaml"
    (kitchen / "standards/stations/control.yaml").write_text("name: Control room\n")
    edit(kitchen, "kitchen.yaml", "stations: [pass, range]", "stations: [pass, range, control]")
    for folder in ("processes", "ingredients", "kitchen", "reference"):
        (kitchen / f"standards/stations/{folder}.yaml").write_text(f"name: The {folder}\n")
    for ident, station in (
        ("index", "pass"),
        ("limits", "control"),
        ("findings", "control"),
        ("allergens", "control"),
        ("toss", "processes"),
        ("nutmeg-salad", "ingredients"),
        ("conversions", "reference"),
    ):
        text = salad.read_text().replace("station: pass", f"station: {station}")
        text = text.replace("name: Rice salad", f"name: Salad {ident}")
        (kitchen / f"standards/formulas/{ident}.yaml").write_text(text)
    manual = compute(kitchen)
    assert manual.errors == ()
    pages = make_pages(manual)
    uris = [p.uri for p in pages]
    assert len(uris) == len(set(uris))
    titles = [p.title for p in pages]
    assert {"Salad index", "Salad limits", "Salad findings", "Register of limits", "Pass"} <= set(
        titles
    )
    assert {
        "Salad allergens",
        "Allergens",
        "Salad toss",
        "Tossed salad",
        "Salad conversions",
    } <= set(titles)
    nav = navigation(pages, manual.house, ())
    listed = [
        uri
        for section in nav
        for of in section.values()
        for uri in ([of] if isinstance(of, str) else of)
    ]
    assert len(listed) == len(set(listed)), "no page stands in two sections"


def test_a_station_that_is_no_id_stays_in_the_tree(kitchen: Path) -> None:
    """A name typed for an id gives findings an address, never one outside the tree."""
    edit(kitchen, "formulas/pork-bake.yaml", "station: range", "station: ../../Range")
    for page in make_pages(compute(kitchen)):
        assert ".." not in page.uri and not page.uri.startswith("/")


def test_a_written_page_in_the_way_is_reported(
    kitchen: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (kitchen / "pages").mkdir()
    (kitchen / "pages/index.md").write_text("# Mine")
    (kitchen / "pages/range.md").write_text("# Mine too")
    (kitchen / "mkdocs.yml").write_text(
        "site_name: X\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
        "use_directory_urls: false\nplugins: [kitchen-manual]\n"
    )
    with caplog.at_level("WARNING", logger="mkdocs"):
        build_site(compute(kitchen), tmp_path / "site", strict=False)
    assert "index.md: the manual has its own page there" in caplog.text
    assert "range.md: the manual has its own page there" in caplog.text
    assert "use_directory_urls" in caplog.text
    home = (tmp_path / "site/index.html").read_text(encoding="utf-8")
    assert "Mine" not in home and (tmp_path / "site/range/pork-bake/index.html").is_file()


def test_a_build_computes_the_manual_once(
    kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(BASE, kitchen, dirs_exist_ok=True)
    manual = compute(kitchen)
    monkeypatch.setattr(
        "generator.site.earlier.make_manual", lambda *_: pytest.fail("computed again")
    )
    assert build_site(manual, tmp_path / "site", strict=True) == len(make_pages(manual))


@pytest.mark.parametrize(
    ("day", "status"),
    [(datetime.date(2026, 5, 3), "not-yet"), (datetime.date(2026, 5, 4), "current")],
)
def test_serving_is_of_the_day_asked_for(
    kitchen: Path, monkeypatch: pytest.MonkeyPatch, day: datetime.date, status: str
) -> None:
    """MkDocs reads the configuration itself while serving, and again after every edit."""
    shutil.copytree(BASE, kitchen, dirs_exist_ok=True)
    seen: list[Manual] = []

    def served(file: str, **_: object) -> None:
        for _edit in range(2):
            config = load_config(file)
            config.plugins.on_startup(command="serve", dirty=False)
            config = config.plugins.on_config(config)
            seen.append(config.plugins["kitchen-manual"].manual)

    monkeypatch.setattr("mkdocs.commands.serve.serve", served)
    serve_site(kitchen, day, "127.0.0.1", 8000)
    assert [m.as_of for m in seen] == [day, day]
    assert [m.sheets["pork-bake"].status for m in seen] == [status, status]


def test_a_day_in_mkdocs_yml_that_is_none_stops_the_build(kitchen: Path) -> None:
    """MkDocs's own command takes the day from there: written otherwise it isn't left out."""
    shutil.copytree(BASE, kitchen, dirs_exist_ok=True)
    file = kitchen / "mkdocs.yml"
    plugin = {"kitchen-manual": {"as_of": "25.11.2026"}}
    config = load_config(str(file), plugins=[plugin])
    config.plugins.on_startup(command="build", dirty=False)
    with pytest.raises(Abort, match=r"mkdocs\.yml: as_of: 25\.11\.2026 is not a date"):
        config.plugins.on_config(config)


def test_links_lead_to_pages(demo: Manual) -> None:
    pages = {p.uri: p for p in make_pages(demo)}
    folders = {
        ("/" + u.removesuffix(".md").removesuffix("index") + "/").replace("//", "/") for u in pages
    }
    for uri, page in pages.items():
        here = ("/" + uri.removesuffix(".md").removesuffix("index") + "/").replace("//", "/")
        for tag, attributes in Shown(body(page)).tags:
            href = (attributes.get("href") or "").split("#")[0]
            if tag == "a" and href:
                parts = here.strip("/").split("/") if here != "/" else []
                for step in href.split("/"):
                    if step == "..":
                        parts.pop()
                    elif step not in ("", "."):
                        parts.append(step)
                assert ("/" + "/".join(parts) + "/").replace("//", "/") in folders, f"{uri}: {href}"


def test_relative_links() -> None:
    assert link("index.md", "stove/index.md") == "stove/"
    assert link("stove/stock.md", "control/limits.md") == "../../control/limits/"
    assert link("stove/index.md", "index.md") == "../"


def test_every_weight_on_the_page_is_the_sheets(demo: Manual) -> None:
    pages = {page.uri: page for page in make_pages(demo)}
    for ident, sheet in demo.sheets.items():
        shown = Shown(body(pages[f"{sheet.formula.formula.home}/{ident}.md"])).text
        for batch in sheet.batches:
            for line in batch.lines:
                scale = line.weighing.scale
                assert scale is not None
                weight = f"{scale.shows(line.weighing.grams)} {scale.unit}"
                assert " ".join(weight.split()) in shown, f"{ident}: {line.name} {weight}"
            assert html.unescape(batch.label).replace("\u00a0", " ") in shown.replace("\u00a0", " ")


def test_every_limit_on_the_page_is_the_sheets(demo: Manual) -> None:
    pages = {page.uri: page for page in make_pages(demo)}
    register = Shown(body(pages["control/limits.md"])).text.replace("\u00a0", " ")
    for ident, sheet in demo.sheets.items():
        page = pages[f"{sheet.formula.formula.home}/{ident}.md"]
        shown = Shown(body(page)).text.replace("\u00a0", " ")
        for limit in sheet.walk.limits:
            match limit:
                case AcidityLimit():
                    assert f"{float(limit.ph.read):g} pH or less on the meter" in shown
                case TimeLimit():
                    assert limit.hazard == "preparation"
                    assert f"{limit.lasts.most_s / 3600} h out of the cold, in all" in shown
                case DoseLimit():
                    assert limit.most_ppm is not None
                    assert f"{float(limit.most_ppm):g} ppm of {limit.substance}" in shown
                case CoolingLimit():
                    for stage in limit.stages:
                        assert f"{stage.figure.read_at_c} °C within" in shown
                case HeatingLimit() | KeepingLimit():
                    word, figure = (
                        "or hotter" if limit.bound == "min" else "or colder",
                        limit.figure,
                    )
                    assert f"{limit.read} °C {word}".replace("-", "−") in shown
                    code = f"Code: {figure.shown_f} °F ({figure.shown_c} °C)"
                    assert code.replace("-", "−") in shown
                case ShareLimit():
                    bound = "at most" if limit.bound == "max" else "at least"
                    said = shown.replace("\u00a0", " ").lower()
                    assert f"{float(limit.percent):g} %" in said and bound in said
                    assert limit.of.lower() in said
                case InWords():
                    assert limit.words in shown
                case _:
                    pytest.fail(f"no page shows {limit.id}")
            assert limit.source.clause in shown
            assert limit.source.clause in register


def test_sizes_and_loads_need_no_script(demo: Manual) -> None:
    page = page_of(demo, "cold-kitchen/turkey-chive-roll.md")
    tags = Shown(body(page)).tags
    radios = [a for t, a in tags if t == "input" and a.get("type") == "radio"]
    assert [a["id"] for a in radios if a["name"] == "ks-size"] == ["s0", "s1", "s2"]
    sections = [
        a for t, a in tags if t == "section" and "ks-size" in (a.get("class") or "").split()
    ]
    assert len(sections) == 3
    loads = [a["id"] for a in radios if a["name"] == "ks-load-1"]
    assert loads == ["s1l0", "s1l1"]
    assert not [a for a in radios if a["name"] == "ks-load-0"], "one load: nothing to pick"
    assert [a["id"] for a in radios if "checked" in a and a["name"] == "ks-load-1"] == ["s1l0"]
    css = (ROOT / "generator/pages/static/manual.css").read_text()
    for index in range(8):
        rule = rf"#s{index}:checked\) \.ks-for(-{index}\b|:not\(\.ks-for-{index}\))"
        assert re.search(rule, css), f"size {index} is shown when it is picked"
    assert "@supports not selector(:has(*))" in css, "without :has every size is shown"


def test_a_broken_formula_shows_no_number(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    manual = compute(kitchen)
    page = page_of(manual, "range/pork-bake.md")
    shown = Shown(body(page))
    assert "Not computed · 2 errors to fix" in shown.text
    assert "salt: 1.6 of what?" in shown.text
    assert "Write targets: {bake: core 71 °C}" in shown.text.replace("\u00a0", " ")
    classes = " ".join(a.get("class") or "" for _, a in shown.tags)
    assert "ks-limit" not in classes and "ks-row" not in classes
    quoted = [a for t, a in shown.tags if t == "mark"]
    assert len(quoted) == 2
    others = {p.uri for p in make_pages(manual)}
    assert {"pass/rice-salad.md", "control/findings.md", "index.md"} <= others


def test_allergens_stand_in_words(clean: Manual, demo: Manual) -> None:
    spice = Shown(body(page_of(clean, "pass/house-spice.md"))).text
    assert "Contains none of the nine major allergens" in spice
    loaf = Shown(body(page_of(demo, "bakehouse/mill-loaf.md"))).text
    assert "Contains milk, eggs, wheat" in loaf


def test_a_draft_says_so(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "approved: R. Osei\n", "")
    edit(kitchen, "formulas/rice-salad.yaml", "effective: 2026-06-01", "effective: 2027-01-01")
    manual = compute(kitchen)
    draft = Shown(body(page_of(manual, "range/pork-bake.md"))).text
    later = Shown(body(page_of(manual, "pass/rice-salad.md"))).text
    assert "Draft, do not use · revision 1 · not approved" in draft
    assert "Not current · revision 1 · starts 1 Jan 2027" in later.replace("\u00a0", " ")


def test_what_the_code_does_not_list_has_no_figure(kitchen: Path) -> None:
    edit(kitchen, "processes/baked.yaml", "  - do: store", "  - do: vacuum-pack\n  - do: store")
    manual = compute(kitchen)
    assert "pork-bake" in manual.stopped
    limit = next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "reduced_oxygen")
    assert isinstance(limit, NotCovered)


def test_the_whole_manual_reads_fahrenheit(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    shown = Shown(body(page_of(compute(kitchen), "range/pork-bake.md"))).text.replace("\u00a0", " ")
    assert "162 °F or hotter" in shown
    assert "68 °F within 2 h" in shown and "39 °F within 6 h" in shown


def test_the_target_reads_in_the_kitchens_degrees(kitchen: Path) -> None:
    """A core target is never rounded to the laxer side; what the chef wrote is in brackets."""
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    shown = Shown(body(page_of(compute(kitchen), "range/pork-bake.md"))).text.replace("\u00a0", " ")
    assert "Target core 162 °F (72 °C)" in shown


def test_a_thirteenth_size_hides_nothing(kitchen: Path) -> None:
    """The style sheet picks one of twelve sizes; a longer list has no picker, so all are shown."""
    sizes = ", ".join(f"{n} dishes" for n in range(4, 17))
    edit(kitchen, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", f"[{sizes}]")
    tags = Shown(body(page_of(compute(kitchen), "range/pork-bake.md"))).tags
    assert not [a for _, a in tags if a.get("name") == "ks-size"]
    assert len([a for _, a in tags if "ks-size" in (a.get("class") or "").split()]) == 13


def test_the_script_is_small_and_asks_nobody() -> None:
    script = (STATIC / "manual.js").read_text(encoding="utf-8")
    look = (STATIC / "manual.css").read_text(encoding="utf-8")
    assert len(script.encode()) < 3000
    assert not re.search(r"fetch|XMLHttp|import\(|storage|https?:", script)
    assert not re.search(r"url\(|@import|https?:", look)


def test_scripts_ask_nobody_and_run_nothing_they_read() -> None:
    """They come from beside the page, words go in as text, figures are exact. No text of theirs
    runs over a line, so that indents may be taken off."""
    for name in (*ASSETS, *ON_DEMAND):
        if not name.endswith(".js"):
            continue
        text = (STATIC / name).read_text(encoding="utf-8")
        text = re.sub(r"^/\*!.*?\*/", "", text, flags=re.DOTALL)  # a kept library's licence
        assert all(line.count("`") % 2 == 0 for line in text.splitlines()), name
        asks = r"fetch\(|XMLHttp|import\(|https?:|innerHTML|outerHTML|eval|Function\("
        asks += r"|\.style\b(?!\.setProperty\(\"--)"  # a text for the foot of paper is no style
        assert not re.search(asks, text), name
        assert not re.search(r"parseFloat|toFixed|Math\.round", text), name


def test_findings_stand_where_the_page_stood(kitchen: Path) -> None:
    """A formula that can't even be read keeps the address it was last seen at."""
    stations: dict[str, str] = {}
    in_place(compute(kitchen), stations)
    (kitchen / "standards/formulas/pork-bake.yaml").write_text("name: [broken\n")
    broken = in_place(compute(kitchen), stations)
    assert "Not computed" in Shown(body(page_of(broken, "range/pork-bake.md"))).text


def test_a_fault_of_the_generator_becomes_a_page() -> None:
    pages = fault_pages(ZeroDivisionError("<b>by *nothing*</b>"))
    assert [p.uri for p in pages] == ["index.md"]
    shown = Shown(body(pages[0]))
    assert "ZeroDivisionError: <b>by *nothing*</b>" in shown.text
    assert "a fault of the generator" in shown.text


def test_every_load_has_its_tick(demo: Manual) -> None:
    sheet = demo.sheets["turkey-chive-roll"]
    tags = Shown(body(page_of(demo, "cold-kitchen/turkey-chive-roll.md"))).tags
    ticks = [
        a["id"]
        for t, a in tags
        if t == "input" and a.get("class") == "ks-tick" and (a["id"] or "").startswith("w")
    ]
    assert len(ticks) == sum(b.loads.count * len(b.per_load()) for b in sheet.batches)


def test_a_page_lists_its_own_section_only(demo_site: Path) -> None:
    """The navigation of a page must not grow with the manual: other sections show their name."""
    page = (demo_site / "cold-kitchen/turkey-chive-roll/index.html").read_text()
    nav = page.split('class="md-nav md-nav--primary"')[1].split("</nav>")[0]
    assert 'aria-current="page">Turkey roll with chives and mustard' in nav
    assert "Mill seasoning" in nav and "Stove" in nav and "Brown turkey stock" not in nav


def test_pages_written_by_hand_stand_in_sections(demo: Manual) -> None:
    """A folder makes a section of its name, one in it a section within; a station's folder joins
    the station; the rest is for reference."""
    written = [
        "guide/02-b.md",
        "guide/01-a.md",
        "guide/index.md",
        "guide/look-up/steps.md",
        "guide/look-up/a/deep.md",
        "guide/learn/2-b.md",
        "guide/learn/1-a.md",
        "about.md",
        "index.md",
        "house-rules/z.md",
        "stove/safety.md",
        "control/log.md",
    ]
    sections = navigation(make_pages(demo), demo.house, written)
    found = {title: uris for section in sections for title, uris in section.items()}
    assert list(found)[-5:] == ["Control", "Kitchen", "Reference", "Guide", "House rules"]
    assert found["Guide"] == [
        "guide/index.md",
        "guide/01-a.md",
        "guide/02-b.md",
        {"Learn": ["guide/learn/1-a.md", "guide/learn/2-b.md"]},
        {"Look up": ["guide/look-up/a/deep.md", "guide/look-up/steps.md"]},
    ]
    assert found["House rules"] == ["house-rules/z.md"]
    assert found["Stove"][0] == "stove/index.md" and found["Stove"][-1] == "stove/safety.md"
    assert found["Control"][0] == "control/limits.md" and found["Control"][-1] == "control/log.md"
    assert found["Reference"][-1] == "about.md"
    assert found["Home"] == "index.md"


def test_a_nav_of_the_kitchens_own_is_kept(kitchen: Path, tmp_path: Path) -> None:
    (kitchen / "pages/notes").mkdir(parents=True)
    (kitchen / "pages/notes/one.md").write_text("# One\n")
    (kitchen / "mkdocs.yml").write_text(
        "site_name: X\ndocs_dir: pages\nplugins: [kitchen-manual]\n"
        "theme: {name: material, font: false, features: [content.action.edit]}\n"
        "edit_uri_template: https://example.org/{path}\nnav: [{Mine: notes/one.md}]\n"
    )
    build_site(compute(kitchen), tmp_path / "site", strict=False)
    page = (tmp_path / "site/notes/one/index.html").read_text(encoding="utf-8")
    assert "Mine" in page and "Register of limits" not in page
    assert "https://example.org/pages/notes/one.md" in page

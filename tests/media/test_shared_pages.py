"""Pages of what the whole kitchen shares: each figure is its record's, each list is whole."""

from __future__ import annotations

import csv
import datetime
import html
import math
import posixpath
import re
import shutil
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest
from conftest import ROOT, compute, edit
from test_pages import Shown, body

from generator.indexes.sourcing import sources_used
from generator.indexes.tagging import tagged, tags_of
from generator.indexes.uses import cautions_raised, equipment_uses, ingredient_uses
from generator.measures.rounding import significant
from generator.measures.units import household_sets, load_units
from generator.measures.words import date, plain
from generator.pages import make_pages
from generator.pages.escape import escape
from generator.pages.page import Page
from generator.records.equipment import Cold, Machine, Scale, Thermometer, Vessel
from generator.reference.shared_data import installed
from generator.resolve.vessels import volume_ml
from generator.sheet.manual import Manual
from generator.sheet.weighing import unit_weights_of
from generator.views.limit_view import at_a_glance, limit_view
from generator.views.tables import limit_table, mass_table, measures_of, spoon_table
from generator.views.uris import address, formula_uri, ingredient_uri, link, pack_uri, process_uri


class Held:
    """A manual as a key: the same one is the same."""

    def __init__(self, manual: Manual) -> None:
        self.manual = manual

    def __hash__(self) -> int:
        return id(self.manual)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Held) and other.manual is self.manual


PUBLISHED = ROOT / "tests" / "published"


@lru_cache(maxsize=8)
def _pages(held: Held) -> dict[str, Page]:
    return {page.uri: page for page in make_pages(held.manual)}


def page_of(manual: Manual, uri: str) -> Page:
    return _pages(Held(manual))[uri]


def shown(manual: Manual, uri: str) -> str:
    """The words of a page, every space an ordinary one."""
    text = Shown(body(page_of(manual, uri))).text.replace("\u00a0", " ").replace("−", "-")
    return re.sub(r"\s+", " ", text)


def markup_of(manual: Manual, uri: str, ident: str) -> str:
    """The markup of a page from the heading ``ident`` to the next one."""
    markup = body(page_of(manual, uri))
    start = markup.index(f'id="{escape(ident)}"')
    end = re.search(r"<h[23] ", markup[start:])
    return markup[start : start + end.start()] if end else markup[start:]


def section(manual: Manual, uri: str, ident: str) -> str:
    """The words of a page from the heading ``ident`` to the next one."""
    part = markup_of(manual, uri, ident)
    text = Shown("<p " + part).text.replace("\u00a0", " ").replace("−", "-")
    return re.sub(r"\s+", " ", text)


# Processes


def test_every_process_has_its_steps(demo: Manual) -> None:
    assert demo.standards is not None and demo.house is not None
    for ident, process in demo.standards.processes.items():
        words = shown(demo, process_uri(ident))
        for step in process.steps:
            verb = demo.house.library.verbs.get(step.do)
            assert (verb.name if verb else step.do.replace("-", " ").capitalize()) in words
            for line in (*step.how, step.until, step.probe, step.if_missed, step.note):
                assert line.replace("\u00a0", " ") in words
            if step.loses is not None:
                assert f"Loses {step.loses.words} of its weight".replace("\u00a0", " ") in words
            if step.at is not None:
                assert str(step.at).replace("\u00a0", " ") in words
            if step.with_ is not None:
                assert demo.standards.equipment[step.with_].name in words


def test_a_process_shows_the_limits_its_formulas_get(demo: Manual) -> None:
    for sheet in demo.sheets.values():
        for walked in sheet.walk.steps:
            if not walked.limits or sheet.formula.formula.process is None:
                continue
            markup = body(page_of(demo, process_uri(sheet.formula.formula.process)))
            start = markup.index(f'id="step-{walked.step.number}"')
            here = Shown("<p " + markup[start:].split('<section class="ks-step"')[0]).text
            assert sheet.name in here
            for limit in walked.limits:
                for chip in at_a_glance(limit_view(sheet.house, limit)):
                    reported = f"{chip.figure} {chip.words}"
                    assert reported.replace("\u00a0", " ").replace("-", "−") in here.replace(
                        "\u00a0", " "
                    ).replace("-", "−")


def test_a_hold_is_reported_with_its_figure(kitchen: Path) -> None:
    """A figure without its hold would be read as enough by itself."""
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 68 °C for 5 min")
    manual = compute(kitchen)
    limit = next(lm for lm in manual.sheets["pork-bake"].walk.limits if lm.hazard == "cook")
    assert limit.hold_s == 300
    assert "68 °C or hotter for 5 min" in shown(manual, "processes/baked.md")


def test_a_stopped_formula_is_named_by_its_process(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    words = shown(compute(kitchen), "processes/baked.md")
    assert "Pork bake Not computed" in words
    assert "72 °C" not in words and "or hotter" not in words


# Ingredients


def test_every_ingredient_has_its_facts(demo: Manual) -> None:
    assert demo.standards is not None and demo.house is not None
    index = shown(demo, "kitchen/ingredients.md")
    for ident, facts in demo.standards.ingredients.items():
        words = shown(demo, ingredient_uri(ident))
        assert facts.name in words and facts.name in index
        for name in (*facts.other_names, facts.note):
            assert name in words
        declared = ", ".join(str(a) for a in facts.allergens) or "none of the nine major allergens"
        assert f"Contains {declared}" in words
        if facts.trim is not None:
            assert f"Trim loss {plain(facts.trim * 100)} %" in words
        if facts.tcs:
            assert "needs time and temperature control for safety" in words
        else:
            assert "needs no time and temperature control" in words
        for weight in unit_weights_of(demo.house, facts):
            assert f"about {plain(significant(weight.grams))} g" in words
            assert f"{plain(weight.grams)} g in the source" in words


def test_what_is_not_stated_is_said_to_count_as_the_strictest(kitchen: Path) -> None:
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  species: none\n  state: ready-to-eat\n  allergens: none\n  tcs: no\n  function",
        "  allergens: none\n  function",
    )
    words = shown(compute(kitchen), "ingredients/salt.md")
    assert "Species not stated: counted as the strictest" in words
    assert "State not stated: counted as raw" in words
    assert "needs time and temperature control for safety" in words


def test_uses_are_whole_through_nested_formulas(demo: Manual) -> None:
    uses = ingredient_uses(demo)
    thyme = {(u.formula, u.amount, u.through) for u in uses["thyme"]}
    assert thyme >= {
        ("brown-turkey-stock", "8 tbsp leaves", ()),
        ("mill-seasoning", "10 %", ()),
        ("turkey-chive-roll", "0.8 %", ("mill-seasoning",)),
    }
    for ident, sheet in demo.sheets.items():
        inside = {c.item for c in sheet.walk.end.components}
        reported = {
            item for item, all_uses in uses.items() if ident in {u.formula for u in all_uses}
        }
        assert inside == reported, "the walk and the list agree on what is in it"
    words = shown(demo, "ingredients/thyme.md")
    assert "inside Mill seasoning, 0.8 % of it" in words


def test_a_stopped_formula_is_never_left_out_of_the_uses(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    words = shown(compute(kitchen), "ingredients/pork-shoulder.md")
    assert "Pork bake Not computed · Meat" in words and "3 kg" not in words
    (kitchen / "standards/formulas/pork-bake.yaml").write_text("name: [broken\n")
    words = shown(compute(kitchen), "ingredients/pork-shoulder.md")
    assert "Not checked: pork-bake" in words


@pytest.mark.parametrize("function", ["cure", "gelling-agent"])
def test_what_is_weighed_in_grams_only_has_no_measure(kitchen: Path, function: str) -> None:
    strength = "\n  nitrite: 6.25 %" if function == "cure" else ""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  function: salt",
        f"  function: {function}{strength}\n  weighs: {{cup: 290 g}}\n  source: pack",
    )
    manual = compute(kitchen)
    words = shown(manual, "ingredients/salt.md")
    assert "cup" not in words and "290" not in words
    assert "Fine salt" not in shown(manual, "reference/conversions.md")
    if function == "cure":
        assert "Cure strength 6.25 % sodium nitrite" in words


def test_ingredients_do_not_fill_navigation_or_search(demo: Manual) -> None:
    for page in make_pages(demo):
        if page.uri.startswith(("ingredients/", "processes/")):
            assert not page.listed
    measures = body(page_of(demo, "ingredients/thyme.md"))
    assert re.search(r'<div data-search-exclude>\s*<h2 id="measures" data-search-exclude', measures)


# Equipment


def test_equipment_shows_its_own_figures(demo: Manual) -> None:
    assert demo.standards is not None
    for ident, piece in demo.standards.equipment.items():
        words = section(demo, "kitchen/equipment.md", ident)
        assert piece.name in words and piece.note in words
        if isinstance(piece, Scale):
            assert f"Division {piece.division.text}" in words
            assert f"Accuracy ±{piece.accuracy.text}" in words
            assert f"Capacity {piece.capacity.text}" in words
            assert piece.minimum is None or f"Minimum load {piece.minimum.text}" in words
        elif isinstance(piece, Thermometer):
            accuracy = str(piece.accuracy).replace("\u00a0", " ")
            assert f"Accuracy ±{accuracy}" in words
            assert f"So read {accuracy} more than a limit that must be hot" in words
        elif isinstance(piece, Machine | Cold):
            assert piece.capacity is None or f"At most {piece.capacity.text} at a time" in words
            assert piece.minimum is None or f"At least {piece.minimum.text}" in words
        if isinstance(piece, Cold):
            assert f"Air {piece.air}".replace("\u00a0", " ") in words
        if isinstance(piece, Vessel):
            assert piece.capacity is None or f"Holds at most {piece.capacity.text}" in words
    roll = section(demo, "kitchen/equipment.md", "grinder")
    assert "Turkey roll with chives and mustard step 1, Grind" in roll


def test_every_use_of_a_machine_is_reported(demo: Manual) -> None:
    uses = equipment_uses(demo)
    for sheet in demo.sheets.values():
        for step in sheet.formula.steps:
            for name in (step.step.with_, step.step.in_):
                if name:
                    assert (sheet.id, step.number) in {(u.formula, u.number) for u in uses[name]}
    filled = {(u.formula, u.number) for u in uses["roll-sleeve"]}
    assert ("turkey-chive-roll", 4) in filled, "the vessel the formula names"


def test_volumes_by_shape() -> None:
    """Textbook solids: a 1 dm cube is a litre; a cylinder of 1 dm across and deep is π/4 of it."""
    dm = Fraction(100)
    assert volume_ml("box", None, dm, dm, dm) == 1000
    for shape in ("cylinder", "casing"):
        volume = volume_ml(shape, dm, dm, None, dm)  # type: ignore[arg-type]
        assert volume is not None and math.isclose(float(volume), 250 * math.pi, rel_tol=1e-12)
    assert volume_ml("cylinder", dm, dm, None, None) is None
    assert volume_ml("casing", dm, None, None, dm) is None
    assert volume_ml("box", dm, dm, None, dm) is None


def test_a_vessel_shows_what_may_be_filled(demo: Manual) -> None:
    words = section(demo, "kitchen/equipment.md", "shallow-pan")
    # 500 × 300 × 65 mm = 9.75 l to the brim; 25 mm of headspace leave 500 × 300 × 40 mm = 6 l
    assert "Volume about 9.8 l to the brim" in words and "Fill to about 6 l" in words


# Allergens


def test_the_allergen_page_says_what_the_sheets_say(demo: Manual) -> None:
    words = shown(demo, "control/allergens.md")
    for sheet in demo.sheets.values():
        contains = ", ".join(str(a) for a in sheet.allergens) or "none of the nine major allergens"
        assert f"{sheet.name} Contains {contains}" in words
    assert demo.house is not None
    known = demo.house.allergens.named()
    for number, word in enumerate(known.values()):
        inside, _, without = markup_of(
            demo, "control/allergens.md", f"allergen-{number}"
        ).partition("<summary>")
        assert word.name in Shown("<p " + inside).text.lower()
        for sheet in demo.sheets.values():
            href = str(
                escape(
                    link("control/allergens.md", formula_uri(sheet.formula.formula.home, sheet.id))
                )
            )
            has = word.name in {a.word for a in sheet.allergens}
            assert (f'"{href}"' in inside) == has and (f'"{href}"' in without) == (not has)


def test_kinds_are_named(kitchen: Path) -> None:
    edit(
        kitchen,
        "ingredients/all.yaml",
        "allergens: [milk]",
        "allergens: [milk, tree nuts (almond), fish (cod)]",
    )
    words = shown(compute(kitchen), "control/allergens.md")
    assert "Rice salad Contains milk, fish (cod), tree nuts (almond)" in words
    assert "Rice salad almond" in words and "Rice salad cod" in words


def test_unknown_never_reads_as_none(kitchen: Path) -> None:
    """A formula that isn't computed is with every allergen as one to ask about."""
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    manual = compute(kitchen)
    words = shown(manual, "control/allergens.md")
    assert "Pork bake Not computed ask" in words
    for number in range(9):
        part = section(manual, "control/allergens.md", f"allergen-{number}")
        before, _, without = part.partition("Not in ")
        assert "Pork bake Not computed · ask" in before and "Pork bake" not in without
    edit(kitchen, "ingredients/all.yaml", "  allergens: [milk]\n", "")
    manual = compute(kitchen)
    assert "rice-salad" in manual.stopped
    assert "Rice salad Not computed ask" in shown(manual, "control/allergens.md")


def test_the_list_is_the_one_the_kitchen_declares_by(kitchen: Path) -> None:
    """Flour declared as gluten (wheat) by the EU's list must never are under "not in" for
    wheat."""
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: general\nallergens: eu")
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: White pepper\n  species: none\n  state: ready-to-eat\n  allergens: none",
        "name: White pepper\n  species: none\n  state: ready-to-eat\n"
        "  allergens: [gluten (wheat), celery]",
    )
    manual = compute(kitchen)
    assert manual.house is not None and manual.errors == ()
    words = shown(manual, "control/allergens.md")
    assert "the fourteen allergens of Annex II" in words and "nine major" not in words
    named = list(manual.house.allergens.named())
    assert (
        len(named) == 14 and "wheat" not in named
    )  # Regulation (EU) 1169/2011, Annex II: 14 entries
    part = section(manual, "control/allergens.md", f"allergen-{named.index('gluten')}")
    assert "House spice wheat" in part.partition("Not in ")[0]
    assert "House spice" not in part.partition("Not in ")[2]
    assert "contains gluten" in {tag.word for tag in tagged(manual)}
    assert "Contains gluten (wheat), celery" in shown(manual, "ingredients/white-pepper.md")
    assert "Contains none of the fourteen" in shown(manual, "ingredients/nutmeg.md")


def test_a_word_off_the_list_frees_nobody(kitchen: Path) -> None:
    """A formula whose ingredient declares by another list isn't computed, so it is one to ask
    about."""
    edit(kitchen, "ingredients/all.yaml", "allergens: [milk]", "allergens: [milk, lupin]")
    manual = compute(kitchen)
    assert {"rice-salad", "pork-bake"} <= set(manual.stopped)
    words = shown(manual, "control/allergens.md")
    assert "Rice salad Not computed ask" in words and "lupin" not in words.lower()


# Cautions


def test_every_caution_stands_on_one_page(demo: Manual) -> None:
    words = shown(demo, "control/cautions.md")
    seen = []
    for sheet in demo.sheets.values():
        notices = [*sheet.notices.page, *(n for ns in sheet.notices.by_step.values() for n in ns)]
        for notice in notices:
            assert notice.words in words and f"Source: {notice.source}" in words
            seen.append(notice.id)
        for number, of_step in sheet.notices.by_step.items():
            for notice in of_step:
                part = section(demo, "control/cautions.md", notice.id)
                assert notice.severity.upper() in part
                assert re.search(rf"{re.escape(sheet.name)} [^{{]*step {number} ", part)
    assert {r.id for r in cautions_raised(demo)} == set(seen)
    order = [words.index(f" {w} ") for w in ("WARNING", "CAUTION", "NOTICE")]
    assert order == sorted(order)


def test_a_caution_switched_off_shows_its_reason(kitchen: Path) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "cautions_off: {raw-pork: One board only}\n")
    words = shown(compute(kitchen), "control/cautions.md")
    off = words[words.index("Switched off, with the reason") :]
    assert "in Pork bake Reason: One board only" in off


# Conversions


def test_units_equal_the_published_tables() -> None:
    """NIST Handbook 44, Appendix C, typed a second time in published/units_nist.csv."""
    units = load_units(installed(), "us")
    table = [*mass_table(units), *spoon_table(units)]
    rows = {(r.unit, r.other): r.value for r in table if r.amount == 1}
    with (PUBLISHED / "units_nist.csv").open(encoding="utf-8") as file:
        published = {row["id"]: row for row in csv.DictReader(file)}
    for key, unit in (("US-GAL", "gal"), ("US-QT", "qt"), ("US-PT", "pt"), ("US-CUP", "cup")):
        assert rows[unit, "ml"] == Fraction(published[key]["value_mL"])
    # HB 44 App. C: 16 ounces a pound; 8 fluid ounces, 16 tablespoons a cup; 3 teaspoons a
    # tablespoon;
    # 4 quarts, 8 pints, 16 cups a gallon
    assert rows["lb", "oz"] == 16
    assert rows["cup", "fl oz"] == 8 and rows["cup", "tbsp"] == 16 and rows["tbsp", "tsp"] == 3
    assert rows["gal", "qt"] == 4 and rows["gal", "pt"] == 8 and rows["gal", "cup"] == 16


@pytest.mark.parametrize("cup", household_sets(installed()))
def test_the_kitchens_own_cups(kitchen: Path, cup: str) -> None:
    edit(kitchen, "kitchen.yaml", "cup: us", f"cup: {cup}")
    manual = compute(kitchen)
    assert manual.house is not None
    words = shown(manual, "reference/conversions.md")
    for unit in ("cup", "tbsp", "tsp"):
        factor = manual.house.units.by_name[unit].factor
        assert f"1 {unit} {plain(significant(factor, 4), 10)} ml" in words
    has_pints = not manual.house.units.by_name["pt"].missing
    assert (" 1 pt " in words) == has_pints


def test_a_source_s_cup_is_not_the_kitchens() -> None:
    """USDA weighs US cups of 236.6 ml; a metric kitchen's cup of 250 ml of the same food weighs
    more."""
    from generator.scaling.weights import UnitWeight

    us, metric = load_units(installed(), "us"), load_units(installed(), "metric")
    cup = UnitWeight("cup", "", Fraction(240), us.by_name["cup"].factor, "usda-sr28")
    pint = UnitWeight("pt", "", Fraction(480), us.by_name["pt"].factor, "usda-sr28")
    assert [m.grams for m in measures_of(us, [cup, pint])] == [240, 480]
    in_metric, no_pint = measures_of(metric, [cup, pint])
    assert (
        in_metric.grams == Fraction(240) * 250 / us.by_name["cup"].factor and in_metric.other_size
    )
    assert no_pint.unit == "ml" and no_pint.grams == Fraction(480) / us.by_name["pt"].factor


def test_limits_are_rounded_to_the_strict_side_only(demo: Manual) -> None:
    """135 °F is shown as 58 °C and 165 °F as 74 °C at least; 70 °F as 21 °C at most."""
    words = shown(demo, "reference/conversions.md")
    for row in limit_table(demo):
        assert row.shown >= row.exact if row.bound == "min" else row.shown <= row.exact
        side = "least" if row.bound == "min" else "most"
        sign = {"°C": "°C", "°F": "°F"}[row.other]
        assert f"at {side} {row.value} {plain(row.shown)} {sign}".replace("\u00a0", " ") in words
    limits = section(demo, "reference/conversions.md", "limit-degrees")
    assert "at least 135 °F 58 °C" in limits and "at most 70 °F 21 °C" in limits
    assert "57 °C" not in limits


def test_every_exact_figure_is_exact(demo: Manual) -> None:
    """ "Exact" is beside nothing that was rounded, and no endless decimal is called exactly so."""
    assert demo.house is not None
    for row in [*mass_table(demo.house.units), *spoon_table(demo.house.units)]:
        assert row.exact == (row.shown == row.value)
    words = shown(demo, "reference/conversions.md")
    assert "1 lb 16 oz exact" in words and "100 g 3.527 oz rounded" in words
    assert "rounded; exactly 3.527" not in words
    assert "1 oz 28.35 g rounded; exactly 28.349523125 g" in words
    assert "350 °F 177 °C rounded from 176.7 °C" in words  # (350 − 32) / 1.8 = 176.666…


def test_without_a_house_there_are_no_shared_pages(kitchen: Path) -> None:
    (kitchen / "standards/kitchen.yaml").unlink()
    manual = compute(kitchen)
    uris = {p.uri for p in make_pages(manual)}
    stopped = {formula_uri(s.station, s.id) for s in manual.stopped.values()}
    assert len(stopped) == 3 and uris == {"index.md", "control/findings.md"} | stopped


def well_made(pages: list[Page]) -> None:
    """Whatever is wrong, every page that can be made is made, at an address of its own."""
    uris = [p.uri for p in pages]
    assert uris and len(uris) == len(set(uris))
    assert all(formula_uri("a", "b") and "\n\n" not in body(p).strip("\n") for p in pages)


# Glossary


VOCABULARY = """formula; base; percent of base; part; batch; load; fill; portion; yield; trim loss; cook loss;
as purchased; edible portion; station; process spec; step; target; critical limit; legal maximum; monitoring;
corrective action; verification; record; core temperature; hold time; lethality; two-stage cooling; date mark; day 1;
use-by; TCS; ready-to-eat; reduced-oxygen packaging; ingoing nitrite; meat block; water-phase salt; variance;
HACCP plan; consumer advisory; highly susceptible population; scale division; accuracy; capacity; minimum load;
revision; effective date; controlled copy"""
"""The terms this manual is written in: no other word means these things."""


def test_every_term_of_the_vocabulary_is_explained(demo: Manual) -> None:
    assert demo.library is not None
    terms = {t.term.lower() for t in demo.library.glossary.terms.values()}
    asked = {" ".join(word.split()).lower() for word in VOCABULARY.split(";")}
    assert len(asked) == 47 and asked - terms == set()
    assert len(terms) >= 40


def test_terms_of_law_name_their_clause_and_copy(demo: Manual) -> None:
    assert demo.library is not None
    legal = {i: t for i, t in demo.library.glossary.terms.items() if t.legal}
    assert {"tcs", "ready-to-eat", "critical-limit", "haccp-plan", "variance", "comminuted"} <= set(
        legal
    )
    for ident, term in legal.items():
        assert term.clause and term.source in demo.library.sources
        part = section(demo, "reference/glossary.md", ident)
        assert term.clause in part and demo.library.source_title(term.source or "") in part
        assert term.means in part


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("    clause: Food Code 3-502.11\n", "", "term-without-clause"),
        ("    source: wi-atcp-75-3-502-11\n", "", "term-without-clause"),
        ("source: wi-atcp-75-3-502-11", "source: nowhere", "source-unknown"),
        ("also: [groundnut,", "also: [hazelnut,", "term-twice"),
        ("terms:\n", "words:\n", "group-expected"),
        ('matters: "Each has one page', 'mattered: "Each has one page', "key-unknown"),
    ],
)
def test_a_faulty_glossary_is_reported(kitchen: Path, old: str, new: str, code: str) -> None:
    shutil.copytree(installed(), kitchen / "shared")
    path = kitchen / "shared/glossary.yaml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    found = [f for f in compute(kitchen).findings if f.place.file == "shared/glossary.yaml"]
    assert code in {f.code for f in found}, found


def test_without_a_glossary_it_is_asked_for(kitchen: Path) -> None:
    shutil.copytree(installed(), kitchen / "shared")
    (kitchen / "shared/glossary.yaml").unlink()
    found = [f for f in compute(kitchen).findings if f.code == "reference-missing"]
    assert [f.message for f in found] == ["shared/glossary.yaml is missing."]


def test_without_the_working_rule_the_law_leaves_to_us_it_is_asked_for(kitchen: Path) -> None:
    """As in a copy of shared/ from before the rule was written, which `changes` reads."""
    shutil.copytree(installed(), kitchen / "shared")
    (kitchen / "shared/working-rules.yaml").write_text("working_rules: {}\n")
    found = [f for f in compute(kitchen).findings if f.code == "reference-missing"]
    assert [f.message for f in found] == ["shared/working-rules.yaml has no `preparation`."]


def test_other_names_stand_in_the_table_they_name(demo: Manual) -> None:
    """Those that name USDA SR28 as source are in its FOOD_DES file under both names."""
    usda = pytest.importorskip("usda_nutrition")
    path = Path(next(iter(usda.__path__))) / "data/sr28/FOOD_DES.txt"
    described = path.read_text(encoding="latin-1").lower()
    lines = [line.split("^")[2].strip("~") for line in described.splitlines()]
    assert demo.library is not None
    known = demo.library.glossary.other_names
    for other in [o for o in known.values() if o.source == "usda-sr28"]:
        names = [
            n.lower().replace(" ", "").removesuffix("lettuce").removesuffix("bean")
            for n in (other.name, *other.also)
        ]
        together = [ln for ln in lines if names[0] in ln.replace(" ", "")]
        assert any(n in ln.replace(" ", "") for ln in together for n in names[1:]) or (
            # SR28 writes "onions, spring or scallions": the words turned round
            other.name == "Scallion" and any("onions, spring or scallions" in ln for ln in lines)
        ), other.name


# Sources


def test_every_source_a_sheet_names_is_listed(demo: Manual) -> None:
    assert demo.library is not None
    words = shown(demo, "reference/sources.md")
    for sheet in demo.sheets.values():
        for limit in sheet.walk.limits:
            for title in limit.source.read_in:
                key = next(k for k, s in demo.library.sources.items() if s.named == title)
                part = section(demo, "reference/sources.md", key)
                assert title in part and sheet.name in part and limit.source.clause in part
        for line in sheet.walk.lines:
            if line.weighed.source in demo.library.sources:
                part = section(demo, "reference/sources.md", line.weighed.source)
                assert sheet.name in part and "weights of measures" in part
    for raised in cautions_raised(demo):
        key = demo.library.cautions[raised.id].source
        assert raised.name in section(demo, "reference/sources.md", key)
    for use in sources_used(demo):
        if use.record is not None:
            assert use.record.title in words and use.record.url in words
            read = use.record.read_on
            on = date(datetime.date.fromisoformat(read)).replace("\u00a0", " ") if read else ""
            assert on in section(demo, "reference/sources.md", use.key)


def test_the_kitchens_own_sources_are_reported(clean: Manual) -> None:
    words = shown(clean, "reference/sources.md")
    own = words[words.index("The kitchen's own") :]
    assert "dairy's data sheet" in own and "weighed here 2026-03-02" in own
    assert "Whole egg what a measure weighs" in own


# Tags


def test_every_formula_stands_under_its_tags(demo: Manual) -> None:
    by_tag = {tag.word: set(ids) for tag, ids in tagged(demo).items()}
    for ident, sheet in demo.sheets.items():
        for allergen in sheet.allergens:
            assert ident in by_tag[f"contains {allergen.word}"]
        assert ident in by_tag[sheet.formula.station.name]
        if sheet.formula.formula.process is not None:
            assert ident in by_tag[sheet.formula.process.name]
    assert {"turkey-chive-roll", "brown-turkey-stock"} <= by_tag["chilled"]
    assert "mill-loaf" in by_tag["baked"] - by_tag["chilled"]
    assert by_tag["contains none of the nine major allergens"] == {
        i for i, s in demo.sheets.items() if not s.allergens
    }
    for ident, sheet in demo.sheets.items():
        words = shown(demo, formula_uri(sheet.formula.formula.home, ident))
        tags = words[words.index("Tags ") :]
        assert all(tag.word in tags for tag in tags_of(sheet))


def test_what_is_not_computed_is_tagged_as_nothing_else(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    edit(kitchen, "formulas/rice-salad.yaml", "approved: R. Osei\n", "")
    by_tag = {tag.word: set(ids) for tag, ids in tagged(compute(kitchen)).items()}
    assert by_tag["not computed"] == {"pork-bake"} and by_tag["draft, do not use"] == {"rice-salad"}
    assert not [w for w, ids in by_tag.items() if "pork-bake" in ids and w != "not computed"]


def test_every_anchor_leads_somewhere(demo: Manual, clean: Manual) -> None:
    """A link to a part of a page finds that part: steps, pieces of equipment, sources, tags."""
    for manual in (demo, clean):
        pages = {page.uri: Shown(body(page)) for page in make_pages(manual)}
        ids = {uri: {a["id"] for _, a in p.tags if "id" in a} for uri, p in pages.items()}
        by_address = {address(uri): uri for uri in pages}
        checked = 0
        for uri, page in pages.items():
            for tag, attributes in page.tags:
                href = attributes.get("href") or ""
                if tag != "a" or "#" not in href:
                    continue
                path, _, anchor = href.partition("#")
                folder = posixpath.normpath(posixpath.join("/" + address(uri), path)) + "/"
                target = by_address["" if folder == "//" else folder.lstrip("/")]
                assert anchor in ids[target], f"{uri}: {href}"
                checked += 1
        assert checked > 40


def test_what_is_looked_up_often_is_one_tap_away(demo: Manual) -> None:
    """Home leads to allergens; a formula to its process, ingredients and tags; a station to its
    tools."""

    def links(uri: str) -> set[str]:
        return {a.get("href") or "" for t, a in Shown(body(page_of(demo, uri))).tags if t == "a"}

    assert "control/allergens/" in links("index.md")
    formula = links("cold-kitchen/turkey-chive-roll.md")
    assert {"../../processes/poached-roll/", "../../ingredients/turkey-thigh/"} <= formula
    assert "../../reference/tags/#allergen-milk" in formula
    assert {"../kitchen/equipment/#paddle-mixer", "../kitchen/equipment/#fine-scale"} <= links(
        "cold-kitchen/index.md"
    )


def test_an_ingredient_says_how_cold_it_must_arrive(demo: Manual) -> None:
    """Food Code 3-202.11(A): 41 °F or below, which a probe of ±1 °C reads at 4 °C."""
    words = section(demo, ingredient_uri("turkey-thigh"), "receive")
    assert "receive: probe must read 4 °C or colder" in words and "41 °F" in words
    assert "3-202.11(A)" in words
    assert 'id="receive"' not in body(page_of(demo, ingredient_uri("salt-fine")))
    register = body(page_of(demo, "control/limits.md"))
    assert "ingredients/turkey-thigh/#receive" in html.unescape(register)


def test_allergen_words_are_those_of_the_kitchens_own_list(kitchen: Path) -> None:
    """An EU list on a US code: the fourteen of Annex II, not the nine, wherever allergens are
    reported."""
    edit(kitchen, "kitchen.yaml", "time_zone:", "allergens: eu\ntime_zone:")
    manual = compute(kitchen)
    assert manual.house is not None and len(manual.house.allergens.words) == 14
    reported = shown(manual, "control/allergens.md")
    assert "fourteen" in reported and "nine" not in reported
    salt = shown(manual, ingredient_uri("salt"))
    assert manual.house.allergens.none in salt and "nine" not in salt


# Rule packs


def test_a_pack_page_shows_every_row(demo: Manual) -> None:
    """Each row held in force is on its pack's page: figure in the unit of record, clause,
    copies."""
    assert demo.house is not None and demo.house.additives is not None
    for pack in (demo.house.pack, demo.house.additives):
        words = shown(demo, pack_uri(pack.id))
        assert f"{len(pack.rows)} rows here" in words
        markup = body(page_of(demo, pack_uri(pack.id)))
        assert markup.count("<li><div>") == len(pack.rows)
        hrefs = {a.get("href") for t, a in Shown(markup).tags if t == "a"}
        for row in pack.rows.values():
            assert row.clause in words
            value = getattr(row, "value", None)  # only some kinds of row have one
            if value is not None:
                figure = f"{plain(value.in_unit(pack.facts.unit))} {pack.facts.unit}"
                assert figure in words
            for key in row.read_in:
                assert f"{link(pack_uri(pack.id), 'reference/sources.md')}#{key}" in hrefs
        for gap in pack.facts.not_covered:
            assert gap.what in words and gap.why in words


def test_published_rows_stand_on_the_pack_page(demo: Manual) -> None:
    """Food Code 3-401.11(A)(2), 3-501.14(A), 3-501.16 and 9 CFR 424.21(c), as read in the copies
    named in tests/published/sources.csv."""
    cooking = section(demo, pack_uri("us-food-code-2022"), "topic-cooking")
    assert "155 °F or hotter for 17 s" in cooking and "Printed beside: 68 °C." in cooking
    cooling = section(demo, pack_uri("us-food-code-2022"), "topic-cooling")
    assert "70 °F within 2 h" in cooling and "41 °F within 6 h" in cooling
    assert "The clock starts at 135 °F (57 °C)." in cooling
    curing = section(demo, pack_uri("us-9cfr-424"), "topic-curing")
    assert "156.25 ppm or less" in curing and "Printed beside: 156 ppm." in curing
    words = shown(demo, pack_uri("us-food-code-2022"))
    for fact in (
        "Edition 2022",
        "Issued 28 Dec 2022",
        "Checked on 25 Nov 2026",
        "Unit of record °F",
    ):
        assert fact in words


def test_an_older_edition_shows_what_it_shares(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2013")
    manual = compute(kitchen)
    words = shown(manual, pack_uri("us-food-code-2013"))
    assert "Rows taken from US Food Code 2022" in words
    thaw = section(manual, pack_uri("us-food-code-2013"), "topic-thawing")
    assert "3-501.13(A)" in thaw and "3-501.13(E)" not in thaw
    assert "topic-other" not in body(page_of(manual, pack_uri("us-food-code-2013")))


def test_a_pack_is_searched_by_its_name_alone(demo: Manual) -> None:
    markup = body(page_of(demo, pack_uri("us-food-code-2022")))
    start = markup.index("<div data-search-exclude>")
    assert "<li>" not in markup[:start]
    assert all("data-search-exclude" in h for h in re.findall(r"<h2[^>]*>", markup))


def test_the_packs_are_linked_from_the_register_and_the_sources(demo: Manual) -> None:
    for uri in ("control/limits.md", "reference/sources.md"):
        links = {a.get("href") for t, a in Shown(body(page_of(demo, uri))).tags if t == "a"}
        for pack in ("us-food-code-2022", "us-9cfr-424"):
            assert link(uri, pack_uri(pack)) in links


# Checks of a probe


def test_each_probe_says_what_it_must_read_in_ice_and_boiling_water(demo: Manual) -> None:
    """The demo lies at 260 m, 853 ft. The table read (tests/published/boiling_points.csv, BP-N) has
    211.1 °F at 500 ft and 210.2 °F at 1000 ft; a straight line gives 210.5 °F, 99.2 °C. The
    standard atmosphere with the IAPWS saturation line gives 99.14 °C at 250 m (BP-CM-250)."""
    pocket = section(demo, "kitchen/equipment.md", "pocket-probe")
    assert "Ice and water, must read 0 °C; from -1 to 1 °C will do" in pocket
    assert "Boiling water, must read 99.2 °C; from 98.2 to 100.1 °C will do" in pocket
    assert "Altitude 260 m, 853 ft" in pocket
    spare = section(demo, "kitchen/equipment.md", "spare-probe")
    assert "Ice and water, must read 32 °F; from 30 to 34 °F will do" in spare
    assert "Boiling water, must read 210.5 °F; from 208.5 to 212.5 °F will do" in spare
    for key in ("cuphd-ice-point", "high-altitude-table"):
        assert "Equipment what a probe must read" in section(demo, "reference/sources.md", key)
        assert demo.library is not None and demo.library.source_title(key) in pocket


def test_without_an_altitude_no_probe_is_checked(kitchen: Path) -> None:
    assert "altitude" not in (kitchen / "standards/kitchen.yaml").read_text(encoding="utf-8")
    words = shown(compute(kitchen), "kitchen/equipment.md")
    assert "must read" not in words and "Boiling" not in words


def test_beyond_the_table_only_the_ice_point_is_known(kitchen: Path) -> None:
    path = kitchen / "standards/kitchen.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "\naltitude: 6000 m\n", encoding="utf-8")
    words = shown(compute(kitchen), "kitchen/equipment.md")
    assert "Ice and water, must read" in words and "Boiling water, must" not in words


# The register of limits

COLUMNS = (
    "Hazard",
    "Limit",
    "What",
    "How",
    "How often",
    "Who",
    "Corrective action",
    "Verification",
    "Record",
)
"""What the Codex General Principles of Food Hygiene (CXC 1-1969) ask of a HACCP plan; from
memory."""


def test_every_limit_leads_to_how_it_is_monitored(demo: Manual) -> None:
    assert demo.library is not None
    markup = body(page_of(demo, "control/limits.md"))
    hazards = {lm.hazard for sheet in demo.sheets.values() for lm in sheet.walk.limits}
    hazards |= {c.hazard for r in demo.routines.values() for c in r.checks} - {""}
    for hazard in (*hazards, "receive", "clean", "date"):
        ident = hazard.replace("_", "-")
        group = html.unescape(markup_of(demo, "control/limits.md", ident))
        assert f"monitor-{ident}" in group.split("<table")[0], hazard
        block = section(demo, "control/limits.md", f"monitor-{ident}")
        for column in COLUMNS:
            assert column in block, (hazard, column)
        words = demo.library.hazards[hazard]
        for reported in (
            words.guards,
            words.what,
            words.check,
            words.how_often,
            words.who,
            words.action,
            words.verify,
            words.record,
        ):
            assert reported in block
    blocks = html.unescape(markup).count('id="monitor-')
    assert blocks == len(hazards | {"receive", "clean", "date"})


def test_the_register_holds_dates_and_cleaning(demo: Manual) -> None:
    """Food Code 3-501.17(A), seven days with day 1; 4-602.11(C), four hours."""
    dates = section(demo, "control/limits.md", "date")
    for sheet in demo.sheets.values():
        found = sheet.walk.dates
        if found is not None and found.day is not None and found.kind == "cold":
            counted = "from the day it is packed" if found.day_one == "packed" else "day 1 counted"
            assert re.search(rf"{found.day} days? {counted} {re.escape(sheet.name)}", dates)
    assert "Code 7 days, 3-501.17(A)" in dates
    cleaning = section(demo, "control/limits.md", "clean")
    steps = [
        (s.name, w.step.number)
        for s in demo.sheets.values()
        for w in s.walk.steps
        if "cleans" in w.step.effects
    ]
    assert steps
    for name, number in steps:
        assert f"h at most {name} step {number} Code 4 h, 4-602.11(C)" in cleaning

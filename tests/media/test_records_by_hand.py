"""What pages, plots and sheets of paper hold, record by record and by hand: names, counts, ticks,
lines, and where a comment goes."""

from __future__ import annotations

import re
from fractions import Fraction
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest
from test_logs import logs
from test_review import FOOD_CODE_COOLING, c, cook_limit, f, figure, found, kept_limit, log_of

from generator.binder.batch_sheet import batch_sheets
from generator.binder.comments import Comments, Line, written
from generator.binder.sheets import bold
from generator.binder.weigh_list import _load_words
from generator.binder.yields_block import _cells, _counts
from generator.cli.binder import _report_codes
from generator.measures.temperature import Temperature
from generator.pages.batch_record import _measured
from generator.pages.ingredient import _species
from generator.pages.readings_plot import readings_plot
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual
from generator.views.equipment_view import litres
from generator.views.shelf_view import shelf_view
from generator.views.weigh_view import _bounds
from generator.views.yield_view import gets_words

# --- paper


def test_one_load_is_all_of_it_and_several_are_weighed_so_many_times() -> None:
    assert _load_words(1, "4 kg") == ["In all ", bold("4 kg")]
    assert _load_words(2, "4 kg") == ["Each line ", bold("twice"), "; one load is ", bold("4 kg")]
    assert _load_words(3, "4 kg")[1] == bold("3 times")


def test_what_there_is_is_counted_by_its_name(clean: Manual) -> None:
    """20 portions of 180 g; of four dishes of 900 g, a tenth lost in the oven, 3.24 kg: 21 portions
    of 150 g."""
    cells = {}
    for ident in ("rice-salad", "pork-bake"):
        sheet = clean.sheets[ident]
        cells[ident] = _cells(sheet, sheet.batches[0])
    assert cells["rice-salad"]["Portions"] == "20"
    assert (cells["pork-bake"]["Dishes"], cells["pork-bake"]["Portions"]) == ("4", "21")


def test_a_unit_without_a_weight_is_no_count() -> None:
    """`makes: {unit: loaf}` alone: nobody can say how many there are."""
    makes = SimpleNamespace(unit="loaf", plural="loaves", portion_unit="", portion_units="")
    yields = SimpleNamespace(
        fills=None,
        portions=None,
        portion_g=None,
        filled_g=None,
        ends_g=None,
        yield_g=Fraction(1500),
        yield_share=Fraction(1),
    )
    formula: Any = SimpleNamespace(formula=SimpleNamespace(makes=makes))
    batch: Any = SimpleNamespace(yields=yields, from_to=None)
    assert gets_words(formula, batch) == ("1.5\u00a0kg", "")
    assert _counts(SimpleNamespace(formula=formula), batch) == {}  # type: ignore[arg-type]


def test_the_boxes_under_the_head_are_those_of_the_page_it_is(clean: Manual) -> None:
    """On the first page scales are checked and the probe has a number; every other says which batch
    it is of. Blocks that name no half are of the first (`binder.typ`)."""
    sheet = batch_sheets(clean, clean.sheets["pork-bake"])[0]
    assert {block.get("phase", 0) for block in sheet["blocks"]} == {0, 1}
    first, other = ({one["label"] for one in row["fields"]} for row in sheet["fields"])
    assert {"Batch no.", "Date", "Scales checked, by", "Probe no."} <= first
    assert other == {"Batch no.", "Date"}


def test_a_comment_goes_to_the_nearest_key_above_that_is_left() -> None:
    lines = [Line(("a",), "a:"), Line(("b",), "b:"), Line(("b", "c"), "c:")]
    gone = {("b", "c", "d", "e"): ("# why",)}
    assert written(lines, Comments(head=gone)) == "a:\nb:\n  # why\n  c:\n"
    beside = {("b", "x"): "# so"}
    assert written(lines, Comments(beside=beside)) == "a:\n# so\nb:\n  c:\n"
    assert written(lines, Comments(head={("z",): ("# old",)})) == "# old\na:\nb:\n  c:\n"


def test_what_comes_in_says_the_figure_once_and_which_side_of_it(demo: Manual) -> None:
    """3-202.11(A), (C) and (B): 41 °F or below, on a ±1 °C probe 4 °C; eggs in air of 45 °F, 6 °C;
    milk at what the law on it says."""
    rows = logs(demo, "bakehouse")["receive"]["blocks"][0]["rows"]
    said = {row[0]["words"]: (row[1].replace("\u00a0", " "), row[2]) for row in rows}
    assert said["Butter, unsalted"][0] == "4 °C"
    assert said["Butter, unsalted"][1].startswith("or colder. ")
    assert said["Egg, whole, fresh"][0] == "6 °C"
    assert said["Egg, whole, fresh"][1].startswith("or colder, in the air. ")
    assert said["Whole milk"][0] == "–" and said["Whole milk"][1].startswith("May be received")


@pytest.mark.parametrize(("many", "said"), [(3, "s1; s2; s3."), (4, "s1; s2; s3 ….")])
def test_sheets_without_a_code_are_named_on_standard_error(
    many: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sheets = [{"qr": None, "control": {"id": f"s{n}"}} for n in range(1, many + 1)]
    printing: Any = SimpleNamespace(sheets=[*sheets, {"qr": "svg", "control": {"id": "has"}}])
    _report_codes(printing, "https://example.org/" + "x" * 3000)
    long = capsys.readouterr()
    _report_codes(printing, "")
    none = capsys.readouterr()
    assert long.out == none.out == ""
    assert long.err.strip().endswith(f"too long: {said}")
    assert none.err.strip().endswith("no QR codes: mkdocs.yml has no site_url.")


# --- pages


def test_a_volume_is_in_litres_from_one_on() -> None:
    said = {ml: litres(Fraction(ml)).replace("\u00a0", " ") for ml in (999, 1000, 1500)}
    assert said == {999: "999 ml", 1000: "1 l", 1500: "1.5 l"}


def test_an_ingredient_is_of_its_species(clean: Manual) -> None:
    assert clean.standards is not None
    found = {i: _species(facts) for i, facts in clean.standards.ingredients.items()}
    assert found["pork-shoulder"] == "pork"
    assert found["salt"] == "none: no meat, poultry, fish or egg"


def test_a_use_by_begins_with_one_capital(demo: Manual) -> None:
    assert demo.house is not None
    said = []
    for shelf in demo.shelves.values():
        use_by = shelf_view(demo.house, shelf).use_by
        if use_by is not None and shelf.dates is not None:
            said.append(use_by.words)
            assert use_by.words.lower() == shelf.dates.words.lower()
    assert said and all(words[0].isupper() for words in said)


@pytest.mark.parametrize(
    ("capped", "function", "bound"),
    [(True, "salt", True), (False, "cure", True), (True, "cure", True), (False, "salt", False)],
)
def test_what_the_law_caps_is_said_of_cures_and_of_capped_lines(
    capped: bool, function: str, bound: bool
) -> None:
    facts = SimpleNamespace(function=function, erythorbate=None)
    joined = SimpleNamespace(ingredient=facts)
    line: Any = SimpleNamespace(capped=capped, line=SimpleNamespace(joined=joined))
    assert bool(list(_bounds(line))) is bound


def test_a_measure_of_the_household_has_its_millilitres_and_a_metric_one_none(
    clean: Manual,
) -> None:
    """A US cup is 236.5882365 ml (NIST); the cream weighs 238 g a cup."""
    assert clean.house is not None
    factors = {}
    for ident in ("pork-bake", "rice-salad"):
        walk = clean.walks[ident]
        (cream,) = [ln for ln in walk.lines if ln.joined.item == "cream"]
        _, factor, unit, _ = _measured(clean.house, walk, cream)["volume"]
        factors[unit] = Fraction(factor)
    assert factors == {"cup": Fraction("236.5882365"), "ml": 0}


# --- the plot of readings

COOK = cook_limit(("165", figure(165, "°F", "min"), Fraction(0)))


def drawn(course: list[tuple[float, Temperature]], limit: Limit) -> ElementTree.Element:
    svg = readings_plot(log_of(course), found(course, limit), "°C", "Log")  # type: ignore[arg-type]
    return ElementTree.fromstring(re.sub(r' xmlns="[^"]+"', "", svg, count=1))


@pytest.mark.parametrize("hottest", [74, 75, 79.9, 80])
def test_every_reading_lies_within_the_plot(hottest: float) -> None:
    """The field is 320 high from 16 on: the hottest reading is not above it."""
    course = [(m * 60.0, c(t)) for m, t in enumerate((5, 20, 40, 60, hottest))]
    dots = [float(dot.attrib["cy"]) for dot in drawn(course, COOK).iter("circle")]
    assert len(dots) == 5 and all(16 <= y <= 336 for y in dots)
    assert min(dots) == dots[-1] and max(dots) == dots[0]


@pytest.mark.parametrize(
    ("limit", "pause", "lines"),
    [(COOK, 60, 1), (COOK, 1200, 2), (FOOD_CODE_COOLING, 60, 1), (FOOD_CODE_COOLING, 1200, 1)],
)
def test_a_pause_too_long_breaks_the_line_but_of_a_cooling(
    limit: Limit, pause: int, lines: int
) -> None:
    course = [(0.0, f(150)), (60.0, f(149)), (60.0 + pause, f(148)), (120.0 + pause, f(147))]
    assert len(list(drawn(course, limit).iter("polyline"))) == lines


def test_twelve_days_have_a_tick_every_two() -> None:
    """Two days are 2,880 minutes."""
    course = [(day * 86400.0, c(4)) for day in range(13)]
    plot = drawn(course, kept_limit(figure(41, "°F", "max"), "cold_hold"))
    said = [text.text or "" for text in plot.iter("text")]
    ticks = [int(re.sub(r"\s", "", words)) for words in said if re.fullmatch(r"[\d\s]+", words)]
    across = [tick for tick in ticks if tick >= 1000]
    assert across == [2880 * n for n in range(1, 7)]

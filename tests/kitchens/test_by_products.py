"""A kept output as a formula of its own: what it weighs, its limits and dates, who takes it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import compute, lay

from generator.binder.documents import station_sheets
from generator.sheet.ahead import ahead_of, of_words
from generator.sheet.manual import Manual
from generator.sheet.outputs import factor_of, outputs_of
from generator.views.yield_view import output_views

MILK = """\
milk:
  name: Whole milk
  species: none
  state: pasteurised
  form: liquid
  tcs: yes
  allergens: [milk]
rennet:
  name: Rennet
  species: none
  state: ready-to-eat
  form: liquid
  allergens: none
  tcs: no
"""
CHEESE = """\
name: Fresh cheese
revision: 1
effective: 2026-06-01
approved: R. Osei
station: range
base: milk
parts:
  milk: {milk: 10 kg}
  set: {rennet: 0.5 %}
  seasoning: {salt: 40 g, nutmeg: 10 g}
steps:
  - {do: pasteurise, add: milk, target: core 76 °C, time: 30 min}
  - {do: mix, id: set, add: set, time: 10 min}
  - {do: drain, leaves: {whey: {share: 80 %, then: kept}}, time: 30 min}
  - {do: mix, add: seasoning, time: 5 min}
  - {do: chill, in: blast, target: to 4 °C, time: 2 h}
  - {do: store, in: cold-room}
by_products:
  whey:
    makes: {litre: 1025 g}
    steps:
      - {do: chill, id: chill-whey, in: blast, target: to 4 °C, time: 2 h, loses: 5 %}
      - {do: store, in: cold-room}
    keeps: {cold: 2 days}
keeps: {cold: 4 days}
batches: [10 kg base, 20 kg base]
"""
RICOTTA = """\
name: Ricotta
revision: 1
effective: 2026-06-01
approved: R. Osei
station: range
parts:
  whey: {fresh-cheese-whey: 12 l}
steps:
  - {do: boil, target: core 90 °C, time: 30 min}
  - {do: drain, leaves: {scotta: {share: 92 %, then: thrown-away}}, time: 30 min}
  - {do: chill, in: blast, target: to 4 °C, time: 2 h}
  - {do: store, in: cold-room}
keeps: {cold: 2 days}
batches: [12.3 kg base]
"""


def put(folder: Path, cheese: str = CHEESE, **others: str) -> Manual:
    """The kitchen with the cheese and other formulas, computed."""
    standards = lay("base", folder) / "standards"
    file = standards / "ingredients/all.yaml"
    file.write_text(file.read_text(encoding="utf-8") + MILK, encoding="utf-8")
    for name, text in {"fresh-cheese": cheese, **others}.items():
        file = standards / f"formulas/{name.replace('_', '-')}.yaml"
        file.write_text(text, encoding="utf-8")
    made = compute(folder)
    assert isinstance(made, Manual)
    return made


@pytest.fixture(scope="module")
def creamery(tmp_path_factory: pytest.TempPathFactory) -> Manual:
    return put(tmp_path_factory.mktemp("creamery") / "k", ricotta=RICOTTA)


def said(manual: Manual) -> set[tuple[str, str]]:
    """The codes of errors and notes, with the formulas they are about."""
    formulas = {*manual.walks, *manual.stopped}
    return {
        (f.code, ident)
        for f in manual.findings
        if f.severity != "warning"
        for ident in f.about & formulas or {""}
    }


def test_mass_by_hand(creamery: Manual) -> None:
    """Of 10,050 g four fifths are whey: 8,040 g, chilled to 7,638; 2,010 g go on as cheese."""
    whey, cheese = creamery.walks["fresh-cheese-whey"], creamery.walks["fresh-cheese"]
    assert whey.end.mass == Fraction(7638) and cheese.end.mass == Fraction(2060)
    ((on, grams),) = [(one.name, one.grams) for one in outputs_of(whey, Fraction(1))]
    assert (on, grams) == ("Fresh cheese", 2010)
    assert sum(ln.grams for ln in whey.lines) == 8040 + grams
    assert {ln.joined.item for ln in whey.lines} == {"milk", "rennet"}, "what goes in later isn't"


def test_its_sizes_are_what_the_batches_give(creamery: Manual) -> None:
    sheet = creamery.sheets["fresh-cheese-whey"]
    assert [batch.yields.yield_g for batch in sheet.batches] == [7638, 15276]
    assert [batch.factor for batch in sheet.batches] == [1, 2]


def test_it_has_limits_dates_and_allergens_of_its_own(creamery: Manual) -> None:
    sheet = creamery.sheets["fresh-cheese-whey"]
    hazards = [limit.hazard for limit in sheet.walk.limits]
    assert "cool" in hazards and "cold_hold" in hazards
    assert sheet.walk.dates is not None and sheet.walk.dates.day == 2
    assert [a.word for a in sheet.allergens] == ["milk"]
    assert [a.word for a in creamery.sheets["ricotta"].allergens] == ["milk"]


def test_a_line_measures_it_by_its_litre(creamery: Manual) -> None:
    """12 l of 1,025 g."""
    (line,) = creamery.walks["ricotta"].lines
    assert line.grams == 12300


def test_who_makes_ahead_reads_where_it_comes_from(creamery: Manual) -> None:
    walk = creamery.walks["ricotta"]
    (ahead,) = ahead_of(creamery.walks, walk, Fraction(1))
    assert (ahead.id, ahead.gives) == ("fresh-cheese-whey", 15276)
    assert "Fresh cheese" in of_words(ahead)
    (view,) = output_views(
        creamery.sheets["fresh-cheese"], creamery.sheets["fresh-cheese"].batches[0]
    )
    assert view.then == "kept by a standard of its own: Fresh cheese, whey"


def test_paper_says_what_it_comes_out_of(creamery: Manual) -> None:
    records = station_sheets(creamery, "range")
    (sheet,) = (r for r in records if r["key"].endswith("/fresh-cheese-whey/batch"))
    words = [str(b["words"]) for b in sheet["blocks"] if b["form"] == "prose"]
    assert any("Comes out of:" in w and "Fresh cheese" in w for w in words)


def test_the_commands_answer(creamery: Manual) -> None:
    done = run(creamery.project, "batch", "ricotta", "--base", "24kg")
    assert "24 kg, out of Fresh cheese, at most 15.28 kg a batch" in done.stdout.replace(
        "\u202f", " "
    )
    assert run(creamery.project, "limits", "fresh-cheese-whey").returncode == 0


def test_asked_for_more_than_there_is(tmp_path: Path) -> None:
    """Two batches give 15,276 g: 16 kg by one formula is too much, and 2 × 8 kg by two."""
    more = RICOTTA.replace("12 l", "16 kg").replace("12.3 kg", "16 kg")
    assert said(put(tmp_path / "one", ricotta=more)) == {("by-product-short", "ricotta")}
    half = RICOTTA.replace("12 l", "8 kg").replace("12.3 kg", "8 kg")
    bread = half.replace("name: Ricotta", "name: Whey bread")
    both = put(tmp_path / "two", ricotta=half, bread=bread)
    assert said(both) == {("by-product-short", "ricotta"), ("by-product-short", "bread")}
    (found,) = (f for f in both.findings if f.code == "by-product-short")
    assert "together" in found.message and "16 kg" in found.message.replace("\u00a0", " ")
    assert said(put(tmp_path / "enough", ricotta=half)) == set()


def test_nobody_takes_it(tmp_path: Path) -> None:
    """With steps it is a standard of its own; with nothing said it is kept, in words alone."""
    assert "fresh-cheese-whey" in put(tmp_path / "said").sheets
    silent = CHEESE[: CHEESE.index("by_products")] + CHEESE[CHEESE.index("keeps: {cold: 4") :]
    manual = put(tmp_path / "silent", silent)
    assert "fresh-cheese-whey" not in manual.walks
    sheet = manual.sheets["fresh-cheese"]
    (view,) = output_views(sheet, sheet.batches[0])
    assert view.then.startswith("chill it like the food, then keep it cold")


def test_taken_without_a_word_it_goes_straight_in(tmp_path: Path) -> None:
    """It is as hot as the step that leaves it: the ricotta's own cooling follows."""
    silent = CHEESE[: CHEESE.index("by_products")] + CHEESE[CHEESE.index("keeps: {cold: 4") :]
    manual = put(tmp_path, silent, ricotta=RICOTTA.replace("12 l", "8 kg"))
    assert said(manual) == set()
    whey = manual.walks["fresh-cheese-whey"]
    assert whey.end.mass == 8040 and whey.end.hot


def test_kept_cold_it_must_be_chilled(tmp_path: Path) -> None:
    """Hot into the refrigerator it has its cooling limit there; without one it is asked for."""
    chill = (
        "      - {do: chill, id: chill-whey, in: blast, target: to 4 °C, time: 2 h, loses: 5 %}\n"
    )
    assert chill in CHEESE
    straight = put(tmp_path / "straight", CHEESE.replace(chill, ""))
    limits = straight.walks["fresh-cheese-whey"].limits
    assert [(one.hazard, one.step) for one in limits[:1]] == [("cool", "store")]
    nowhere = CHEESE.replace(chill, "").replace("      - {do: store, in: cold-room}\n", "")
    nowhere = nowhere.replace("    steps:\n    keeps", "    keeps")
    assert ("chill-missing", "fresh-cheese-whey") in said(put(tmp_path / "nowhere", nowhere))


def test_a_slip_in_a_shared_step_is_said_once(tmp_path: Path) -> None:
    manual = put(tmp_path, CHEESE.replace("do: pasteurise", "do: pasteurize-it"), ricotta=RICOTTA)
    assert [f.code for f in manual.errors] == ["verb-unknown"]
    assert {"fresh-cheese", "fresh-cheese-whey", "ricotta"} <= set(manual.stopped)


def test_a_formula_that_cannot_be_read_hides_its_by_products(tmp_path: Path) -> None:
    manual = put(tmp_path, CHEESE.replace("station: range", "statoin: range"), ricotta=RICOTTA)
    assert {f.code for f in manual.errors} <= {"key-unknown", "key-missing"}
    assert "ricotta" in manual.stopped


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("then: kept", "then: thrown-away", "by-product-not-kept"),
        ("  whey:\n", "  wey:\n", "by-product-unknown"),
        (
            "set: {rennet: 0.5 %}",
            "set: {rennet: 0.5 %, fresh-cheese-whey: 1 kg}",
            "formula-in-circle",
        ),
        ("set: {rennet: 0.5 %}", "set: {rennet: 0.5 %, ricotta: 1 kg}", "formula-in-circle"),
        ("base: milk", "base: seasoning", "by-product-without-base"),
        ("cold: 2 days", "cold: 20 days", "keeps-beyond-law"),
    ],
)
def test_what_cannot_be(tmp_path: Path, old: str, new: str, code: str) -> None:
    assert CHEESE.count(old) == 1
    manual = put(tmp_path, CHEESE.replace(old, new), ricotta=RICOTTA)
    assert {f.code for f in manual.errors} == {code}
    assert "fresh-cheese-whey" not in manual.sheets


def test_the_name_of_another_record(tmp_path: Path) -> None:
    other = RICOTTA.replace("fresh-cheese-whey: 12 l", "milk: 12.3 kg")
    manual = put(tmp_path, fresh_cheese_whey=other)
    assert [f.code for f in manual.errors] == ["id-twice"]


def test_the_steps_of_a_process_and_the_streams_beside_it(tmp_path: Path) -> None:
    """A sauce made apart before the fat is left goes into the dish alone."""
    text = (
        CHEESE.replace(
            "  - {do: drain",
            "  - {do: mix, id: sauce, work_on: seasoning, gives: sauce, time: 5 min}\n  - {do: drain, work_on: curd",
        )
        .replace("{do: mix, id: set, add: set", "{do: mix, id: set, gives: curd, add: set")
        .replace("{do: mix, add: seasoning", "{do: mix, add: sauce")
    )
    walk = put(tmp_path, text).walks["fresh-cheese-whey"]
    assert [s.step.id for s in walk.steps] == ["pasteurise", "set", "drain", "chill-whey", "store"]
    assert walk.end.mass == 7638


def test_what_is_known_of_its_food_stays_bounded(creamery: Manual) -> None:
    """Nobody knows how much fat drains off: composition of whey is a range, of no more than was
    there."""
    made = creamery.made["fresh-cheese-whey"]
    assert made.balance.grams == 7638


def test_the_factor_of_a_size(creamery: Manual) -> None:
    walk = creamery.walks["fresh-cheese-whey"]
    assert factor_of(walk, "yield", Fraction(3819)) == Fraction(1, 2)


SOUP = """\
name: A whey soup
revision: 1
effective: 2026-06-01
approved: R. Osei
station: range
parts:
  whey: {fresh-cheese-whey: 1 kg}
steps:
  - {do: boil, add: whey, target: core 95 °C}
  - {do: serve}
batches: [2 kg total]
"""


def test_its_sizes_are_the_same_whoever_is_computed_before(tmp_path: Path) -> None:
    """What takes it has a name that comes first, so it is walked before its own formula is."""
    sheets = put(tmp_path, a_whey_soup=SOUP).sheets
    assert [batch.factor for batch in sheets["fresh-cheese-whey"].batches] == [1, 2]
    for command in ("batch", "data", "limits"):
        assert run(tmp_path, command, "fresh-cheese-whey").returncode == 0


def test_a_size_is_asked_for_where_its_formula_has_an_error(tmp_path: Path) -> None:
    """Nobody knows then how much comes out of it; a size of one's own is answered."""
    put(tmp_path, CHEESE.replace("salt: 40 g", "sald: 40 g"), a_whey_soup=SOUP)
    for command in ("batch", "data", "dough"):
        done = run(tmp_path, command, "fresh-cheese-whey")
        assert done.returncode in (0, 1) and "Traceback" not in done.stderr

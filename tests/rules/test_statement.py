"""What a label says of a kitchen's formulas: by hand, on the page, by command and as JSON."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path

import pypdfium2
import pytest
from commands import run
from conftest import AS_OF, KITCHENS, compute, edit

from generator.pages import make_pages
from generator.records.ingredient import Allergen
from generator.sheet.manual import Manual, make_manual
from generator.sheet.nutrition import nutrition_of
from generator.sheet.statement import statement_of
from generator.views.label_view import all_allergens, label_view

CREAM = "  source: dairy's data sheet"
LABEL = (
    "  composition: {water: 59.5 %, protein: 2 %, fat: 35 %, carbohydrate: 3 %, ash: 0.5 %, "
    "alcohol: 0 %, sugar: 3 %, fibre: 0 %, saturated: 22 %, cholesterol: 113 mg, source: label}"
)


def made(kitchen: Path) -> Manual:
    manual = compute(kitchen)
    assert isinstance(manual, Manual), manual.errors
    return manual


def european(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °C\nallergens: eu")


def statement(manual: Manual, formula: str) -> str:
    return label_view(manual, formula).statement


def test_the_heaviest_stands_first(kitchen: Path) -> None:
    """By hand: 3000 g pork, 300 g egg, 238 g cream, 48 g salt, 30 g spice, of which 21 g is white
    pepper and 9 g nutmeg."""
    manual = made(kitchen)
    words = "Pork shoulder, Whole EGG, Cream (MILK), Fine salt, House spice (White pepper, Nutmeg)"
    assert statement(manual, "pork-bake") == words
    assert label_view(manual, "pork-bake").contains == "milk, eggs"
    found = statement_of(manual.house, manual.walks, manual.stated, "pork-bake")
    grams = [(one.item, one.grams) for one in found.ingredients]
    assert grams == [
        ("pork-shoulder", 3000),
        ("whole-egg", 300),
        ("cream", 238),
        ("salt", 48),
        ("house-spice", 30),
    ]
    spice = found.ingredients[-1]
    assert [(one.item, one.grams) for one in spice.inside] == [("white-pepper", 21), ("nutmeg", 9)]
    assert [one.small for one in found.ingredients] == [False, False, False, True, True]
    assert spice.share == Fraction(30, 3616)


def test_what_a_bought_food_is_made_of_stands_in_brackets(kitchen: Path) -> None:
    """An allergen its label names stands out there, and isn't said again."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        CREAM,
        f"{CREAM}\n  contains_ingredients: [pasteurised cream, milk protein, carrageenan]",
    )
    words = "Cream (pasteurised cream, MILK protein, carrageenan)"
    assert words in statement(made(kitchen), "pork-bake")


def test_a_comma_in_a_name_makes_semicolons(kitchen: Path) -> None:
    edit(kitchen, "ingredients/all.yaml", "name: Fine salt", "name: Salt, fine")
    words = "Cream (MILK); Salt, fine; House spice (White pepper; Nutmeg)"
    assert statement(made(kitchen), "pork-bake").endswith(words)


def test_the_allergens_of_the_list_are_all_in_it() -> None:
    """In the demo and in another place: what the food contains by its sheet is what the list marks,
    formula by formula."""
    for folder in (KITCHENS.parent.parent, KITCHENS / "second_kitchen"):
        manual = make_manual(folder, AS_OF)
        assert isinstance(manual, Manual)
        for ident in manual.walks:
            found = statement_of(manual.house, manual.walks, manual.stated, ident)
            assert set(all_allergens(found)) == set(manual.sheets[ident].allergens), ident
            out = [run.words.lower() for run in label_view(manual, ident).runs if run.out]
            for allergen in found.allergens:
                stem = (allergen.kind or allergen.word).removesuffix("s")
                assert any(stem in words for words in out), (ident, allergen)


def water_in(kitchen: Path, loses: str) -> None:
    """2 kg of rice, 200 g of cream, 800 g of water and 200 g of ice, and a loss."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "water: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, "
        "tcs: no, foodstuff: water-tap}\n"
        "ice: {name: Ice, species: none, state: ready-to-eat, allergens: none, foodstuff: ice}\n"
        "cooked-rice:\n",
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "cream: 200 ml",
        "cream: 200 g\n    water: 800 g\n    ice: 200 g",
    )
    edit(kitchen, "processes/toss.yaml", "  - do: chill\n", f"  - do: rest\n    time: 5 min\n    loses: {loses}\n  - do: chill\n")  # fmt: skip


def test_water_is_one_ingredient(kitchen: Path) -> None:
    water_in(kitchen, "25 %")
    assert statement(made(kitchen), "rice-salad") == "Cooked rice, Water, Cream (MILK), Fine salt"


@pytest.mark.parametrize(
    ("loses", "words", "water"),
    [
        # 3220 g went in, 805 g are lost: 2415 g less 2220 g of the others
        ("25 %", "Cooked rice, Cream (MILK), Water, Fine salt", 195),
        # 322 g are lost: 2898 g less 2220 g
        ("10 %", "Cooked rice, Water, Cream (MILK), Fine salt", 678),
        # 1288 g are lost, more than the water there was
        ("40 %", "Cooked rice, Cream (MILK), Fine salt", None),
    ],
)
def test_water_counts_by_what_is_left_in_europe(
    kitchen: Path, loses: str, words: str, water: int | None
) -> None:
    """Annex VII, part A, point 1; by hand."""
    water_in(kitchen, loses)
    european(kitchen)
    manual = made(kitchen)
    assert statement(manual, "rice-salad") == words
    grams = {one.item: one.grams for one in manual.stated["rice-salad"]}
    assert grams.get("water") == water
    assert label_view(manual, "rice-salad").contains == ""  # the list alone says it


@pytest.mark.parametrize(
    ("loses", "says"),
    [
        # nothing lost: 3000 of 3616 g weighed in
        ("", "Pork shoulder (83 %)"),
        # 10 % lost: 3000 of 3254.4 g
        ("10 %", "Pork shoulder (92 %)"),
        # 40 % lost: 3000 g for 2169.6 g
        ("40 %", "Pork shoulder (138 g in 100 g)"),
    ],
)
def test_a_share_that_is_asked_for(kitchen: Path, loses: str, says: str) -> None:
    """Annex VIII points 3 and 4: at its use; of the finished food where moisture is lost; over
    100 % as a weight in 100 g."""
    edit(kitchen, "formulas/pork-bake.yaml", "base: meat", "base: meat\nquid: [pork-shoulder]")
    old = "    loses: 10 %\n"
    edit(kitchen, "processes/baked.yaml", old, f"    loses: {loses}\n" if loses else "")
    assert statement(made(kitchen), "pork-bake").replace("\u00a0", " ").startswith(says)


def test_equipment_that_other_food_goes_through(kitchen: Path) -> None:
    """A salad of rice, oil and mixed spice in the mixer of the pork bake: that brings milk and
    eggs; the salad's own milk isn't said of the bake."""
    edit(kitchen, "processes/blend.yaml", "    add: [spice]\n", "    add: [spice]\n    with: bowl-mixer\n")  # fmt: skip
    manual = made(kitchen)
    spice = label_view(manual, "house-spice")
    assert spice.shared == "Made on equipment that also handles eggs and milk."
    assert spice.equipment == (("Bowl mixer", "eggs: Pork bake; milk: Pork bake"),)
    found = statement_of(manual.house, manual.walks, manual.stated, "house-spice")
    assert [a for a, _ in found.shared[0].allergens] == [Allergen("eggs"), Allergen("milk")]
    assert label_view(manual, "pork-bake").shared == ""


def test_equipment_of_what_is_made_ahead_counts(kitchen: Path) -> None:
    """The dish takes a blend that was made in the mixer where sesame goes."""
    edit(kitchen, "processes/blend.yaml", "    add: [spice]\n", "    add: [spice]\n    with: bowl-mixer\n")  # fmt: skip
    edit(kitchen, "ingredients/all.yaml", "cooked-rice:\n", "tahini: {name: Sesame paste, species: none, state: ready-to-eat, allergens: [sesame], tcs: no}\ncooked-rice:\n")  # fmt: skip
    text = (kitchen / "standards/formulas/house-spice.yaml").read_text("utf-8")
    other = text.replace("House spice", "Sesame spice").replace("nutmeg: 30 %", "tahini: 30 %")
    (kitchen / "standards/formulas/sesame-spice.yaml").write_text(other, "utf-8")
    edit(
        kitchen, "formulas/rice-salad.yaml", "    salt: 1 %", "    salt: 1 %\n    house-spice: 1 %"
    )
    shared = label_view(made(kitchen), "rice-salad").shared
    assert shared == "Made on equipment that also handles eggs and sesame."


def test_a_loss_of_nobody_knows_what_is_said(kitchen: Path) -> None:
    text = (kitchen / "standards/processes/toss.yaml").read_text("utf-8")
    edit(kitchen, "processes/toss.yaml", text, f"{text}  - do: drain\n    loses: 5 %\n")
    assert label_view(made(kitchen), "rice-salad").doubts == (
        "Step 3, Drain, pours something off and doesn't say of what. Its ingredients count as "
        "weighed in.",
    )


def known_salad(kitchen: Path) -> None:
    """2 kg of rice of 70 g water, 3 g protein, 26.5 g carbohydrate and 0.5 g ash in 100 g, 200 g of
    cream, 20 g of table salt."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "cooked-rice:\n  composition: {water: 70 %, protein: 3 %, fat: 0 %, carbohydrate: 26.5 %, "
        "ash: 0.5 %, alcohol: 0 %, sugar: 0 %, fibre: 0.5 %, sodium: 0 %, saturated: 0 %, "
        "cholesterol: 0 mg, source: a table}\n",
    )
    edit(kitchen, "ingredients/all.yaml", CREAM, f"{CREAM}\n{LABEL}")
    edit(kitchen, "ingredients/all.yaml", "  function: salt", "  foodstuff: salt-table")
    edit(kitchen, "formulas/rice-salad.yaml", "cream: 200 ml", "cream: 200 g")


def rows(manual: Manual) -> dict[str, tuple[str, str]]:
    lines = label_view(manual, "rice-salad").lines
    return {n.name: (n.per_100_g, n.per_portion) for n in lines}


def test_nutrition_by_hand(kitchen: Path) -> None:
    """2220 g hold 64 g protein, 70 g fat, 536 g carbohydrate: 4 × 64 + 9 × 70 + 4 × 536 = 3030 kcal,
    136.5 in 100 g, 245.7 in 180 g. Saturated 44 g, 1.98 and 3.57; cholesterol 226 mg, 10.2 and
    18.3; fibre 10 g, 0.45 and 0.81; sugar 6 g, 0.27 and 0.49; sodium 7751.6 mg and what the cream
    may bring."""
    known_salad(kitchen)
    found = rows(made(kitchen))
    said = {name: tuple(w.replace("\u00a0", " ") for w in words) for name, words in found.items()}
    assert said["Calories"] == ("140 kcal", "250 kcal")
    assert said["Total fat"] == ("3 g", "6 g")
    assert said["Saturated fat"] == ("2 g", "3.5 g")
    assert said["Cholesterol"] == ("10 mg", "20 mg")
    assert said["Total carbohydrate"] == ("24 g", "43 g")
    assert said["Dietary fiber"] == ("0 g", "less than 1 g")
    assert said["Total sugars"] == ("0 g", "0 g")
    assert said["Protein"] == ("3 g", "5 g")
    assert said["Sodium"] == ("at least 350 mg", "at least 630 mg")
    assert said["Vitamin D"] == ("not known", "not known")


def test_nutrition_by_hand_in_europe(kitchen: Path) -> None:
    """2220 g hold 17 × 64 + 37 × 70 + 17 × (536 − 10) + 8 × 10 = 12700 kJ, 572 in 100 g, 1030 in
    180 g; 4 × 64 + 9 × 70 + 4 × 526 + 2 × 10 = 3010 kcal, 135.6 and 244.1; saturates 1.98 and 3.57;
    carbohydrate 23.7 and 42.6; salt 2.5 × 7751.6 mg at least: 0.873 and 1.571."""
    european(kitchen)
    known_salad(kitchen)
    found = rows(made(kitchen))
    said = {name: tuple(w.replace("\u00a0", " ") for w in words) for name, words in found.items()}
    assert said["Energy"] == ("572 kJ", "1030 kJ")
    assert said["Energy in kilocalories"] == ("136 kcal", "244 kcal")
    assert said["of which saturates"] == ("2 g", "3.6 g")
    assert said["Carbohydrate"] == ("24 g", "43 g")
    assert said["of which sugars"] == ("less than 0.5 g", "less than 0.5 g")
    assert said["Fibre"] == ("less than 0.5 g", "0.8 g")
    assert said["Salt"] == ("at least 0.87 g", "at least 1.6 g")

    assert {
        n.name: n.tolerance.replace("\u00a0", " ")
        for n in label_view(made(kitchen), "rice-salad").lines
    } == {
        "Energy": "",
        "Energy in kilocalories": "",
        "Fat": "±1.5 g",
        "of which saturates": "",
        "Carbohydrate": "",
        "of which sugars": "",
        "Fibre": "",
        "Protein": "",
        "Salt": "",
    }


@pytest.mark.parametrize(
    ("more", "says", "whole"),
    [
        (", salt: 93.75 %", "(salt, sodium nitrite)", True),
        (
            ", salt: 93.75 %, nitrite_from: potassium-nitrite",
            "(salt, potassium nitrite)",
            True,
        ),
        (", salt: 90 %", "(salt, sodium nitrite)", False),
        ("", "(sodium nitrite)", False),
        (", salt: 89.75 %, nitrate: 4 %", "(salt, sodium nitrite)", False),
        (
            ", contains_ingredients: [salt, dextrose, sodium nitrite]",
            "(salt, dextrose, sodium nitrite)",
            True,
        ),
    ],
)
def test_a_cure_is_named_with_what_it_is_made_of(
    kitchen: Path, more: str, says: str, whole: bool
) -> None:
    """What is stated of it says so, the most first; what else is in it is asked for, never
    guessed."""
    (kitchen / "standards/ingredients/cure.yaml").write_text(
        "pink-cure: {name: Pink cure, species: none, state: ready-to-eat, form: dry, "
        f"allergens: none, tcs: no, function: cure, nitrite: 6.25 %{more}, source: bag}}\n"
    )
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6 %\n    pink-cure: 0.2 %")
    view = label_view(made_with_errors(kitchen), "pork-bake")
    assert f"Pink cure {says}" in view.statement
    asked = [words for words in view.doubts if "contains_ingredients" in words]
    assert bool(asked) != whole


def made_with_errors(kitchen: Path) -> Manual:
    """A manual whose walks are computed whatever its scales and its law say of a cure."""
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    return manual


def test_a_figure_whose_ends_round_apart_is_a_range(kitchen: Path) -> None:
    """The rice's fat is left out: from that of the cream to nobody knows; never nothing."""
    known_salad(kitchen)
    edit(kitchen, "ingredients/all.yaml", "fat: 0 %, carbohydrate: 26.5 %, ash: 0.5 %", "carbohydrate: 20 to 26.5 %, ash: 0.5 %")  # fmt: skip
    low, _, high = rows(made(kitchen))["Total fat"][0].partition(" to ")
    assert low == "3" and high == "9\u00a0g"


def test_a_larger_batch_says_the_same(kitchen: Path) -> None:
    before = label_view(made(kitchen), "pork-bake")
    edit(
        kitchen, "formulas/pork-bake.yaml", "batches: [4 dishes, 8 dishes]", "batches: [20 dishes]"
    )
    assert label_view(made(kitchen), "pork-bake") == before


def test_page_json_and_command_say_the_same(kitchen: Path) -> None:
    known_salad(kitchen)
    manual = made(kitchen)
    view = label_view(manual, "rice-salad")
    record = json.loads(run(kitchen, "statement", "rice-salad", "--format=json").stdout)
    data = json.loads(run(kitchen, "data", "rice-salad").stdout)["label"]
    assert record == data and record["statement"] == view.statement
    assert record["contains"] == ["milk"]
    text = run(kitchen, "statement", "rice-salad").stdout
    assert f"Ingredients: {view.statement}." in text and "Contains: milk." in text
    page = next(p for p in make_pages(manual) if p.uri.endswith("rice-salad.md"))
    fold = page.html.split("Label and nutrition</summary>")[1].split("</details>")[0]
    cells = re.findall(r"<t[dh][^>]*>([^<]*)</t[dh]>", fold)
    for line, row in zip(view.lines, record["nutrition"]["rows"], strict=True):
        assert {line.name, line.per_100_g, line.per_portion} <= set(cells)
        assert row["per_100_g"]["declared"] == line.per_100_g.replace("\u00a0", " ")
    nutrition = nutrition_of(
        manual.label_law, manual.labelled["rice-salad"], manual.walks["rice-salad"]
    )
    assert nutrition is not None and nutrition.portion_g == 180


def test_a_label_prints_the_statement(kitchen: Path, tmp_path: Path) -> None:
    """With the option alone; what it contains stands right under the list."""
    sheet = "across=2 down=4 width=99mm height=67mm left=4mm top=12mm"
    asked = ("labels", "pork-bake", f"--made={AS_OF}", f"--geometry={sheet}")
    for more, there in (((), False), (("--statement",), True)):
        out = tmp_path / "label.pdf"
        done = run(kitchen, *asked, *more, f"--out={out}")
        assert done.returncode == 0, done.stderr
        words = " ".join(pypdfium2.PdfDocument(out)[0].get_textpage().get_text_range().split())
        assert ("Ingredients: Pork shoulder, Whole EGG, Cream (MILK), Fine salt" in words) is there
        assert "Contains milk, eggs." in words


def test_formulas_with_errors_are_said_to_be_left_out(kitchen: Path) -> None:
    edit(kitchen, "formulas/rice-salad.yaml", "salt: 1 %", "salt: lots")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    assert label_view(manual, "pork-bake").doubts == (
        "Formulas with errors aren't counted among those that share equipment: Rice salad.",
    )


def soaked_and_drained(kitchen: Path) -> None:
    """The rice lies in the cream, which is poured off to its last drop."""
    text = (kitchen / "standards/processes/toss.yaml").read_text("utf-8")
    off = "leaves: {soaking: {share: 100 %, of: dressing, then: thrown-away}}"
    soak = f"  - do: soak\n    add: [rice, dressing]\n    time: 10 min\n    {off}\n"
    old = "  - do: toss\n    add: [rice, dressing]\n"
    edit(kitchen, "processes/toss.yaml", text, text.replace(old, soak))


@pytest.mark.parametrize("law", ["us", "eu"])
def test_an_allergen_that_was_poured_off_is_said_under_the_list(
    kitchen: Path, tmp_path: Path, law: str
) -> None:
    """Rice soaked in cream holds milk, though no cream is left in its list: by either law it is
    said on the page, by command, as JSON and on the label."""
    if law == "eu":
        european(kitchen)
    soaked_and_drained(kitchen)
    manual = made(kitchen)
    view = label_view(manual, "rice-salad")
    assert (view.statement, view.contains) == ("Cooked rice", "milk")
    assert "Contains: milk." in run(kitchen, "statement", "rice-salad").stdout
    data = json.loads(run(kitchen, "statement", "rice-salad", "--format=json").stdout)
    assert data["contains"] == ["milk"]
    page = next(p for p in make_pages(manual) if p.uri.endswith("rice-salad.md")).html
    assert "<p>Contains: <b>milk</b></p>" in page.split("Label and nutrition</summary>")[1]
    out = tmp_path / "label.pdf"
    sheet = "across=2 down=4 width=99mm height=67mm left=4mm top=12mm"
    days = (f"--made={AS_OF}", f"--opened={AS_OF}", f"--parts-dated=cooked-rice={AS_OF}")
    asked = (*days, "--statement", f"--geometry={sheet}", f"--out={out}")
    done = run(kitchen, "labels", "rice-salad", *asked)
    assert done.returncode == 0, done.stderr
    words = " ".join(pypdfium2.PdfDocument(out)[0].get_textpage().get_text_range().split())
    assert "Ingredients: Cooked rice. Contains milk." in words


@pytest.mark.parametrize(
    ("texts", "law", "asked"),
    [
        ('["wheat flour, milk powder"]', "us", "[wheat, milk]"),
        ('["wheat flour; milk powder / egg white"]', "us", "[wheat, milk, eggs]"),
        ('["rusk (wheat flour, salt)"]', "us", "wheat"),
        ('["seasoning [natural flavouring {milk}, salt]"]', "us", "milk"),
        ("[rusk (wheat flour, salt), whey powder]", "us", "[wheat, milk]"),
        ("[egg yolk, whey powder, wheat flour]", "us", "[eggs, milk, wheat]"),
        ("contains milk and eggs", "us", "[milk, eggs]"),
        ('["wheat flour 62.5 %, butter 3,5 %"]', "eu", "[gluten (wheat), milk]"),
        ('["nuts (almonds, walnuts)"]', "us", "[tree nuts (almond), tree nuts (walnut)]"),
    ],
)
def test_a_text_copied_from_a_label_asks_for_all_its_allergens(
    kitchen: Path, texts: str, law: str, asked: str
) -> None:
    """All at once; and what it says to write is accepted."""
    if law == "eu":
        european(kitchen)
    where = "  name: White pepper\n"
    edit(kitchen, "ingredients/all.yaml", where, f"{where}  contains_ingredients: {texts}\n")
    manual = compute(kitchen)
    found = [f for f in manual.findings if f.code == "fact-contradicted"]
    assert [f.write for f in found] == [(f"allergens: {asked}",)]
    edit(
        kitchen,
        "ingredients/all.yaml",
        f"{texts}\n  species: none\n  state: ready-to-eat\n  allergens: none",
        f"{texts}\n  species: none\n  state: ready-to-eat\n  allergens: {asked}",
    )
    made(kitchen)


def test_its_name_and_its_own_label_are_asked_about_at_once(kitchen: Path) -> None:
    where = "  name: White pepper\n"
    new = "  name: Soy sauce\n  contains_ingredients: [soybeans, wheat, salt]\n"
    edit(kitchen, "ingredients/all.yaml", where, new)
    found = [f for f in compute(kitchen).findings if f.code == "fact-contradicted"]
    asked = [f.write for f in found if f.write and f.write[0].startswith("allergens")]
    assert asked == [("allergens: [soybeans, wheat]",)]

"""Food with a poison of its own, held against a table typed apart from the data
(`published/natural_poisons.csv`): each food by each way of treating it."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from conftest import ROOT, compute, edit

from generator.reference.library import read_reference
from generator.sheet.manual import Manual

with (ROOT / "tests/published/natural_poisons.csv").open(encoding="utf-8", newline="") as lines:
    PUBLISHED = {row["food"]: row for row in csv.DictReader(lines)}
CODES = {"not-made-safe", "source-not-approved", "not-for-eating"}
POISONS = read_reference(ROOT / "shared").natural_poisons

EQUIPMENT = """\
slow: {kind: pot, name: Slow cooker, capacity: 10 kg}
"""
WAYS: dict[str, tuple[list[str], bool, int | None]] = {
    "raw": (["{do: toss}"], False, 0),
    "soaked": (["{do: soak, in: cold-room, time: 12 h}"], False, 0),
    "warmed": (["{do: warm, time: 10 min}"], False, 0),
    "frozen-off": (["{do: puree}"], False, 0),
    "fried": (["{do: fry, at: 170 °C, time: 40 min}"], True, 0),
    "baked": (["{do: bake, time: 40 min}"], True, 0),
    "sauteed": (["{do: saute, time: 3 min}"], True, 0),
    "too cool": (["{do: simmer, at: 60 °C, time: 2 h}"], False, 0),
    "to a cool core": (["{do: steam, target: core 60 °C, time: 2 h}"], False, 0),
    "gentle": (["{do: stew, with: slow, time: 6 h}"], False, 0),
    "boiled-7": (["{do: boil, time: 7 min}", "{do: drain}"], True, 7),
    "boiled-8": (["{do: boil, time: 8 min}", "{do: drain}"], True, 8),
    "boiled-10": (["{do: boil, time: 10 min}", "{do: drain}"], True, 10),
    "boiled-29": (["{do: boil, time: 29 to 40 min}", "{do: drain}"], True, 29),
    "boiled-30": (["{do: boil, time: 30 min}", "{do: drain}"], True, 30),
    "steamed-12": (["{do: steam, at: 100 °C, time: 12 min}", "{do: drain}"], True, 12),
    "steamed-9": (["{do: steam, time: 9 min}", "{do: drain}"], True, 9),
    "simmered-40": (["{do: simmer, time: 40 min}", "{do: drain}"], True, 0),
    "untimed": (["{do: boil}", "{do: drain}"], True, None),
    "in its water": (["{do: boil, time: 45 min}"], True, 45),
}
"""What is done, whether that cooks it through by what it states, and the minutes in boiling water
or steam, at least; None where nobody says."""


def by_hand(row: dict[str, str], way: str, frail: bool = False) -> str:
    """What is to be said of a food treated in a way, by the table alone."""
    _, cooked, minutes = WAYS[way]
    if row["whom"] == "frail" and not frail:
        return ""
    if row["way"] in ("paper", "never"):
        return row["advice"]
    if row["way"] == "cook":
        worse = "error" if frail and row["whom"] == "worse" else row["advice"]
        return "" if cooked else worse
    if minutes is None:
        return "warning"
    if minutes < int(row["minutes"]):
        simmered = way == "simmered-40" and 3 * int(row["minutes"]) <= 40
        return "" if simmered and row["advice"] == "warning" else row["advice"]
    return "warning" if row["drained"] and way == "in its water" else ""


def put(kitchen: Path, ident: str, line: str, steps: list[str], last: str = "{do: serve}") -> None:
    body = "".join(f"  - {step}\n" for step in [*steps, last])
    (kitchen / f"standards/formulas/{ident}.yaml").write_text(
        f"name: Dish {ident}\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: pass\n"
        f"parts: {{all: {{{line}}}}}\nsteps:\n{body}batches: [1 kg total]\n"
    )


def shelf(kitchen: Path, named: dict[str, str], more: str = "") -> None:
    animals = {"Puffer fish": "fish", "Mussels, foraged": "mollusc"}
    animals |= {"Smoked salmon": "fish", "Cooked ham": "pork", "Liverwurst": "pork"}
    (kitchen / "standards/equipment/more.yaml").write_text(EQUIPMENT)
    (kitchen / "standards/ingredients/more.yaml").write_text(
        "".join(
            f'{ident}: {{name: "{name}", species: {animals.get(name, "none")}, state: '
            f"{'ready-to-eat' if name in animals else 'raw'}, "
            f"allergens: {'fish (cod)' if animals.get(name) == 'fish' else 'none'}, "
            f"tcs: {'yes' if name in animals else 'no'}{more}}}\n"
            for ident, name in named.items()
        )
    )


def said(manual: Manual) -> dict[str, str]:
    """The severest of what is said of each formula."""
    found: dict[str, str] = {}
    for finding in manual.findings:
        if finding.code in CODES:
            for ident in finding.about:
                found[ident] = min(found.get(ident, "warning"), finding.severity)
    return found


def test_the_table_has_every_food() -> None:
    assert set(PUBLISHED) == set(POISONS)
    for food, row in PUBLISHED.items():
        poison = POISONS[food]
        way = "cook" if poison.cooked else "boil" if poison.boiled_for else ""
        assert row["way"] == (way or ("paper" if poison.paper else "never")), food
        assert (row["minutes"] or "0") == str(
            poison.boiled_for.seconds // 60 if poison.boiled_for else 0
        )
        assert bool(row["drained"]) is poison.drained and row["advice"] == poison.severity
        assert row["source"] == poison.source or row["clause"].startswith("3-201.1")


@pytest.mark.parametrize("frail", [False, True])
def test_each_food_treated_in_each_way(kitchen: Path, frail: bool) -> None:
    if frail:
        edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    rows = [row for row in PUBLISHED.values() if not frail or row["whom"] != "all"]
    shelf(kitchen, {f"thing-{n}": row["named"] for n, row in enumerate(rows)})
    expected = {}
    for item, row in enumerate(rows):
        for number, way in enumerate(WAYS):
            ident = f"dish-{item}-{number}"
            put(kitchen, ident, f"thing-{item}: 1 kg", WAYS[way][0])
            expected[ident] = by_hand(row, way, frail)
    found = said(compute(kitchen))
    assert found == {ident: how for ident, how in expected.items() if how}
    assert {*expected.values()} == {"error", "warning", ""}


def test_reheating_to_165_is_enough_for_the_frail(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    shelf(kitchen, {"slices": "Cooked ham"})
    for ident, target in (("hot", ", target: core 75 °C for 15 s"), ("tepid", "")):
        put(kitchen, ident, "slices: 1 kg", [f"{{do: reheat{target}}}"])
    assert said(compute(kitchen)) == {"tepid": "warning"}


@pytest.mark.parametrize("last", [True, False])
def test_what_was_done_in_a_formula_made_ahead_counts(kitchen: Path, last: bool) -> None:
    """Boiled there or here; nowhere is an error of what is eaten alone."""
    shelf(kitchen, {"shoots": "Bamboo shoots", "root": "Cassava"})
    store = "{do: store, in: cold-room}"
    boil, bake = ["{do: boil, time: 10 min}", "{do: drain}"], ["{do: bake}"]
    for ident, done, item in (("s", boil, "shoots"), ("r", bake, "root")):
        ahead, here = ([], done) if last else (done, [])
        put(kitchen, f"{ident}-ahead", f"{item}: 1 kg", ["{do: cut}", *ahead], store)
        put(kitchen, f"{ident}-dish", f"{ident}-ahead: 1 kg", ["{do: toss}", *here])
        put(kitchen, f"{ident}-no", f"{item}: 1 kg", ["{do: cut}"], store)
        put(kitchen, f"{ident}-bad", f"{ident}-no: 1 kg", ["{do: toss}"])
    assert said(compute(kitchen)) == {"s-bad": "error", "r-bad": "error"}


@pytest.mark.parametrize("food", [f for f, row in PUBLISHED.items() if row["way"] == "paper"])
def test_a_paper_named_at_the_ingredient_answers(kitchen: Path, food: str) -> None:
    shelf(kitchen, {food: PUBLISHED[food]["named"]}, ", approved_source: Permit 7")
    put(kitchen, "dish", f"{food}: 1 kg", ["{do: boil, time: 1 h, target: core 75 °C}"])
    assert said(compute(kitchen)) == {}


@pytest.mark.parametrize(
    "name",
    [
        "Cassava flour",
        "Tapioca pearls",
        "Gari of cassava, toasted",
        "Morello cherries",
        "Bamboo shoots, canned",
        "Baby potatoes",
        "Sweet potatoes",
        "Button mushrooms",
        "Oyster mushrooms",
        "Wild rice",
        "Wild garlic",
        "Elderflowers",
        "Sweet lupins",
        "Lupin flour",
        "Almonds",
        "Dried apricots",
        "Rhubarb",
        "Rhubarb stalks, leaves off",
        "Soy sauce, gluten-free",
        "Soybean oil",
        "Green beans",
        "Taro crisps",
        "Enoki in brine, canned",
        "Mussels, rope grown",
    ],
)
def test_a_name_that_only_sounds_like_it_is_no_such_food(kitchen: Path, name: str) -> None:
    shelf(kitchen, {"thing": name})
    put(kitchen, "dish", "thing: 1 kg", ["{do: toss}"])
    assert said(compute(kitchen)) == {}


def test_what_a_plant_sealed_is_asked_of_its_plant_alone(kitchen: Path) -> None:
    """A can of ackee or of bamboo shoots isn't asked for a paper or a boil; a can of false morels is
    refused all the same."""
    foods = ("ackee", "bamboo-shoots", "false-morels")
    shelf(kitchen, {food: PUBLISHED[food]["named"] for food in foods})
    path = kitchen / "standards/ingredients/more.yaml"
    sealed = "state: ready-to-eat, sealed: yes, arrives: ambient"
    path.write_text(path.read_text().replace("state: raw", sealed).replace("tcs: no", "tcs: yes"))
    for food in foods:
        put(kitchen, food, f"{food}: 1 kg", ["{do: toss}"])
    assert said(compute(kitchen)) == {"false-morels": "error"}


def test_raw_enoki_is_an_error_for_the_frail(kitchen: Path) -> None:
    shelf(kitchen, {"enoki": "Enoki"})
    put(kitchen, "dish", "enoki: 1 kg", ["{do: toss}"])
    assert said(compute(kitchen)) == {"dish": "warning"}
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    assert said(compute(kitchen)) == {"dish": "error"}


def test_what_isn_t_eaten_here_isn_t_asked(kitchen: Path) -> None:
    shelf(kitchen, {"root": "Cassava"})
    put(kitchen, "dish", "root: 1 kg", ["{do: cut}"], "{do: store, in: cold-room}")
    text = (kitchen / "standards/formulas/dish.yaml").read_text()
    (kitchen / "standards/formulas/dish.yaml").write_text(
        f"{text}cooked_later: Sold raw. The label says to cook it through.\nkeeps: {{cold: 2 days}}\n"
    )
    assert said(compute(kitchen)) == {}


def test_english_kitchens_are_asked_by_advice_where_their_law_has_no_row(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "us-food-code, edition: 2022", "uk-england, edition: 2013")
    shelf(kitchen, {"caps": "Chanterelles, foraged"})
    put(kitchen, "dish", "caps: 1 kg", ["{do: saute}"])
    (found,) = [f for f in compute(kitchen).findings if f.code in CODES]
    assert found.severity == "error" and "Food Code" not in found.source
    assert "Toxic mushroom contamination" in found.source


BEANS = {"beans": "Red kidney beans, dried", "shoots": "Bamboo shoots"}
RECORD = """\
formula: dish
revision: 1
lot: 260601-1
day: 2026-06-01
who: Ada
size: 1 kg total
times: {%s}
"""


@pytest.mark.parametrize(
    ("item", "steps", "times", "more", "short"),
    [
        ("beans", ["{do: boil, time: 40 min}"], "boil: 9 min", "", "9 min"),
        ("beans", ["{do: boil, time: 40 min}"], "boil: 29 min", "", "29 min"),
        ("beans", ["{do: boil, time: 40 min}"], "boil: 30 min", "", ""),
        (
            "beans",
            ["{do: soak, in: cold-room, time: 8 h}", "{do: boil, time: 40 min}"],
            "soak: 5 min",
            "",
            "",
        ),
        (
            "beans",
            ["{do: boil, time: 40 min}", "{do: boil, id: b2, time: 30 min}"],
            "boil: 5 min",
            "",
            "",
        ),
        (
            "beans",
            ["{do: boil, time: 40 min}", "{do: boil, id: b2, time: 30 min}"],
            "boil: 5 min, b2: 6 min",
            "",
            "6 min",
        ),
        (
            "beans",
            ["{do: boil, time: 40 min}"],
            "boil: 9 min",
            "deviations: [{step: boil, what: Too short., done: Boiled again for 40 min.}]\n",
            "",
        ),
        ("shoots", ["{do: boil, time: 10 min}", "{do: drain}"], "boil: 7 min", "", "7 min"),
        ("shoots", ["{do: boil, time: 10 min}", "{do: drain}"], "boil: 8 min", "", ""),
    ],
)
def test_a_record_of_a_boil_that_was_too_short(
    kitchen: Path, item: str, steps: list[str], times: str, more: str, short: str
) -> None:
    """By hand: 30 minutes for kidney beans, 8 for bamboo shoots, of the longest boil; what wasn't
    written counts as the formula has it, and a deviation answers."""
    shelf(kitchen, BEANS)
    put(kitchen, "dish", f"{item}: 1 kg", steps)
    (kitchen / "standards/records").mkdir(exist_ok=True)
    (kitchen / "standards/records/dish-260601-1.yaml").write_text(RECORD % times + more)
    found = [f for f in compute(kitchen).findings if f.code == "record-boil-short"]
    said_so = [" ".join(f.message.split()) for f in found]
    assert [f"boiled for {short} at" in words for words in said_so] == [True] * bool(short)

"""Milk, cream and cheese come in pasteurised: Food Code 3-202.14(B) to (D)."""

from __future__ import annotations

import re
from pathlib import Path

import honest_kitchens
import pytest
from conftest import compute, edit, lay
from honest_kitchens import lay_out

from generator.rules.basics.limit import InWords
from generator.views.label_view import label_view

ALL = "ingredients/all.yaml"
CREAM = (
    "  name: Cream\n  species: none\n  state: pasteurised\n  form: liquid\n  allergens: [milk]\n"
)
ON_FILE = (
    "probe: probe\nauthorisations:\n  - {for: raw-milk, authority: State Department of "
    "Agriculture, "
    "document: Permit 9, from: 2026-01-01, until: 2027-01-01}\n"
)


def codes(kitchen: Path, facts: str) -> list[str]:
    """The errors of the clean kitchen with these facts of its cream."""
    edit(kitchen, ALL, CREAM, facts)
    return [f.code for f in compute(kitchen).errors]


def cream(name: str = "Cream", state: str = "state: pasteurised", more: str = "") -> str:
    lines = [f"name: {name}", "species: none", state, "allergens: [milk]", more]
    return "".join(f"  {line}\n" for line in lines if line)


@pytest.mark.parametrize("state", ["", "state: raw"])
@pytest.mark.parametrize("more", ["", "cheese: soft", "cheese: hard", "arrives: frozen"])
def test_raw_dairy_is_refused_and_so_is_what_is_not_stated(
    kitchen: Path, state: str, more: str
) -> None:
    assert codes(kitchen, cream(state=state, more=more)) == ["milk-not-pasteurised"]


@pytest.mark.parametrize("state", ["state: pasteurised", "state: ready-to-eat"])
@pytest.mark.parametrize("more", ["", "cheese: soft", "arrives: frozen"])
def test_pasteurised_dairy_is_clean(kitchen: Path, state: str, more: str) -> None:
    assert codes(kitchen, cream(state=state, more=more)) == []


@pytest.mark.parametrize(
    "name",
    [
        "Raw milk",
        "Raw cream",
        "Raw-milk tomme",
        "Unpasteurised whole milk",
        "Unpasteurized cream",
        "Raw goat’s milk",
        "Raw sheep milk cheese",
        "Raw butter",
    ],
)
def test_a_name_that_says_raw_is_believed(kitchen: Path, name: str) -> None:
    assert codes(kitchen, cream(name=name)) == ["milk-not-pasteurised"]


@pytest.mark.parametrize(
    "name", ["Strawberry cream", "Milk chocolate", "Cream for raw desserts", "Withdrawn milk"]
)
def test_a_name_with_those_letters_in_it_is_not(kitchen: Path, name: str) -> None:
    assert codes(kitchen, cream(name=name)) == []


def test_no_milk_no_finding(kitchen: Path) -> None:
    """Raw coconut milk is the milk of no animal, and declares none."""
    edit(kitchen, ALL, "name: Nutmeg", "name: Raw coconut milk")
    assert compute(kitchen).errors == ()


def test_dough_with_butter_in_it_is_raw_and_no_raw_milk(kitchen: Path) -> None:
    raw = cream(name="Puff pastry, raw", state="state: raw").replace("[milk]", "[milk, wheat]")
    assert codes(kitchen, raw) == []


def test_the_foodstuff_reports_dairy_food_with_other_allergens(kitchen: Path) -> None:
    raw = cream(state="state: raw", more="foodstuff: cream-heavy").replace(
        "[milk]", "[milk, soybeans]"
    )
    assert codes(kitchen, raw) == ["milk-not-pasteurised"]


def test_a_cheese_cured_from_raw_milk_names_its_standard(kitchen: Path) -> None:
    """3-202.14(D): 21 CFR 133 lets some varieties be; process cheese is pasteurised by its
    standard."""
    standard = "raw_milk: 21 CFR 133.113, cured 60 days; label of the wheel"
    assert codes(kitchen, cream("Raw-milk cheddar", more=f"cheese: hard\n  {standard}")) == []


@pytest.mark.parametrize("cheese", ["", "cheese: pasteurised-process"])
def test_only_a_cured_cheese_may_name_one(kitchen: Path, cheese: str) -> None:
    more = "\n  ".join(line for line in (cheese, "raw_milk: 21 CFR 133.113") if line)
    assert codes(kitchen, cream(more=more)) == ["milk-not-pasteurised"]


def test_a_document_on_file_lets_raw_milk_in_until_it_ends(kitchen: Path) -> None:
    """What is cooked with it has the limit of milk with egg in it beside that of the meat."""
    edit(kitchen, "kitchen.yaml", "probe: probe\n", ON_FILE)
    assert codes(kitchen, cream(state="state: raw")) == []
    limits = compute(kitchen).walks["pork-bake"].limits
    assert [lm.source.clause for lm in limits if lm.hazard == "cook"][1] == "1240.61(c)"
    edit(kitchen, "kitchen.yaml", "until: 2027-01-01", "until: 2026-06-30")
    assert [f.code for f in compute(kitchen).errors] == ["milk-not-pasteurised"]


@pytest.mark.parametrize(
    ("code", "source"),
    [
        ("us-food-code, edition: 2022", "Food Code 2022, 3-202.14(B)"),
        ("us-food-code, edition: 2013", "Food Code 2013, 3-202.14(B)"),
        ("uk-england, edition: 2013", ""),
    ],
)
def test_every_kitchen_refuses_it(tmp_path: Path, code: str, source: str) -> None:
    """A pack without a row on it lets nothing in by silence."""
    project = lay("base", tmp_path / "kitchen")
    edit(project, "kitchen.yaml", "us-food-code, edition: 2022", code)
    edit(project, ALL, "state: pasteurised", "state: raw")
    found = [f for f in compute(project).errors if f.code == "milk-not-pasteurised"]
    assert [f.source for f in found] == [source]


def test_what_is_made_of_raw_milk_has_no_sheet(kitchen: Path) -> None:
    """As an ingredient of cooked food, too: neither formula with cream in it is computed."""
    edit(kitchen, ALL, "state: pasteurised", "state: raw")
    manual = compute(kitchen)
    assert set(manual.sheets) == {"house-spice"}
    assert set(manual.stopped) == {"pork-bake", "rice-salad"}


PERMIT = (
    "authorisations:\n  - {for: raw-milk, authority: State, document: Permit 9, "
    "from: 2026-01-01, until: 2027-01-01}\n"
)


def raw_milk(
    tmp_path: Path, step: str, parts: dict[str, str] | None = None
) -> tuple[list[str], list[str]]:
    """The errors of raw milk that a permit lets in, and what its limits in words say; ``parts``
    are how much of it is in each part."""
    chill = "  - do: chill\n    in: blast\n    target: to 4 °C\n    time: 90 min\n"
    spec = {
        "kitchen": PERMIT,
        "parts": {part: {"milk": much} for part, much in (parts or {"milk": "5 kg"}).items()},
        "formula": "keeps: {cold: 5 days}\n",
        "process": f"{step}{chill}  - do: store\n    in: walk-in\n",
    }
    lay_out(tmp_path, spec)
    for path in (tmp_path / "standards/ingredients").glob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("state: pasteurised", "state: raw"), encoding="utf-8")
    manual = compute(tmp_path)
    errors = [f.code for f in manual.findings if f.is_error]
    walk = manual.walks.get("dish")
    limits = walk.limits if walk is not None else ()
    return errors, [lm.words for lm in limits if isinstance(lm, InWords)]


@pytest.mark.parametrize("verb", ["pasteurise", "boil", "simmer", "bake", "steam"])
@pytest.mark.parametrize(
    "target",
    ["target: core 50 °C", "target: core 63 °C for 30 min", "target: core 72 °C for 15 s"],
)
def test_milk_whose_fat_is_not_known_is_heated_as_cream(
    tmp_path: Path, verb: str, target: str
) -> None:
    """Whatever the verb, the figures of 21 CFR 1240.61 for milk of less fat don't pass."""
    line = f"    {target}\n" if target else ""
    errors, _ = raw_milk(tmp_path, f"  - do: {verb}\n    add: [milk]\n{line}    time: 40 min\n")
    assert errors == ["target-below-limit"]


@pytest.mark.parametrize("verb", ["warm", "fill", "mix"])
def test_raw_milk_says_by_which_permit_it_is_in(tmp_path: Path, verb: str) -> None:
    errors, words = raw_milk(tmp_path, f"  - do: {verb}\n    add: [milk]\n    time: 10 min\n")
    assert errors == []
    assert words == ["Raw milk, only as the document on file allows: Permit 9, State."]


@pytest.mark.parametrize(
    "name",
    [
        "Milk, raw",
        "Cream (raw)",
        "Farm milk, unpasteurised",
        "Cow's milk, raw, from the farm",
        "Brie au lait cru",
        "Milk, thermised",
        "Milk straight from the cow",
        "Cream - not pasteurised",
    ],
)
def test_raw_behind_the_food_is_raw(kitchen: Path, name: str) -> None:
    assert codes(kitchen, cream(name=f'"{name}"')) == ["milk-not-pasteurised"]


@pytest.mark.parametrize(
    "name", ["Cream, for raw dishes", "Butter, raw-sugar fudge", "Milk, whole"]
)
def test_raw_of_something_else_says_nothing_of_the_milk(kitchen: Path, name: str) -> None:
    assert codes(kitchen, cream(name=f'"{name}"')) == []


PASTEURISED = "  - {do: pasteurise, add: [milk], target: core 70 °C for 30 min}\n"


def test_raw_milk_behind_the_pasteurising_makes_all_of_it_raw(tmp_path: Path) -> None:
    """Before it, and pasteurised once more, it doesn't."""
    more = "  - {do: mix, add: [more], time: 5 min}\n"
    again = "  - {do: pasteurise, id: again, target: core 70 °C for 30 min}\n"
    for number, (steps, expected) in enumerate(
        [
            (PASTEURISED + more, ["milk-raw-again"]),
            (PASTEURISED + more + again, []),
            (PASTEURISED.replace("[milk]", "[milk, more]"), []),
            (more + PASTEURISED, []),
        ]
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        errors, _ = raw_milk(folder, steps, {"milk": "5 kg", "more": "1 kg"})
        assert errors == expected, steps


@pytest.mark.parametrize("verb", ["warm", "scald"])
@pytest.mark.parametrize(("core", "warned"), [("63 °C for 30 min", True), ("32 °C", False)])
def test_what_only_warms_raw_milk_says_so(
    tmp_path: Path, verb: str, core: str, warned: bool
) -> None:
    step = f"  - {{do: {verb}, add: [milk], target: core {core}, time: 40 min}}\n"
    raw_milk(tmp_path, step)
    found = [f.code for f in compute(tmp_path).findings if f.code == "milk-only-warmed"]
    assert found == ["milk-only-warmed"] * warned


@pytest.mark.parametrize(
    ("name", "verb", "stated"),
    [
        ("Raw goat milk", "simmer", "Goat MILK"),
        ("Milk, raw", "simmer", "MILK"),
        ("Goat milk (unpasteurised)", "simmer", "Goat MILK"),
        ("Raw goat milk", "warm", "Raw goat MILK"),  # warmed alone it is raw still
    ],
)
def test_a_label_of_heated_milk_does_not_say_raw(
    tmp_path: Path, name: str, verb: str, stated: str
) -> None:
    step = f"  - {{do: {verb}, add: [milk], target: core 85 °C, time: 40 min}}\n"
    raw_milk(tmp_path, step)
    for path in (tmp_path / "standards/ingredients").glob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        named = re.sub(r"name: Milk(?=[\n,])", f'name: "{name}"', text)
        assert named != text or "Milk" not in text
        path.write_text(named, encoding="utf-8")
    manual = compute(tmp_path)
    assert label_view(manual, "dish").statement == stated


@pytest.mark.parametrize(
    ("steps", "refused"),
    [
        ("  - {do: mix, add: [milk], time: 5 min}\n", True),
        ("  - {do: warm, add: [milk], target: core 45 °C, time: 9 min}\n", True),
        (PASTEURISED, False),
    ],
)
@pytest.mark.parametrize("frail", [True, False])
def test_raw_milk_is_never_served_as_it_is_to_the_frail(
    tmp_path: Path, steps: str, refused: bool, frail: bool
) -> None:
    """Food Code 3-801.11(C)(1): no raw animal food, and milk is one by 3-603.11(A); Montana's rule
    37.110 names unpasteurised dairy products. A permit says nothing of whom it is for."""
    raw_milk(tmp_path, steps)
    if frail:
        edit(tmp_path, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    found = [f.code for f in compute(tmp_path).errors]
    assert found == (["susceptible-raw-milk"] if refused and frail else [])


RAW_MILK = {"name": "Raw milk", "species": "none", "state": "raw", "form": "liquid"}
CHEESE = {"name": "Fresh goat cheese", "species": "none", "state": "raw"}
CURED = CHEESE | {"cheese": "hard", "raw_milk": "21 CFR 133.113, cured 60 days; label"}
SET = "- {do: set, does: handles, add: [all], in: walk-in}\n"
KEPT, SERVED = "- {do: store, in: walk-in}\n", "- do: serve\n"
BOILED = "- {do: boil, add: [all], with: pot, target: core 96 °C for 1 min}\n"


@pytest.mark.parametrize(
    ("dairy", "process", "formula", "warned"),
    [
        (RAW_MILK, SET + KEPT, "", True),  # cheese made here, of a few days
        (RAW_MILK, SET + SERVED, "", True),
        (RAW_MILK, SET + KEPT, "keeps: {cold: 2 days}\n", True),
        (CHEESE, SET + SERVED, "", True),
        (RAW_MILK, SET.replace("all", "milk") + SET.replace("all", "rest") + SERVED, "", True),
        (RAW_MILK, SET + SERVED, "undercooked: On request.\n", True),  # the word changes nothing
        (RAW_MILK, BOILED + SERVED, "", False),
        (RAW_MILK, SET + BOILED.replace("add: [all], ", "") + SERVED, "", False),
        (RAW_MILK, SET + KEPT, "cooked_later: Whoever buys it boils it.\n", False),
        (CURED, SET + SERVED, "", False),
        (RAW_MILK | {"state": "pasteurised", "name": "Milk"}, SET + SERVED, "", False),
        ({**RAW_MILK, "name": "Raw coconut milk", "allergens": "none"}, SET + SERVED, "", False),
    ],
)
def test_whoever_eats_raw_milk_is_warned_of_it(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    dairy: dict[str, str],
    process: str,
    formula: str,
    warned: bool,
) -> None:
    """Food Code 3-603.11(A), in California's text (HSC 114093), which names milk: in a kitchen of
    any guests, of what a document on file lets in; not once it is pasteurised, nor cheese cured by
    21 CFR 133."""
    record = {"allergens": "milk", "arrives": "cold", "tcs": "yes"} | dairy
    if record["allergens"] == "milk":
        del record["tcs"]
    monkeypatch.setitem(honest_kitchens.PANTRY, "dairy", record)
    parts = {"all": {"dairy": "8 kg", "sugar": "500 g"}}
    if "[milk]" in process:
        parts = {"milk": {"dairy": "8 kg"}, "rest": {"sugar": "500 g"}}
        process = process.replace("add: [rest]", "id: set2, add: [rest]")
    spec = {"parts": parts, "formula": formula, "process": process, "kitchen": PERMIT}
    manual = compute(lay_out(tmp_path, spec))
    assert not [f.code for f in manual.findings if f.is_error]
    shown = {notice.id for notice in manual.sheets["dish"].notices.page}
    assert ("raw-milk-advisory" in shown) is warned
    needless = [f.message for f in manual.findings if f.code == "undercooked-needless"]
    assert len(needless) == formula.startswith("undercooked")
    assert all("only the milk in it is raw" in text for text in needless)


def test_raw_milk_in_another_formula_is_warned_of_where_it_is_eaten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The curd goes into one dish as it is, and into one that is boiled."""
    monkeypatch.setitem(
        honest_kitchens.PANTRY, "dairy", RAW_MILK | {"allergens": "milk", "arrives": "cold"}
    )
    curd = {"parts": {"all": {"dairy": "8 kg"}}, "process": SET}
    boiled = {"parts": {"all": {"curd": "8 kg"}}, "process": BOILED + SERVED}
    spec = {
        "parts": {"all": {"curd": "8 kg"}},
        "process": SET + SERVED,
        "kitchen": PERMIT,
        "also": {"curd": curd, "boiled": boiled},
    }
    manual = compute(lay_out(tmp_path, spec))
    shown = {
        i: "raw-milk-advisory" in {n.id for n in s.notices.page} for i, s in manual.sheets.items()
    }
    assert shown == {"dish": True, "curd": False, "boiled": False}

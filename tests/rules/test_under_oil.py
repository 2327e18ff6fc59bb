"""Fresh plants under oil, and coffee drawn cold, kept out of the cold; tube feed; drinks pressed of
raw fruit whatever they are called. Each by hand from the advice its module names."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

SHELF = """\
tap: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
oil: {name: Olive oil, foodstuff: olive-oil, allergens: none}
chilli: {name: Chilli pepper, species: none, state: raw, allergens: none, tcs: no}
thyme: {name: Thyme, species: none, state: raw, allergens: none, tcs: no}
dried: {name: "Thyme, dried", species: none, state: raw, form: dry, allergens: none, tcs: no}
ceps: {name: "Button mushrooms, dried", species: none, state: raw, form: dry, allergens: none, tcs: no}
sour: {name: Wine vinegar, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
coffee: {name: "Coffee, ground", species: none, state: raw, form: dry, allergens: none, tcs: no}
feed: {name: Enteral feed powder, species: none, state: ready-to-eat, form: dry, allergens: milk, tcs: no}
sterile: {name: "Tube feed, ready to hang", species: none, state: ready-to-eat, form: liquid, allergens: milk}
apples: {name: Apples, species: none, state: raw, allergens: none, tcs: no}
garlic: {name: Garlic cloves, species: none, state: raw, allergens: none, tcs: no}
honey: {name: Honey, foodstuff: honey, allergens: none}
kale: {name: Kale, species: none, state: raw, allergens: none, tcs: no}
carrots: {name: Carrots, species: none, state: raw, allergens: none, tcs: no}
"""
DRY = "  - {do: store}\nkeeps: {dry: 20 days}\n"
SERVE = "  - {do: serve}\n"


def put(
    kitchen: Path, ident: str, parts: str, steps: list[str], end: str, name: str = "Thing"
) -> None:
    (kitchen / "standards/ingredients/more.yaml").write_text(SHELF)
    (kitchen / "standards/equipment/more.yaml").write_text(
        "juicer: {kind: other, name: Juicer, capacity: 9 kg}\n"
    )
    body = "".join(f"  - {step}\n" for step in steps)
    (kitchen / f"standards/formulas/{ident}.yaml").write_text(
        f"name: {name}\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: pass\n"
        f"parts:\n  all: {{{parts}}}\nsteps:\n{body}{end}batches: [1 kg total]\n"
    )


def found(kitchen: Path, code: str) -> dict[str, str]:
    return {i: f.severity for f in compute(kitchen).findings if f.code == code for i in f.about}


INFUSE = ["{do: infuse, time: 1 day}"]


@pytest.mark.parametrize(
    ("parts", "steps", "severity"),
    [
        ("chilli: 100 g, thyme: 50 g, oil: 850 g", INFUSE, "error"),
        ("thyme: 50 g, oil: 950 g", ["{do: pack}"], "error"),
        ("chilli: 100 g, oil: 900 g", [*INFUSE, "{do: strain, loses: 10 %}"], "warning"),
        ("dried: 100 g, oil: 900 g", INFUSE, ""),
        ("ceps: 100 g, oil: 800 g, tap: 100 g", ["{do: mix}"], "error"),
        ("ceps: 100 g, oil: 900 g", ["{do: mix}"], ""),
        ("chilli: 900 g, oil: 100 g", ["{do: toss}"], ""),
        ("chilli: 100 g, oil: 800 g, sour: 100 g", INFUSE, "kept-by-acid"),
    ],
)
def test_fresh_plants_under_oil(kitchen: Path, parts: str, steps: list[str], severity: str) -> None:
    put(kitchen, "pot", parts, steps, DRY)
    if severity == "kept-by-acid":  # its acid is asked about
        assert found(kitchen, severity) == {"pot": "error"}
    else:
        assert found(kitchen, "kept-moist") == ({"pot": severity} if severity else {})


@pytest.mark.parametrize(
    ("parts", "steps", "severity"),
    [
        ("garlic: 250 g, honey: 750 g", ["{do: mix}"], "error"),
        ("garlic: 750 g, honey: 250 g", ["{do: mix}"], "error"),
        ("chilli: 250 g, honey: 750 g", ["{do: mix}"], ""),
        ("garlic: 250 g, honey: 650 g, sour: 100 g", ["{do: mix}"], ""),
        ("dried: 250 g, honey: 750 g", ["{do: mix}"], ""),
    ],
)
def test_garlic_in_honey(kitchen: Path, parts: str, steps: list[str], severity: str) -> None:
    put(kitchen, "pot", parts, steps, DRY)
    assert found(kitchen, "kept-moist") == ({"pot": severity} if severity else {})


def test_a_paper_answers_and_so_does_the_cold(kitchen: Path) -> None:
    put(kitchen, "pot", "thyme: 50 g, oil: 950 g", INFUSE, DRY)
    edit(
        kitchen, "formulas/pot.yaml", "keeps:", "not_tcs: {reason: Tested, document: Lab 4}\nkeeps:"
    )
    assert found(kitchen, "kept-moist") == {}
    cold = ["{do: infuse, in: cold-room, time: 1 day}"]
    put(
        kitchen,
        "pot",
        "thyme: 50 g, oil: 950 g",
        cold,
        "  - {do: store, in: cold-room}\nkeeps: {cold: 3 days}\n",
    )
    assert found(kitchen, "kept-moist") == {}


@pytest.mark.parametrize("many", [60, pytest.param(600, marks=pytest.mark.slow)])
def test_random_jars_agree_with_the_share_of_oil(kitchen: Path, many: int) -> None:
    """By hand: covered from a third of the weight of what is fresh, whatever dry goods are in."""
    rng, expected = random.Random(77), {}
    for number in range(many):
        fresh, oil, dry = (rng.choice((0, 30, 90, 100, 300, 500)) for _ in range(3))
        fresh, oil = fresh or 30, oil or 10
        more = f", dried: {dry} g" if dry else ""
        put(kitchen, f"jar-{number}", f"chilli: {fresh} g, oil: {oil} g{more}", ["{do: mix}"], DRY)
        if Fraction(oil, fresh) >= Fraction(1, 3):
            expected[f"jar-{number}"] = "error"
    assert found(kitchen, "kept-moist") == expected and expected


@pytest.mark.parametrize(
    ("steps", "keeps", "severity"),
    [
        (["{do: infuse, time: 18 h}", "{do: strain, loses: 9 %}"], "20 days", "warning"),
        (["{do: infuse, time: 18 h}", "{do: pack}"], "20 days", "error"),
        (["{do: infuse, time: 18 h}"], "1 day", ""),
        (["{do: boil, time: 2 min}", "{do: pack}"], "20 days", ""),
        (["{do: infuse, at: 93 °C, time: 4 min}"], "20 days", ""),
        (["{do: mix, how: Pour on boiling water.}"], "20 days", ""),
    ],
)
def test_coffee_drawn_cold(kitchen: Path, steps: list[str], keeps: str, severity: str) -> None:
    put(kitchen, "pot", "coffee: 100 g, tap: 900 g", steps, DRY.replace("20 days", keeps))
    found_here = found(kitchen, "kept-moist")
    assert found_here == ({"pot": severity} if severity else {})


@pytest.mark.parametrize(
    ("parts", "name", "steps", "end", "errors"),
    [
        ("feed: 200 g, tap: 800 g", "Thing", ["{do: mix}", "{do: rest, time: 4 h}"], SERVE, 0),
        (
            "feed: 200 g, tap: 800 g",
            "Thing",
            ["{do: mix}", "{do: rest, time: 4 h 10 min}"],
            SERVE,
            1,
        ),
        (
            "carrots: 500 g, tap: 500 g",
            "Tube feed, blended",
            ["{do: boil}", "{do: puree}", "{do: rest, time: 2 h}"],
            SERVE,
            0,
        ),
        (
            "carrots: 500 g, tap: 500 g",
            "Tube feed, blended",
            ["{do: boil}", "{do: puree}", "{do: rest, time: 3 h}"],
            SERVE,
            1,
        ),
        (
            "carrots: 500 g, tap: 500 g",
            "Soup",
            ["{do: boil}", "{do: puree}", "{do: rest, time: 3 h}"],
            SERVE,
            0,
        ),
        (
            "feed: 200 g, tap: 800 g",
            "Thing",
            ["{do: mix}"],
            "  - {do: store, in: cold-room}\nkeeps: {cold: 1 day}\n",
            0,
        ),
        (
            "feed: 200 g, tap: 800 g",
            "Thing",
            ["{do: mix}"],
            "  - {do: store, in: cold-room}\nkeeps: {cold: 2 days}\n",
            1,
        ),
        (
            "sterile: 1 kg",
            "Tube feed",
            ["{do: rest, in: cold-room, time: 1 h}"],
            "  - {do: store, in: cold-room}\nkeeps: {cold: 3 days}\n",
            0,
        ),
    ],
)
def test_tube_feed(
    kitchen: Path, parts: str, name: str, steps: list[str], end: str, errors: int
) -> None:
    put(kitchen, "pot", parts, steps, end, f'"{name}"')
    assert len(found(kitchen, "tube-feed")) == errors


@pytest.mark.parametrize(
    ("steps", "name", "refused"),
    [
        (["{do: press, with: juicer}"], "Green No. 3", True),
        (["{do: juice, does: [comminutes, handles]}"], "Green No. 3", True),
        (["{do: puree}", "{do: strain, loses: 40 %}"], "Green shot", True),
        (["{do: press}", "{do: pack, how: Fill the bottles.}"], "Green No. 3", True),
        (["{do: puree}", "{do: fill, how: In glasses.}"], "Morning", True),
        (["{do: puree}", "{do: boil}", "{do: fill, how: In glasses.}"], "Morning", False),
        (["{do: puree}"], "Cold sauce", False),
        (["{do: cut}", "{do: press, in: cold-room, time: 2 h}"], "Slaw", False),
    ],
)
def test_a_drink_of_raw_fruit_is_raw_juice_whatever_it_is_called(
    kitchen: Path, steps: list[str], name: str, refused: bool
) -> None:
    """3-801.11(A), for those at risk."""
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    put(kitchen, "pot", "apples: 700 g, kale: 300 g", steps, SERVE, name)
    assert bool(found(kitchen, "susceptible-raw-juice")) is refused

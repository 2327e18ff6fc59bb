"""What is an error in one formula is one in two: the steps are cut anywhere, what was made so far is
a formula made ahead, and the rest takes it in. And a step cut in two of half its time. The relation
needs no figure of ours: neither cut changes what happens to the food."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from conftest import compute
from test_made_wet import put

ITEMS = """\
rice: {name: Long-grain rice, species: none, state: raw, form: dry, allergens: none, tcs: no, arrives: ambient}
chick: {name: "Chickpeas, dried", species: none, state: raw, form: dry, allergens: none, tcs: no, arrives: ambient}
kefir: {name: Water kefir grains, species: none, state: ready-to-eat, allergens: none, tcs: no}
starter: {name: Mesophilic culture, species: none, state: ready-to-eat, form: dry, allergens: none, tcs: no}
cream: {name: Cream, species: none, state: pasteurised, form: liquid, allergens: milk, arrives: cold}
garlic: {name: Garlic, species: none, state: raw, allergens: none, tcs: no, arrives: ambient}
melon: {name: Honeydew melon, species: none, state: raw, allergens: none, tcs: no, arrives: ambient}
cabbage: {name: White cabbage, species: none, state: raw, allergens: none, tcs: no, arrives: cold}
salt: {name: Salt, species: none, state: ready-to-eat, allergens: none, tcs: no, function: salt}
yolk: {name: Egg yolk, species: egg, state: raw, form: liquid, allergens: eggs, arrives: cold}
powder: {name: Skim milk powder, species: none, state: ready-to-eat, form: dry, allergens: milk, tcs: no}
potato: {name: Potato, species: none, state: raw, allergens: none, tcs: no, arrives: ambient}
vodka: {name: Vodka, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}
"""
MIXES = (
    "beans: 300 g, tap: 700 g",
    "rice: 300 g, tap: 700 g",
    "chick: 300 g, tap: 700 g",
    "sweet: 60 g, tap: 900 g, kefir: 40 g",
    "sweet: 60 g, tap: 940 g",
    "cream: 990 g, starter: 10 g",
    "meal: 500 g, tap: 500 g",
    "garlic: 200 g, oil: 800 g",
    "melon: 1 kg",
    "cabbage: 980 g, salt: 20 g",
    "yolk: 300 g, cream: 700 g",
    "powder: 100 g, tap: 900 g",
    "nuts: 300 g, tap: 700 g",
    "potato: 1 kg",
    "melon: 500 g, vodka: 500 g",
)
VERBS = ("soak", "rest", "boil", "simmer", "warm", "mix", "puree", "cut", "infuse", "wash")
TIMES = ("", "time: 20 min", "time: 3 h", "time: 5 h", "time: 24 h")
PLACES = ("", "", "", "in: cold-room", "at: 25 °C")
HALF = {"time: 3 h": "time: 90 min", "time: 5 h": "time: 150 min", "time: 24 h": "time: 12 h"}
HEATS = {"boil", "simmer", "warm"}
Step = tuple[str, str, str]


def some_steps(rng: random.Random) -> list[Step]:
    steps = []
    for _ in range(rng.randint(2, 4)):
        verb = rng.choice(VERBS)
        place = "" if verb in HEATS else rng.choice(PLACES)
        steps.append((verb, rng.choice(TIMES), place))
    return steps


def lines(steps: list[Step], number: int = 0) -> str:
    rows = []
    for n, (verb, time, place) in enumerate(steps, number):
        core = "target: core 80 °C" if verb in ("boil", "simmer") else ""
        keys = [f"do: {verb}", f"id: s{n}", *filter(None, (time, place, core))]
        rows.append(f"  - {{{', '.join(keys)}}}\n")
    return "".join(rows)


def in_halves(steps: list[Step]) -> list[Step]:
    """The same with each step that only stands or is worked on done in two goes."""
    found: list[Step] = []
    for verb, time, place in steps:
        whole = verb in HEATS or time not in HALF
        found += [(verb, time, place)] if whole else [(verb, HALF[time], place)] * 2
    return found


@pytest.mark.parametrize("many", [40, pytest.param(600, marks=pytest.mark.slow)])
def test_no_cut_makes_it_safe(kitchen: Path, many: int) -> None:
    rng, cuts = random.Random(1604), {}
    for number in range(many):
        parts, steps = rng.choice(MIXES), some_steps(rng)
        cut = rng.randint(1, len(steps) - 1)
        end = rng.choice(("  - {do: serve}\n", "keeps: {cold: 2 days}\n", "keeps: {dry: 9 days}\n"))
        put(kitchen, f"whole-{number}", parts, lines(steps), end)
        put(kitchen, f"ahead-{number}", parts, lines(steps[:cut]), "")
        put(kitchen, f"rest-{number}", f"ahead-{number}: 1 kg", lines(steps[cut:], cut), end)
        put(kitchen, f"halves-{number}", parts, lines(in_halves(steps)), end)
        cuts[number] = (parts, steps, cut, end)
    shelf = kitchen / "standards/ingredients/wet.yaml"
    shelf.write_text(shelf.read_text() + ITEMS)
    wrong = {i for f in compute(kitchen).findings if f.is_error for i in f.about}
    asked = [n for n in cuts if f"whole-{n}" in wrong]
    for n in asked:
        assert {f"ahead-{n}", f"rest-{n}"} & wrong, cuts[n]
        assert f"halves-{n}" in wrong, cuts[n]
    assert many / 10 < len(asked) < many  # some are safe as they are

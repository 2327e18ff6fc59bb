"""A line that is left out counts as the worst that could be written there: where food is kept, how
long it soaks, what salt is. Tables of kitchens each way, by hand from the advice each module names.
"""

from __future__ import annotations

import itertools
import random
import re
from pathlib import Path

import pytest
from conftest import compute, edit
from each_row import each_row
from test_under_oil import found, put

MORE = """\
sea: {name: Sea salt, species: none, state: ready-to-eat, allergens: none, tcs: no}
soy-milk: {name: Soy milk, species: none, form: liquid, allergens: [soybeans], tcs: no}
sold: {name: Soy milk, species: none, form: liquid, allergens: [soybeans], tcs: no, commercially_packed: yes}
chickpeas: {name: Chickpeas, species: none, state: raw, form: dry, arrives: ambient, allergens: none, tcs: no}
lentils: {name: Green lentils, species: none, state: raw, form: dry, arrives: ambient, allergens: none, tcs: no}
moong: {name: Moong (mung beans), species: none, state: raw, form: dry, arrives: ambient, allergens: none, tcs: no}
donated: {name: "Donor milk, pasteurised", species: none, state: pasteurised, form: liquid, allergens: milk, arrives: frozen}
oats: {name: Rolled oats, species: none, state: raw, form: dry, allergens: none, tcs: no}
soybeans: {name: Soja, species: none, state: raw, form: dry, allergens: [soybeans], tcs: no}
soy-free-thing: {name: Crumble, species: none, state: raw, form: dry, allergens: none, tcs: no}
kidney-bean-free: {name: White rice, species: none, state: raw, form: dry, allergens: none, tcs: no}
thing: {name: Soybeans, species: none, state: raw, form: dry, allergens: [soybeans], tcs: no}
also: {name: Beans from Rosa, other_names: [kidney beans], species: none, state: raw, form: dry, allergens: none, tcs: no}
"""
OIL = "chilli: 100 g, thyme: 50 g, oil: 850 g"
GARLIC = "garlic: 250 g, honey: 750 g"
BREW = "coffee: 100 g, tap: 900 g"
INFUSE, MIX = "{do: infuse, time: 1 day}", "{do: mix}"
COLD = "  - {do: store, in: cold-room}\n"
SERVE, STORE = "  - {do: serve}\n", "  - {do: store}\n"
SOAK, BOIL = "{do: soak, time: 24 h}", "{do: boil, time: 1 h}"


def shelf(kitchen: Path) -> None:
    more = kitchen / "standards/ingredients/more.yaml"
    more.write_text(more.read_text() + MORE)


def lay(
    kitchen: Path, parts: str, steps: list[str], end: str, name: str = "Thing", pot: str = "pot"
) -> None:
    put(kitchen, pot, parts, steps, end, name)
    shelf(kitchen)


@each_row(
    ("parts", "steps", "end", "severity"),
    [
        (OIL, [INFUSE], "", "error"),
        (OIL, [INFUSE], STORE, "error"),
        (OIL, [INFUSE], f"{STORE}keeps: {{study: Ours}}\n", "error"),
        (GARLIC, [MIX], STORE, "error"),
        (BREW, [INFUSE, "{do: pack}"], STORE, "error"),
        (BREW, [INFUSE], STORE, "warning"),
        ("apples: 1 kg", ["{do: press}"], STORE, "error"),
        ("apples: 1 kg", ["{do: puree}"], "", "error"),
        # the time is in a step, not under `keeps`
        (OIL, ["{do: infuse, time: 30 days}"], SERVE, "error"),
        (OIL, ["{do: infuse, time: 30 days}"], f"{COLD}keeps: {{cold: 3 days}}\n", "error"),
        (GARLIC, [MIX, "{do: rest, time: 14 days}"], SERVE, "error"),
        # its step denies what its formula says
        (OIL, [INFUSE], "  - {do: store, at: 20 °C}\nkeeps: {cold: 7 days}\n", "error"),
        # the oil came to it after the cold
        (
            "thyme: 50 g, oil: 950 g",
            ["{do: infuse, in: cold-room, time: 1 day}", MIX],
            STORE,
            "error",
        ),
        # kept cold for longer than a date mark allows
        (
            BREW,
            ["{do: infuse, in: cold-room, time: 18 h}"],
            f"{COLD}keeps: {{cold: 60 days}}\n",
            "warning",
        ),
        (
            "apples: 1 kg",
            ["{do: press}", "{do: pack}"],
            f"{COLD}keeps: {{cold: 60 days}}\n",
            "warning",
        ),
    ],
)
def test_where_it_is_kept_is_asked(
    kitchen: Path, parts: str, steps: list[str], end: str, severity: str
) -> None:
    put(kitchen, "pot", parts, steps, end)
    assert found(kitchen, "kept-moist") == {"pot": severity}


@each_row(
    ("parts", "steps", "end"),
    [
        (OIL, [INFUSE], SERVE),
        (OIL, [INFUSE], COLD),
        (OIL, [INFUSE], "keeps: {cold: 7 days}\n"),
        (OIL, [INFUSE], "keeps: {frozen: 30 days}\n"),
        (OIL, [INFUSE], "  - {do: store, at: 3 °C}\nkeeps: {cold: 7 days}\n"),
        (OIL, [INFUSE, "{do: freeze, in: blast}"], ""),
        (OIL, ["{do: infuse, in: cold-room, time: 30 days}"], SERVE),
        (GARLIC, [MIX], COLD),
        (BREW, [INFUSE], SERVE),
        (BREW, ["{do: infuse, in: cold-room, time: 18 h}"], f"{COLD}keeps: {{cold: 7 days}}\n"),
        ("apples: 1 kg", ["{do: press}"], SERVE),
        ("carrots: 1 kg", ["{do: cut}"], ""),
        ("oil: 900 g, sour: 100 g", [MIX], ""),
        (OIL, [INFUSE], f"{STORE}not_tcs: {{reason: Tested, document: Lab 4}}\n"),
    ],
)
def test_where_it_is_kept_is_known_or_asks_nothing(
    kitchen: Path, parts: str, steps: list[str], end: str
) -> None:
    put(kitchen, "pot", parts, steps, end)
    assert found(kitchen, "kept-moist") == {}


def test_what_another_formula_takes_in_is_asked_about(kitchen: Path) -> None:
    put(kitchen, "dish", "pot: 100 g, apples: 900 g", ["{do: cut}"], SERVE)
    put(kitchen, "pot", OIL, [INFUSE], "")
    assert found(kitchen, "kept-moist") == {"pot": "warning"}


def test_the_line_offered_is_accepted(kitchen: Path) -> None:
    put(kitchen, "pot", OIL, [INFUSE], STORE)
    (asked,) = (f for f in compute(kitchen).findings if f.code == "kept-moist")
    (line,) = re.findall(r"`(keeps: .*?)`", asked.help)
    edit(kitchen, "formulas/pot.yaml", "batches:", f"{line}\nbatches:")
    edit(kitchen, "formulas/pot.yaml", "{do: store}", "{do: store, in: cold-room}")
    assert compute(kitchen).errors == ()


@pytest.mark.parametrize("many", [40, pytest.param(400, marks=pytest.mark.slow)])
def test_random_kitchens_without_a_line_are_no_laxer(kitchen: Path, many: int) -> None:
    """Of each danger under `keeps: {dry: …}`, the same without that line is as bad, unless it is
    served or put into the cold."""
    rng, expected = random.Random(31), {}
    dangers = ((OIL, [INFUSE], "error"), (GARLIC, [MIX], "error"), (BREW, [INFUSE], "warning"))
    ends = ((STORE, True), ("", True), (SERVE, False), (COLD, False))
    keeps = (("", True), ("keeps: {dry: 20 days}\n", None), ("keeps: {cold: 3 days}\n", False))
    for number in range(many):
        (parts, steps, severity), (end, out), (kept, said) = map(rng.choice, (dangers, ends, keeps))
        put(kitchen, f"pot-{number}", parts, steps, f"{end}{kept}")
        if said is None or (said and out):
            expected[f"pot-{number}"] = severity
    assert found(kitchen, "kept-moist") == expected and expected


PLAIN = "Morning green"


@each_row(
    ("parts", "steps", "asked"),
    [
        ("apples: 700 g, kale: 300 g", ["{do: press}"], True),
        ("apples: 700 g, kale: 300 g", ["{do: press, with: juicer, time: 10 min}"], True),
        ("apples: 1 kg", ["{do: juice, does: [comminutes, handles]}"], True),
        ("apples: 1 kg", ["{do: puree}", "{do: strain, loses: 40 %}"], True),
        ("apples: 1 kg", ["{do: cut}", "{do: press, time: 5 min, loses: 40 %}"], True),
        (BREW, ["{do: infuse, in: cold-room, time: 18 h}"], True),
        ("oats: 100 g, tap: 900 g", ["{do: puree}", "{do: strain, loses: 20 %}"], True),
        ("carrots: 1 kg", ["{do: cut}"], False),
        ("apples: 1 kg", ["{do: puree}"], False),
        ("carrots: 1 kg", ["{do: cut}", "{do: press, in: cold-room, time: 2 h}"], False),
        ("honey: 1 kg", [MIX], False),
        ("coffee: 1 kg", [MIX], False),
        ("oats: 1 kg", [MIX], False),
        ("apples: 1 kg", [], False),
    ],
)
def test_a_raw_drink_packed_without_air_is_asked_its_criterion(
    kitchen: Path, parts: str, steps: list[str], asked: bool
) -> None:
    lay(kitchen, parts, [*steps, "{do: vacuum-pack}"], f"{COLD}keeps: {{cold: 3 days}}\n", PLAIN)
    assert bool(found(kitchen, "not-covered")) is asked


def test_a_raw_drink_in_a_bottle_is_raw_juice_under_any_name(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    lay(kitchen, "apples: 1 kg", ["{do: press}", "{do: pack}"], COLD, PLAIN)
    assert found(kitchen, "susceptible-raw-juice") == {"pot": "error"}


@each_row(
    ("parts", "steps", "code", "asked"),
    [
        # an id is one more name, unless it says what isn't in it
        ("soybeans: 1 kg", [MIX], "soy-not-boiled", True),
        ("soy-free-thing: 1 kg", [MIX], "soy-not-boiled", False),
        ("kidney-bean-free: 100 g, tap: 900 g", [BOIL], "beans-not-boiled", False),
        ("thing: 1 kg", [MIX], "soy-not-boiled", True),
        ("also: 1 kg", [MIX], "beans-not-boiled", True),
        # nothing says whether soy milk was boiled
        ("soy-milk: 1 kg", [MIX], "soy-not-boiled", True),
        ("sold: 1 kg", [MIX], "soy-not-boiled", False),
        # salt is salt without its function
        (
            "chilli: 970 g, sea: 30 g",
            ["{do: rest, at: 18 °C, time: 48 h}"],
            "between-too-long",
            True,
        ),
        (
            "chilli: 970 g, oats: 30 g",
            ["{do: rest, at: 18 °C, time: 48 h}"],
            "between-too-long",
            False,
        ),
    ],
)
def test_names_and_facts_left_out(
    kitchen: Path, parts: str, steps: list[str], code: str, asked: bool
) -> None:
    lay(kitchen, parts, steps, SERVE)
    assert bool(found(kitchen, code)) is asked


def test_a_wait_is_said_once(kitchen: Path) -> None:
    lay(kitchen, "chilli: 970 g, sea: 30 g", ["{do: rest, at: 18 °C, time: 48 h}"], COLD)
    assert {f.code for f in compute(kitchen).errors} == {"between-too-long"}


SPROUTS = "sprouts-unsaid"


@each_row(
    ("steps", "end", "asked"),
    [
        ([SOAK], SERVE, True),
        ([SOAK], "", True),
        ([SOAK, "{do: drain}", MIX], SERVE, True),
        (["{do: soak}"], SERVE, True),
        ([SOAK, "{do: rest, in: cold-room, time: 1 day}"], SERVE, True),
        (["{do: soak, time: 12 h}", "{do: rest, time: 12 h}"], SERVE, True),
        ([SOAK, BOIL], SERVE, False),
        (["{do: soak, time: 48 h}", "{do: drain}", "{do: puree}", BOIL], SERVE, False),
        (["{do: soak}", BOIL], SERVE, False),
        (["{do: soak, in: cold-room, time: 48 h}"], SERVE, False),
        (["{do: soak, in: cold-room}"], SERVE, False),
        (
            [
                "{do: soak, in: cold-room, time: 24 h}",
                "{do: rest, in: cold-room, time: 24 h}",
                BOIL,
            ],
            SERVE,
            False,
        ),
        (["{do: soak, time: 12 h}"], SERVE, False),
    ],
)
@pytest.mark.parametrize("pulse", ["chickpeas", "lentils", "moong"])
def test_what_sprouts(kitchen: Path, pulse: str, steps: list[str], end: str, asked: bool) -> None:
    lay(kitchen, f"{pulse}: 300 g, tap: 700 g", steps, end)
    assert bool(found(kitchen, SPROUTS)) is asked
    if steps[-1] == BOIL:
        assert found(kitchen, "between-too-long") == {}


@pytest.mark.parametrize(
    ("cooked", "asked"), [(MIX, {"dish": "error"}), ("{do: boil, time: 1 h}", {})]
)
def test_seeds_soaked_in_another_formula(kitchen: Path, cooked: str, asked: dict[str, str]) -> None:
    put(kitchen, "dish", "pot: 1 kg", [cooked], SERVE)
    lay(kitchen, "chickpeas: 300 g, tap: 700 g", [SOAK], "")
    assert found(kitchen, SPROUTS) == asked


THAW = "{do: thaw, in: cold-room, time: 16 h}"


@each_row(
    ("steps", "end", "asked"),
    [
        ([THAW], COLD, True),
        ([THAW], f"{COLD}keeps: {{cold: 2 days}}\n", True),
        ([THAW, "{do: rest, time: 5 h}"], SERVE, True),
        ([THAW, "{do: warm, time: 10 min}", "{do: rest, time: 1 h}"], SERVE, True),
        ([THAW, "{do: warm, with: zap, time: 1 min}"], SERVE, True),
        ([THAW], "", True),
        ([THAW], f"{COLD}keeps: {{cold: 1 day}}\n", False),
        ([THAW, "{do: portion}"], SERVE, False),
        ([THAW, "{do: rest, time: 3 h}"], SERVE, False),
        ([THAW, "{do: warm, time: 10 min}"], SERVE, False),
    ],
)
def test_human_milk(kitchen: Path, steps: list[str], end: str, asked: bool) -> None:
    lay(kitchen, "donated: 1 kg", steps, end)
    (kitchen / "standards/equipment/zap.yaml").write_text(
        "zap: {kind: microwave, name: Microwave, capacity: 3 kg}\n"
    )
    assert bool(found(kitchen, "human-milk")) is asked


@each_row(
    ("parts", "name", "end", "asked"),
    [
        *itertools.product(["feed: 200 g, tap: 800 g"], ["Thing"], ["", STORE, COLD], [True]),
        ("feed: 200 g, tap: 800 g", "Thing", SERVE, False),
        ("feed: 200 g, tap: 800 g", "Thing", f"{COLD}keeps: {{cold: 1 day}}\n", False),
        ("carrots: 500 g, tap: 500 g", "Soup", COLD, False),
    ],
)
def test_how_long_feed_is_kept(kitchen: Path, parts: str, name: str, end: str, asked: bool) -> None:
    put(kitchen, "pot", parts, [MIX], end, name)
    assert bool(found(kitchen, "tube-feed")) is asked


def test_a_mix_of_unknown_strength_is_asked_where_it_is_used(kitchen: Path) -> None:
    """It was a division by nothing: the mix has a cure, and nobody says how strong that is."""
    shelf_file = kitchen / "standards/ingredients/cure.yaml"
    shelf_file.write_text(
        "pink: {name: Pink cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure}\n"
    )
    edit(
        kitchen,
        "kitchen.yaml",
        "stations:",
        "authorisations: [{for: cure, authority: Port Sable, document: Variance 12, "
        "from: 2026-01-01, until: 2028-01-01}]\nstations:",
    )
    put(kitchen, "cure-mix", "pink: 500 g, honey: 500 g", [MIX], "cured_as: premix\n")
    put(
        kitchen,
        "cured",
        "pork-shoulder: 9 kg, cure-mix: 1 kg",
        [MIX],
        f"{COLD}cured_as: dry\ncooked_later: Sold raw.\nkeeps: {{cold: 3 days}}\n",
    )
    assert found(kitchen, "cure-strength-missing").get("cured") == "error"

"""Every published row of law and guidance of the packs held, driven through the commands.

Each is asked of `limits` (or of `check`, `review`, the page, where the row isn't a limit of a step)
in a small kitchen made for it, and must come back with its figures and its clause. The figures
asked for come from the CSV files here.
"""

from __future__ import annotations

import csv
import functools
import json
import re
import shutil
import tempfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT, edit, lay

from generator.cli import cli

HERE = Path(__file__).parent
HELD = {"US Food Code", "USDA FSIS", "England, Wales, NI", "UK", "UK guidance", "EU"}
"""The places whose law or guidance a pack is of; the rows of others are here for the
disagreements."""
FILES = (
    "cooking_food_code.csv",
    "cooling_holding.csv",
    "food_code_more.csv",
    "lethality_fsis.csv",
    "lethality_uk.csv",
    "cooling_other_places.csv",
    "fsis_more.csv",
)


def rows_of(name: str) -> dict[str, dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


ROWS = {
    key: row
    for name in FILES
    for key, row in rows_of(name).items()
    if row["use"] in ("law", "guidance")
    and (row.get("jurisdiction") or "UK") in HELD
    and row.get("topic") != "rop"
}
"""Packing without air is apart, below: its criteria are facts of a formula."""
ROP = {
    k: r
    for k, r in rows_of("cooling_holding.csv").items()
    if r["topic"] == "rop" and r["use"] == "law"
}
OLD = {k: r for k, r in rows_of("cooking_food_code.csv").items() if k in ("FC-OLD-A2", "FC-OLD-A3")}


# --- small kitchens


@functools.cache
def folder() -> Path:
    return Path(tempfile.mkdtemp(prefix="driven-"))


@pytest.fixture(scope="module", autouse=True)
def swept() -> Any:
    yield
    shutil.rmtree(folder(), ignore_errors=True)
    folder.cache_clear()
    limits.cache_clear()
    kitchen.cache_clear()


Edit = tuple[str, str, str]
BAKED, TOSS, BAKE, SALAD = (
    "processes/baked.yaml",
    "processes/toss.yaml",
    "formulas/pork-bake.yaml",
    "formulas/rice-salad.yaml",
)
CODE = ("kitchen.yaml", "edition: 2022", "edition: 2013")
WHOLE: tuple[Edit, ...] = (
    (BAKE, "    whole-egg: 6 each\n", ""),
    (BAKED, "  - do: grind\n    add: [meat]\n", "  - do: season\n    add: [meat]\n"),
)


def of(species: str, form: str = "intact") -> Edit:
    old = "name: Pork shoulder\n  species: pork\n  state: raw\n  form: intact"
    return (
        "ingredients/all.yaml",
        old,
        f"name: Shoulder\n  species: {species}\n  state: raw\n  form: {form}",
    )


PLANT: tuple[Edit, ...] = (
    (
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    ),
    *WHOLE,
)


@functools.cache
def kitchen(edits: tuple[Edit, ...] = (), england: bool = False) -> Path:
    """The clean kitchen, or the small English one, with some of its lines changed."""
    path = folder() / f"k{sum(1 for _ in folder().iterdir())}"
    if england:
        shutil.copytree(ROOT / "tests/kitchens/england" / "standards", path / "standards")
    else:
        lay("base", path)
    for file, old, new in edits:
        edit(path, file, old, new)
    return path


def run(project: Path, *words: str) -> Any:
    form = () if words[0] == "data" else ("--format", "json")
    done = CliRunner().invoke(
        cli, [*words, *form, "--project", str(project), "--as-of", str(AS_OF)]
    )
    assert done.exit_code in (0, 1) and done.stdout, done.output
    return json.loads(done.stdout)


@functools.cache
def limits(project: Path, formula: str, supposed: str = "") -> dict[str, dict[str, Any]]:
    """The limits of a formula by hazard, as `limits` says them; the first where there are two."""
    more = ("--if", supposed) if supposed else ()
    found: dict[str, dict[str, Any]] = {}
    for limit in run(project, "limits", formula, *more)["limits"]:
        found.setdefault(limit["hazard"], limit)
        found[limit["id"]] = limit
    return found


def codes(project: Path) -> list[str]:
    return [f["code"] for f in run(project, "check")["findings"]]


def errors(project: Path) -> list[str]:
    found = run(project, "check")["findings"]
    return [f["code"] for f in found if f["severity"] == "error"]


def celsius(fahrenheit: str) -> Fraction:
    return (Fraction(fahrenheit) - 32) * 5 / 9


def on_probe(row: dict[str, str], off: str = "1") -> str:
    """A core target that meets a row on a probe off by ``off`` °C, held as long as the row asks."""
    at = float(celsius(row["temp_F"]) + Fraction(off)) + 0.0005
    seconds = row.get("hold_seconds") or row.get("time_seconds") or "0"
    return f"core {at:.3f} °C" + (f" for {seconds} s" if Fraction(seconds) else "")


def same_pair(limit: dict[str, Any], row: dict[str, str]) -> None:
    """The figure, its time and its clause are the published row's; the printed °C is never shown
    laxer."""
    assert (limit["value"], limit["unit"]) == (float(row["temp_F"]), "°F")
    seconds = Fraction(row["hold_seconds"])
    assert limit["hold"] == ("timed" if seconds else "instant")
    assert not seconds or limit["hold_s"] == float(seconds)
    assert row["clause"].startswith(limit["source"]["clause"]) or limit["source"][
        "clause"
    ].startswith(row["clause"])
    if row["temp_C_printed"]:
        assert Fraction(str(limit["shown_c"])) >= Fraction(row["temp_C_printed"])
    assert limit["verdict"]["status"] == "meets"


# --- cooking


def raw(*edits: Edit) -> Callable[[str], None]:
    def drive(key: str) -> None:
        row = ROWS.get(key) or OLD[key]
        same_pair(limits(kitchen(edits), "pork-bake", f"bake: {on_probe(row)}")["cook"], row)

    return drive


def roast(key: str) -> None:
    """The chart, in the demo kitchen: one whole roast in an oven of the oven chart."""
    row = ROWS[key]
    limit = limits(ROOT, "roast-beef-cold", f"roast: {on_probe(row)}")["cook"]
    if (
        float(row["temp_F"]) >= 144
    ):  # on this probe whole meat's own 145 °F for 15 s is met, and asks for less
        options = [
            o for o in limits(ROOT, "roast-beef-cold")["cook"]["options"] if o["group"] == "roast"
        ]
        (option,) = [o for o in options if o["value"] == float(row["temp_F"])]
        assert option.get("hold_s", 0) == float(row["hold_seconds"])
        return
    same_pair(limit, row)


def oven(key: str) -> None:
    """At the chart's temperature the roast chart counts; a degree on the wrong side it doesn't."""
    row = ROWS[key]
    kind, weight = key.split("-")[2:]
    heat = {"STILL": "still", "CONV": "convection", "HUMID": "high-humidity"}[kind]
    wrong = 1 if row["hold_comparator"] == "<=" else -1
    for degrees, fits in ((int(row["temp_F"]), True), (int(row["temp_F"]) + wrong, False)):
        edits = (
            *WHOLE,
            of("beef"),
            (
                BAKE,
                "fill_weight: 900 g, vessel: dish,",
                "fill_weight: 4.5 kg," if weight == "LT10" else "fill_weight: 10 lb,",
            ),
            (BAKE, "4 dishes, 8 dishes", "1 dishes"),
            (BAKE, "pork-shoulder: 3 kg", "pork-shoulder: {amount: 3 kg, whole: yes}"),
            (BAKED, "    at: 180 °C", f"    at: {degrees} °F"),
            (BAKE, "core 72 °C", "core 56 °C for 112 min"),
            ("equipment/house.yaml", "heat: convection", f"heat: {heat}"),
        )
        path = kitchen(tuple(e for e in edits if e[1] != e[2]))
        assert ("target-below-limit" not in codes(path)) == fits, (degrees, codes(path))


def plant_food(key: str) -> None:
    edits = (
        (
            TOSS,
            "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
            "    target: to 4 °C\n",
            "  - do: boil\n    add: [rice, dressing]\n    target: core 60 °C\n"
            "  - do: hold-hot\n    target: at 60 °C\n",
        ),
        (SALAD, "rice:\n    cooked-rice: 2 kg", "rice:\n    nutmeg: 2 kg"),
        (SALAD, "    cream: 200 ml\n", ""),
        (SALAD, "keeps: {cold: 3 days}\n", ""),
    )
    limit = limits(kitchen(edits), "rice-salad")["cook"]
    row = ROWS[key]
    assert (limit["value"], limit["hold"]) == (float(row["temp_F"]), "none")
    assert limit["source"]["clause"] == row["clause"]


def grain_held_hot(key: str) -> None:
    """Grain is plant food, too: its target is refused below the figure, and without hot holding it
    has none."""
    row = ROWS[key]
    steps = (
        "  - do: boil\n    add: [rice, dressing]\n    target: core {at} °C\n"
        "  - do: hold-hot\n    target: at 60 °C\n"
    )
    old = (
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n"
    )

    def barley(at: int, hot: bool = True) -> Path:
        end = "" if hot else "  - do: serve\n"
        new = (
            steps.replace("{at}", str(at))
            if hot
            else steps.replace("{at}", str(at)).split("  - do: hold")[0] + end
        )
        return kitchen(
            (
                (
                    "ingredients/all.yaml",
                    "cooked-rice:\n",
                    "barley: {name: Pearl barley, species: none, state: raw, allergens: none, "
                    "tcs: no}\ncooked-rice:\n",
                ),
                (TOSS, old, new),
                (SALAD, "    cooked-rice: 2 kg\n", "    barley: 2 kg\n"),
                (SALAD, "    cream: 200 ml\n", ""),
                (SALAD, "keeps: {cold: 3 days}\n", ""),
            )
        )

    limit = limits(barley(60), "rice-salad")["cook"]
    assert (limit["value"], limit["hold"]) == (float(row["to_F"]), "none")
    assert limit["source"]["clause"] == row["clause"] and limit["because"] == ["Pearl barley"]
    assert "target-below-limit" in errors(barley(55))
    assert "cook" not in limits(barley(55, hot=False), "rice-salad")


AGAIN: tuple[Edit, ...] = (
    (
        TOSS,
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n",
        "  - do: reheat\n    add: [rice, dressing]\n    target: core 76 °C for 15 s\n"
        "  - do: hold-hot\n    target: at 60 °C\n",
    ),
    (SALAD, "cooked-rice: 2 kg", "pork-bake: 2 kg"),
    (SALAD, "keeps: {cold: 3 days}\n", ""),
)


def reheated(key: str) -> None:
    limit, row = limits(kitchen(AGAIN), "rice-salad")["reheat"], ROWS[key]
    if key == "FC-RH-D":
        assert limit["reach"]["within_s"] == float(row["hold_seconds"])
        assert limit["reach"]["from"]["value"] == 41 and limit["reach"]["clause"] == row["clause"]
        return
    same_pair(limit, row)


FOR_ONE: tuple[Edit, ...] = (
    (
        TOSS,
        AGAIN[0][1],
        "  - do: reheat\n    add: [rice, dressing]\n    target: core 60 °C\n  - do: serve\n",
    ),
    *AGAIN[1:],
    (SALAD, "[20 portions, 40 portions]", "[1 portions]\nto_order: yes"),
    (SALAD, "pork-bake: 2 kg", "pork-bake: 150 g"),
    (SALAD, "    cream: 200 ml\n", "    cream: 20 ml\n"),
)


def reheated_to_order(key: str) -> None:
    """To one order and served at once it has no figure; with a fact missing, or against it, 165
    °F."""
    row, general = ROWS[key], float(ROWS["FC-RH-A"]["temp_F"])
    path = kitchen(FOR_ONE)
    assert errors(path) == []
    limit = limits(path, "rice-salad")["reheat"]
    assert limit["source"]["clause"] == row["clause"] and "No temperature" in limit["words"]
    assert "value" not in limit and limit["target"] == "core 60 °C"
    for change in (
        (SALAD, "\nto_order: yes", ""),
        (SALAD, "pork-bake: 150 g", "cooked-rice: 150 g"),
        (SALAD, "[1 portions]", "[2 portions]"),
        (TOSS, "  - do: serve\n", "  - do: hold-hot\n    target: at 60 °C\n"),
        (TOSS, "  - do: serve\n", "  - do: rest\n  - do: serve\n"),
        (
            TOSS,
            "  - do: serve\n",
            "  - do: hold-by-time\n    time: 1 h\n    procedure: Board 1\n  - do: serve\n",
        ),
        ("ingredients/all.yaml", "  state: pasteurised\n", "  state: ready-to-eat\n"),
        (SALAD, "to_order: yes", "to_order: yes\nkeeps: {cold: 1 days}"),
        (TOSS, "  - do: serve\n", ""),
    ):
        stricter = kitchen((*FOR_ONE, change))
        (reported,) = [
            f for f in run(stricter, "check")["findings"] if f["code"] == "target-below-limit"
        ]
        assert f"{general:.0f} °F" in reported["message"].replace("\u202f", " ").replace(
            "\u00a0", " "
        ), change


FRAIL: Edit = ("kitchen.yaml", "serves: general", "serves: highly-susceptible")


def eggs_for_the_frail(key: str) -> None:
    """Let through in the way the formula names, with a rule in words; not named, or not so,
    refused."""
    row, word = ROWS[key], {"EGG-1": "one-serving", "EGG-2": "baked"}[key]
    one: tuple[Edit, ...] = tuple(
        (f, a, b.replace("{to_order}", "to_order: yes\n")) for f, a, b in TO_ORDER
    )
    edits = (*(one if key == "EGG-1" else ()), FRAIL)
    said: Edit = (BAKE, "process: baked\n", f"process: baked\nraw_eggs: {word}\n")
    path = kitchen((*edits, said))
    assert errors(path) == []
    limit = limits(path, "pork-bake")["susceptible"]
    assert limit["source"]["clause"] == row["clause"] and limit["step"] == "bake"
    assert "right before" in limit["words"] and "value" not in limit
    problems = {
        "EGG-1": [
            (BAKE, "to_order: yes\n", ""),
            (BAKE, "[1 portions]", "[3 portions]"),
            (BAKED, "  - do: whisk\n", "  - do: pool\n"),
            (BAKE, "raw_eggs: one-serving", "raw_eggs: one-serving\nundercooked: Soft, as asked."),
        ],
        "EGG-2": [
            (BAKED, "  - do: bake\n", "  - do: rest\n    time: 1 h\n  - do: bake\n"),
            (
                BAKED,
                "  - do: bake\n",
                "  - do: store\n    id: overnight\n    in: cold-room\n  - do: bake\n",
            ),
            (BAKED, "  - do: bake\n", "  - do: fry\n    id: bake\n"),
            (
                "equipment/house.yaml",
                OVEN,
                "range-oven: {kind: microwave, name: Microwave oven, station: range}",
            ),
        ],
    }[key]
    assert "susceptible-raw-eggs" in errors(kitchen(edits)), "not said"
    for change in problems:
        assert "susceptible-raw-eggs" in errors(kitchen((*edits, said, change))), change
    general = kitchen((*edits[:-1], said))
    assert "susceptible" not in limits(general, "pork-bake")


def juice_for_the_frail(key: str) -> None:
    """Raw, it is refused with the row's clause; pasteurised, or to anybody else, it isn't."""
    row = ROWS[key]
    juice: Edit = (
        "ingredients/all.yaml",
        "whole-egg:\n",
        "cider: {name: Fresh apple cider, species: none, state: STATE, form: liquid, allergens: "
        "none}\nwhole-egg:\n",
    )
    cup: Edit = (
        "formulas/cup.yaml",
        "",
        "name: Cider by the cup\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\n"
        "station: pass\nparts: {all: {cider: 1 kg}}\nsteps: [{do: mix}, {do: serve}]\n"
        "batches: [1 kg total]\n",
    )
    for state, whom, refused in (
        ("raw", FRAIL, True),
        ("ready-to-eat", FRAIL, True),
        ("pasteurised", FRAIL, False),
        ("raw", None, False),
    ):
        of = (juice[0], juice[1], juice[2].replace("STATE", state))
        path = kitchen((of, *((whom,) if whom else ())))
        (path / "standards" / cup[0]).write_text(cup[2])
        reported = run(path, "check")["findings"]
        found = [f for f in reported if f["code"] == "susceptible-raw-juice"]
        assert bool(found) is refused, (state, whom)
        assert all(row["clause"] in f["source"] for f in found)


def one_egg_for_the_frail(key: str) -> None:
    """Named, counted and cooked to order's row it is let through; soft, two, or not counted it
    isn't."""
    row = ROWS[key]
    one: tuple[Edit, ...] = tuple(
        (
            f,
            a,
            b.replace("{to_order}", "to_order: yes\nraw_eggs: one-egg\n")
            .replace("3 each", "1 each")
            .replace("150 g", "50 g")
            .replace("portion: 50 g", "portion: 40 g"),
        )
        for f, a, b in TO_ORDER
    )
    path = kitchen((*one, FRAIL))
    assert errors(path) == []
    found = limits(path, "pork-bake")
    assert found["susceptible"]["source"]["clause"] == row["clause"]
    assert "never soft" in found["susceptible"]["words"]
    assert found["cook"]["value"] == float(rows_of("cooking_food_code.csv")["FC-A1a"]["temp_F"])
    for change in (
        (BAKE, "whole-egg: 1 each", "whole-egg: 2 each"),
        (BAKE, "whole-egg: 1 each", "whole-egg: 50 g"),
        (BAKE, "portion: 40 g", "portion: 200 g"),
        (BAKE, "to_order: yes\n", ""),
        (BAKE, "raw_eggs: one-egg\n", ""),
        (BAKED, "  - do: whisk\n", "  - do: pool\n"),
        (
            "equipment/house.yaml",
            OVEN,
            "range-oven: {kind: microwave, name: Microwave oven, station: range}",
        ),
    ):
        assert "susceptible-raw-eggs" in errors(kitchen((*one, FRAIL, change))), change
    soft: Edit = (BAKE, "bake: core 72 °C", "bake: core 57 °C")
    assert "target-below-limit" in errors(kitchen((*one, FRAIL, soft)))
    asked: Edit = (BAKE, "to_order: yes\n", "to_order: yes\nundercooked: Soft, as asked.\n")
    assert {"undercooked-refused", "susceptible-raw-eggs"} <= set(
        errors(kitchen((*one, FRAIL, asked)))
    )


THAW_FOR_ONE: tuple[Edit, ...] = (
    (TOSS, AGAIN[0][1], "  - do: thaw\n    add: [rice, dressing]\n  - do: serve\n"),
    AGAIN[2],
    (SALAD, "[20 portions, 40 portions]", "[1 portions]\nto_order: yes"),
    (SALAD, "cooked-rice: 2 kg", "cooked-rice: 150 g"),
    (SALAD, "    cream: 200 ml\n", ""),
)


def thawed_to_order(key: str) -> None:
    """Any way for one order; in a refrigerator its figure is, and without the facts no way is
    known."""
    row = ROWS[key]
    path = kitchen(THAW_FOR_ONE)
    assert errors(path) == []
    limit = limits(path, "rice-salad")["thaw"]
    assert limit["source"]["clause"] == row["clause"] and "any way is allowed" in limit["words"]
    assert "value" not in limit
    cold = kitchen(
        (
            *THAW_FOR_ONE,
            (TOSS, "add: [rice, dressing]\n", "add: [rice, dressing]\n    in: cold-room\n"),
        )
    )
    assert limits(cold, "rice-salad")["thaw"]["value"] == float(ROWS["THAW-1"]["to_F"])
    for change in (
        (SALAD, "\nto_order: yes", ""),
        (SALAD, "[1 portions]", "[2 portions]"),
        (SALAD, "cooked-rice: 150 g", "pork-shoulder: 150 g"),
        (TOSS, "  - do: serve\n", "  - do: rest\n  - do: serve\n"),
        (
            "ingredients/all.yaml",
            "name: Cooked rice\n  species: none\n  state: ready-to-eat\n",
            "name: Cooked rice\n  species: none\n",
        ),
        (TOSS, "  - do: serve\n", "  - do: store\n    in: cold-room\n  - do: serve\n"),
    ):
        assert "not-covered" in errors(kitchen((*THAW_FOR_ONE, change))), change


FREEZER: Edit = (
    "equipment/house.yaml",
    "blast: {kind",
    "deep: {kind: freezer, name: Freezer, air: -20 °C}\nblast: {kind",
)


def kept_frozen(key: str) -> None:
    """What arrives frozen, and what a formula freezes: the rule in words, where food in the cold
    has a figure."""
    row = ROWS[key]
    bought = kitchen(
        (
            (
                "ingredients/all.yaml",
                "name: Pork shoulder\n",
                "name: Pork shoulder\n  arrives: frozen\n",
            ),
        )
    )
    made = kitchen(
        (
            FREEZER,
            (BAKED, "  - do: store\n    in: cold-room\n", "  - do: freeze\n    in: deep\n"),
            (BAKE, "cold: 5 days", "frozen: 60 days"),
        )
    )
    for path, name in ((bought, "pork-shoulder"), (made, "pork-bake")):
        limit = limits(path, name)["cold_hold"]
        assert limit["source"]["clause"] == row["clause"] and limit["words"] == "Keep it frozen."
        assert "value" not in limit and errors(path) == []
        assert "value" in limits(kitchen(), name)["cold_hold"]


def slacked(key: str) -> None:
    """In a refrigerator its figure; frozen still, the words; nothing stated, the figure and an
    error."""
    row = ROWS[key]

    def step(facts: str) -> Path:
        return kitchen(
            (
                FREEZER,
                (
                    BAKED,
                    GRIND,
                    "  - do: slack\n    add: [meat]\n"
                    f"{facts}{GRIND.replace('    add: [meat]', '')}",
                ),
            )
        )

    still = "    stays_frozen: yes\n    time: 30 min\n"
    ways = ["    in: cold-room\n"] if row["to_F"] else [still, "    in: deep\n"]
    for facts in ways:
        limit = limits(step(facts), "pork-bake")["thaw"]
        assert errors(step(facts)) == [] and limit["source"]["clause"] == row["clause"]
        assert limit.get("value") == (float(row["to_F"]) if row["to_F"] else None)
        assert row["to_F"] or "stays frozen" in limit["words"]
    assert errors(step("    time: 30 min\n")) == ["slacked-where"]


# --- to order, by microwave, packed by a plant, the rest of a roast, in two goes

TO_ORDER: tuple[Edit, ...] = (
    (
        "ingredients/all.yaml",
        "form: liquid\n  allergens: [eggs]",
        "form: intact\n  allergens: [eggs]",
    ),
    (BAKE, "    pork-shoulder: 3 kg\n", "    whole-egg: 3 each\n"),
    (BAKE, "    whole-egg: 6 each\n    cream: 1 cup\n", "    cream: 1 tbsp\n"),
    (
        BAKE,
        "fill_weight: 900 g, vessel: dish, unit: dish, units: dishes, portion: 150 g",
        "portion: 150 g",
    ),
    (BAKE, "keeps: {cold: 5 days}\n", "{to_order}"),
    (BAKE, "[4 dishes, 8 dishes]", "[1 portions]"),
    (BAKED, "  - do: grind\n    add: [meat]\n", "  - do: whisk\n    add: [meat]\n"),
    (BAKED, "    with: bowl-mixer\n  - do: fill\n    vessel: as the formula says\n", ""),
    (
        BAKED,
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: serve\n",
    ),
)


def eggs_to_order(stated: bool = True) -> Path:
    word = "to_order: yes\n" if stated else ""
    return kitchen(tuple((f, a, b.replace("{to_order}", word)) for f, a, b in TO_ORDER))


def to_order(key: str) -> None:
    """Stated, the row for one guest's order and its clause; not stated, the eggs count as
    pooled."""
    row = ROWS[key]
    path = eggs_to_order()
    assert errors(path) == []
    limit = limits(path, "pork-bake", f"bake: {on_probe(row)}")["cook"]
    same_pair(limit, row)
    assert limit["source"]["clause"] == row["clause"]
    pooled = limits(eggs_to_order(stated=False), "pork-bake")["cook"]
    assert pooled["source"]["clause"].startswith(ROWS["FC-A2"]["clause"])


OVEN = (
    "range-oven: {kind: oven, name: Range oven, heat: convection, capacity: 20 kg, station: range}"
)


GRIND_TO_FILL = (
    "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [bind, seasoning]\n"
    "    with: bowl-mixer\n"
    "  - do: fill\n    vessel: as the formula says\n"
)
STEAK: tuple[Edit, ...] = (
    (
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork\n  state: raw\n  form: intact",
        "name: Shoulder\n  species: beef\n  state: raw\n  form: intact\n"
        "  whole_muscle: Label of the pack",
    ),
    (
        BAKE,
        "    pork-shoulder: 3 kg\n  bind:\n    whole-egg: 6 each\n    cream: 1 cup\n",
        "    pork-shoulder: 3 kg\n",
    ),
    (
        BAKE,
        "fill_weight: 900 g, vessel: dish, unit: dish, units: dishes, portion: 150 g",
        "portion: 150 g",
    ),
    (
        BAKE,
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
        "targets: {bake: surface 65 °C}\n",
    ),
    (BAKE, "4 dishes, 8 dishes", "4 portions"),
    (BAKED, "parts: [meat, bind, seasoning]\n", ""),
    (BAKED, GRIND_TO_FILL, "  - do: season\n    add: [meat, seasoning]\n"),
    (
        BAKED,
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: serve\n",
    ),
)


def steak(key: str) -> None:
    """On the surface with every fact stated; with one of them missing or against it, the core of
    intact meat or more."""
    row = ROWS[key]
    path = kitchen(STEAK)
    assert errors(path) == []
    limit = limits(path, "pork-bake")["cook"]
    assert (limit["value"], limit["unit"], limit["hold"]) == (float(row["to_F"]), "°F", "none")
    assert limit["measured"] == "surface" and limit["bound"] == "min"
    assert limit["source"]["clause"] == row["clause"] and "colour" in limit["note"]
    assert Fraction(str(limit["shown_c"])) >= Fraction(row["to_C"])
    assert limits(path, "pork-bake", "bake: surface 62 °C")["cook"]["verdict"]["status"] == "fails"
    whole: Edit = STEAK[0]
    without = [
        (
            (whole[0], whole[1], whole[2].replace("\n  whole_muscle: Label of the pack", "")),
            *STEAK[1:],
        ),
        ((whole[0], whole[1], whole[2].replace("\n  form: intact", "")), *STEAK[1:]),
        ((whole[0], whole[1], whole[2].replace("beef", "pork")), *STEAK[1:]),
        (*STEAK, ("kitchen.yaml", "serves: general", "serves: highly-susceptible")),
        (*STEAK, (BAKED, "  - do: season\n", "  - do: marinate\n")),
        (*STEAK, (BAKED, "  - do: season\n", "  - do: tenderise\n")),
        (*STEAK, (BAKED, "  - do: serve\n", "  - do: hold-hot\n  - do: serve\n")),
        (*STEAK, (BAKED, "  - do: serve\n", "  - do: chill\n    in: blast\n    target: to 4 °C\n")),
        (*STEAK, (BAKED, "  - do: serve\n", "")),
        (
            *STEAK,
            (BAKE, "pork-shoulder: 3 kg", "pork-shoulder: {amount: 3 kg, prepare: 2 cm dice}"),
        ),
        (*STEAK, (BAKE, "4 portions]\n", "4 portions]\nkeeps: {cold: 2 days}\n")),
        (
            *STEAK,
            (
                "equipment/house.yaml",
                OVEN,
                "range-oven: {kind: microwave, name: Microwave oven, station: range}",
            ),
        ),
    ]
    for edits in without:
        refused = kitchen(edits)
        assert "target-missing" in errors(refused), edits[-1]
    cooked = kitchen((*STEAK, (BAKE, "bake: surface 65 °C", "bake: core 72 °C")))
    assert limits(cooked, "pork-bake")["cook"]["source"]["clause"].startswith("3-401.11(A)(1)")


def in_microwave(stands: str) -> tuple[Edit, ...]:
    oven: Edit = (
        "equipment/house.yaml",
        OVEN,
        "range-oven: {kind: microwave, name: Microwave oven, station: range}",
    )
    return (oven, (BAKED, "    at: 180 °C\n", stands), (BAKE, "core 72 °C", "core 76 °C"))


def microwave(key: str) -> None:
    """Intact pork, which an oven would cook to 145 °F: 165 °F here, and its time to be."""
    row = ROWS[key]
    path = kitchen((*WHOLE, *in_microwave("    standing_time: 2 min\n")))
    limit = limits(path, "pork-bake")["cook"]
    assert (limit["value"], limit["hold"]) == (float(row["temp_F"]), "none")
    assert limit["stand_s"] == float(row["hold_seconds"])
    assert limit["source"]["clause"] == row["clause"] and errors(path) == []
    for short in ("", "    standing_time: 1 min\n"):
        assert errors(kitchen((*WHOLE, *in_microwave(short)))) == ["stand-too-short"]
    low = kitchen((*WHOLE, *in_microwave("    standing_time: 2 min\n")[:2]))
    assert errors(low) == ["target-below-limit"], "72 °C would do in an oven"


def microwave_again(key: str) -> None:
    row = ROWS[key]
    oven: Edit = (
        "equipment/house.yaml",
        OVEN,
        OVEN + "\nmicro: {kind: microwave, name: Microwave oven, station: pass}",
    )
    step, old = "  - do: reheat\n    add: [rice, dressing]\n", AGAIN[0][2]
    new = old.replace(step, step + "    with: micro\n    standing_time: 2 min\n").replace(
        " for 15 s", ""
    )
    path = kitchen(((AGAIN[0][0], AGAIN[0][1], new), *AGAIN[1:], oven))
    limit = limits(path, "rice-salad")["reheat"]
    assert (limit["value"], limit["hold"]) == (float(row["temp_F"]), "none")
    assert limit["stand_s"] == float(row["hold_seconds"])
    assert limit["source"]["clause"] == row["clause"] and limit["reach"]["clause"] == "3-403.11(D)"
    bare = (
        (AGAIN[0][0], AGAIN[0][1], new.replace("    standing_time: 2 min\n", "")),
        *AGAIN[1:],
        oven,
    )
    assert "stand-too-short" in errors(kitchen(bare))


BOUGHT: tuple[Edit, ...] = (AGAIN[0], AGAIN[2], (SALAD, "    cream: 200 ml\n", ""))
PLANT_PACK: Edit = (
    "ingredients/all.yaml",
    "name: Cooked rice\n",
    "name: Cooked rice\n  commercially_packed: yes\n",
)


def packed_by_a_plant(key: str) -> None:
    row = ROWS[key]
    path = kitchen((*BOUGHT, PLANT_PACK))
    limit = limits(path, "rice-salad")["reheat"]
    assert (limit["value"], limit["hold"]) == (float(row["temp_F"]), "none")
    assert limit["source"]["clause"] == row["clause"]
    assert limit["reach"]["within_s"] == float(ROWS["FC-RH-D"]["hold_seconds"])
    loose = limits(kitchen(BOUGHT), "rice-salad")["reheat"]
    same_pair(loose, ROWS["FC-RH-A"])
    mixed = limits(kitchen((*BOUGHT[:2], PLANT_PACK)), "rice-salad")["reheat"]
    assert mixed["source"]["clause"] == "3-403.11(A)", "the cream isn't said to be"


def roast_kitchen(*more: Edit) -> Path:
    """A beef roast by the chart, chilled whole; again in the oven in another formula, and held
    hot."""
    edits: tuple[Edit, ...] = (
        *WHOLE,
        of("beef"),
        (
            BAKED,
            "  - do: mix\n    add: [bind, seasoning]\n    with: bowl-mixer\n  - do: fill\n"
            "    vessel: as the formula says\n",
            "",
        ),
        (BAKED, "add: [meat]", "add: [meat, seasoning]"),
        (BAKE, "  bind:\n    cream: 1 cup\n", ""),
        (BAKED, "parts: [meat, bind, seasoning]\n", ""),
        (
            BAKE,
            "fill_weight: 900 g, vessel: dish, unit: dish, units: dishes, portion: 150 g",
            "fill_weight: 1.5 kg",
        ),
        (BAKE, "4 dishes, 8 dishes", "1 fills"),
        (BAKE, "core 72 °C", "core 56 °C for 112 min"),
        (
            TOSS,
            AGAIN[0][1],
            "  - do: reheat\n    add: [rice]\n    with: range-oven\n    at: 180 °C\n"
            "    target: core 56 °C for 112 min\n  - do: hold-hot\n    target: at 56 °C\n",
        ),
        (SALAD, "  dressing:\n    cream: 200 ml\n    salt: 1 %\n", ""),
        (SALAD, "cooked-rice: 2 kg", "pork-bake: 1.5 kg"),
        (SALAD, "keeps: {cold: 3 days}\n", ""),
        (SALAD, "makes: {portion: 180 g}", "makes: {fill_weight: 1.5 kg}"),
        (SALAD, "[20 portions, 40 portions]", "[1 fills]"),
        *more,
    )
    return kitchen(edits)


def rest_of_a_roast(key: str) -> None:
    """Every row of the chart may replace 165 °F; sliced, none of them."""
    row = ROWS[key]
    path = roast_kitchen()
    assert errors(path) == []
    limit = limits(path, "rice-salad")["reheat"]
    assert limit["source"]["clause"] == row["clause"] and "reach" not in limit
    chart = {(o["value"], o.get("hold_s", 0)) for o in limit["options"] if o["group"] == "roast"}
    rows = [r for k, r in ROWS.items() if k.startswith("FC-ROAST-")]
    assert chart == {(float(r["temp_F"]), float(r["hold_seconds"])) for r in rows}
    assert {o["value"] for o in limit["options"]} - {at for at, _ in chart} == {165}
    for cut in (
        (BAKED, "  - do: store\n", "  - do: slice\n  - do: store\n"),
        (SALAD, "pork-bake: 1.5 kg", "pork-bake: {amount: 1.5 kg, prepare: thick slices}"),
    ):
        assert "target-below-limit" in errors(roast_kitchen(cut))


def roast_held_hot(key: str) -> None:
    row = ROWS[key]
    limit = limits(roast_kitchen(), "rice-salad")["hot_hold"]
    assert (limit["value"], limit["unit"]) == (float(row["to_F"]), "°F")
    assert limit["bound"] == "min" and limit["source"]["clause"] == row["clause"]
    salted = roast_kitchen(
        (SALAD, "pork-bake: 1.5 kg", "pork-bake: 1.5 kg\n    salt: 20 g"),
        (TOSS, "core 56 °C for 112 min", "core 76 °C for 15 s"),
        (TOSS, "at 56 °C", "at 60 °C"),
    )
    general = limits(salted, "rice-salad")
    assert general["hot_hold"]["value"] == float(ROWS["HOT-1"]["to_F"]), "not alone any more"


PART_COOKED: tuple[Edit, ...] = (
    (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nauthorisations:\n  - {for: part-cook, authority: County, "
        "document: Procedure 9, from: 2026-02-01, until: 2028-02-01}\n",
    ),
    (
        BAKED,
        "  - do: bake\n",
        "  - do: part-cook\n    with: range-oven\n    time: 40 min\n"
        "    procedure: Procedure 9\n  - do: chill\n    id: first-chill\n    in: blast\n"
        "    target: to 4 °C\n  - do: bake\n",
    ),
)


def in_two_goes(key: str) -> None:
    row = ROWS[key]
    path = kitchen(PART_COOKED)
    assert errors(path) == []
    limit = limits(path, "pork-bake")["part_cook"]
    assert limit["within_s"] == float(row["hold_seconds"]) and limit["bound"] == "max"
    assert limit["source"]["clause"] == row["clause"] and "value" not in limit
    cooled = limits(path, "pork-bake")["pork-bake/first-chill/cool"]
    assert cooled["source"]["clause"] == "3-501.14(A)", "as cooked food"
    assert limits(path, "pork-bake")["cook"]["source"]["clause"].startswith("3-401.11(A)(2)")
    long = kitchen(
        (PART_COOKED[0], (BAKED, PART_COOKED[1][1], PART_COOKED[1][2].replace("40 min", "61 min")))
    )
    assert errors(long) == ["part-cook-too-long"]


# --- cooling, holding, thawing, dates


def staged(project: Path, formula: str, number: int, hazard: str = "cool") -> Callable[[str], None]:
    def drive(key: str) -> None:
        row, limit = ROWS[key], limits(project, formula)[hazard]
        stage = limit["stages"][number]
        assert stage["to_f"] == float(row["to_F"])
        assert stage["within_s"] == float(row["limit_hours"]) * 3600
        assert stage["clause"] == row["clause"]
        if row["from_F"] and not stage.get("counts_from"):
            assert stage["from_f"] == 135 or stage["from_f"] == float(row["from_F"])

    return drive


def cooled(number: int) -> Callable[[str], None]:
    def drive(key: str) -> None:
        staged(kitchen(), "pork-bake", number)(key)
        limit = limits(kitchen(), "pork-bake")["cool"]
        assert limit["stages"][number]["clock_from"]["value"] == 135
        assert "counts_from" not in limit["stages"][number], "both from one start"

    return drive


def one_figure(hazard: str, project: Callable[[], Path], formula: str) -> Callable[[str], None]:
    def drive(key: str) -> None:
        row, limit = ROWS[key], limits(project(), formula)[hazard]
        figure = row.get("to_F") or ""
        assert limit["value"] == float(figure or row["to_C"])
        assert limit["unit"] == ("°F" if figure else "°C")
        assert limit["bound"] == {">=": "min", "<=": "max"}[row["comparator"]]

    return drive


HOT: tuple[Edit, ...] = ((BAKED, "  - do: chill\n", "  - do: hold-hot\n  - do: chill\n"),)
TIMED: tuple[Edit, ...] = (
    (
        TOSS,
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: hold-by-time\n    time: 4 h\n    procedure: Board 1\n{at}",
    ),
    (SALAD, "keeps: {cold: 3 days}\n", ""),
)


def by_time(at: str) -> Callable[[str], None]:
    def drive(key: str) -> None:
        edits = tuple((f, old, new.replace("{at}", at)) for f, old, new in TIMED)
        row, limit = ROWS[key], limits(kitchen(edits), "rice-salad")["time_control"]
        assert limit["within_s"] == float(row["limit_hours"]) * 3600
        assert limit["source"]["clause"] == row["clause"] and limit["value"] == 41

    return drive


MELON = (
    "melon:\n  name: Melon\n  species: none\n  allergens: none\n  tcs: no\n"
    "beans:\n  name: Beans in a can\n  species: none\n  allergens: none\n"
    "  state: ready-to-eat\n  arrives: ambient\n  sealed: yes\n"
)


def cut_or_opened(hold: str, before: str = "") -> Path:
    """Melon cut here and beans out of their can, held by time; ``before`` are steps ahead of it."""
    steps = (
        "  - do: cut\n    add: [rice, dressing]\n    time: 30 min\n"
        f"{before}  - do: hold-by-time\n    procedure: Board 1\n{hold}"
    )
    return kitchen(
        (
            ("ingredients/all.yaml", "cooked-rice:\n", f"{MELON}cooked-rice:\n"),
            (
                TOSS,
                "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
                "    target: to 4 °C\n",
                steps,
            ),
            (SALAD, "    cooked-rice: 2 kg\n", "    melon: 2 kg\n    beans: 1 kg\n"),
            (SALAD, "    cream: 200 ml\n", ""),
            (SALAD, "keeps: {cold: 3 days}\n", ""),
        )
    )


def cut_by_time(key: str) -> None:
    """From 70 °F, never above it, four hours; where a fact is missing the food starts at 41 °F."""
    row = ROWS[key]
    limit = limits(cut_or_opened("    at: 20 °C\n    time: 3 h\n"), "rice-salad")["time_control"]
    assert (
        limit["value"] == limit["stay"]["value"] == float(row["to_F"]) and limit["bound"] == "max"
    )
    assert limit["within_s"] == float(row["limit_hours"]) * 3600
    assert limit["source"]["clause"] == row["clause"]
    chilled = "  - do: rest\n    in: cold-room\n"
    stricter = [
        ("    time: 3 h\n", ""),
        ("    at: 22 °C\n    time: 3 h\n", ""),
        ("    at: 20 °C\n    time: 3 h\n", chilled),
        ("    at: 20 °C\n    time: 4 h\n", ""),  # with the half hour since the cutting
    ]
    for hold, before in stricter:
        assert limits(cut_or_opened(hold, before), "rice-salad")["time_control"]["value"] == 41


def thawed(facts: str, ident: str) -> Callable[[str], None]:
    def drive(key: str) -> None:
        path = kitchen(
            (
                (
                    BAKED,
                    "  - do: grind\n    add: [meat]\n",
                    f"  - do: thaw\n    add: [meat]\n{facts}  - do: grind\n",
                ),
            )
        )
        row, limit = ROWS[key], limits(path, "pork-bake")[f"pork-bake/thaw/{ident}"]
        assert limit["value"] == float(row["to_F"])
        assert limit["source"]["clause"] == row["clause"]
        if key == "THAW-4":
            assert limit["within_s"] == float(row["limit_hours"]) * 3600

    return drive


def thawed_ready(key: str) -> None:
    edits = (
        (
            TOSS,
            "  - do: toss\n    add: [rice, dressing]\n",
            "  - do: thaw\n    add: [rice]\n    at: 18 °C\n    time: 1 h\n  - do: toss\n"
            "    add: [dressing]\n",
        ),
    )
    limit = limits(kitchen(edits), "rice-salad")["rice-salad/thaw/thaw"]
    assert (limit["value"], limit["source"]["clause"]) == (
        float(ROWS[key]["to_F"]),
        ROWS[key]["clause"],
    )
    assert "within_s" not in limit, "not above it at any time"


GRIND = "  - do: grind\n    add: [meat]\n"
MICROWAVE = (
    "equipment/house.yaml",
    "probe: {kind",
    "oven-2: {kind: microwave, name: Microwave oven, station: range}\nprobe: {kind",
)


def thawed_by_cooking(key: str) -> None:
    """From frozen, beside its cooking limit; by microwave with the cooking straight after it, or an
    error."""
    row = ROWS[key]
    frozen = kitchen(((BAKED, "  - do: bake\n", "  - do: bake\n    does: thaws\n"),))
    thaw, cook = (limits(frozen, "pork-bake")[f"pork-bake/bake/{h}"] for h in ("thaw", "cook"))
    assert thaw["source"]["clause"] == row["clause"] and "frozen" in thaw["words"]
    assert "value" not in thaw and cook["value"] == float(ROWS["FC-A2-158"]["temp_F"])
    assert codes(frozen) == []
    zap = "  - do: thaw\n    add: [meat, bind, seasoning]\n    with: oven-2\n"
    both = kitchen(
        (
            MICROWAVE,
            (
                BAKED,
                f"{GRIND}  - do: mix\n    add: [bind, seasoning]\n    with: bowl-mixer\n"
                "  - do: fill\n    vessel: as the formula says\n",
                zap,
            ),
        )
    )
    limit = limits(both, "pork-bake")["thaw"]
    assert limit["source"]["clause"] == row["clause"] and "without a pause" in limit["words"]
    assert codes(both) == []
    late = kitchen(
        (
            MICROWAVE,
            (
                BAKED,
                GRIND,
                "  - do: thaw\n    add: [meat]\n    with: oven-2\n"
                f"{GRIND.replace('    add: [meat]', '')}",
            ),
        )
    )
    assert codes(late) == ["thaw-not-cooked-at-once"]


def thawed_out_of_its_pack(key: str) -> None:
    """Before it thaws in the refrigerator; in running water at once when it has, at the latest."""
    row = ROWS[key]
    packed = (
        "ingredients/all.yaml",
        "allergens: none\n  trim: 10 %",
        "allergens: [fish (cod)]\n  arrives: frozen\n  without_air: yes\n  trim: 10 %",
    )
    for facts, words in (
        ("    in: cold-room\n", "Take the fish out of its pack before it thaws."),
        ("    at: 18 °C\n    time: 2 h\n", "before it thaws, or at once when it has thawed."),
    ):
        thaw = f"  - do: thaw\n    add: [meat]\n{facts}{GRIND.replace('    add: [meat]', '')}"
        path = kitchen((of("fish"), packed, (BAKED, GRIND, thaw)))
        limit = limits(path, "pork-bake")["pork-bake/thaw/thaw-pack"]
        assert limit["words"].endswith(words) and limit["source"]["clause"] == row["clause"]
        assert codes(path) == []
    assert codes(kitchen((of("fish"), packed))) == ["packed-fish-not-thawed"]


def dated(key: str) -> None:
    row = ROWS[key]
    limit = limits(kitchen(), "pork-bake")["date"]
    assert (
        limit["law_days"] == int(row["limit_value"]) and limit["source"]["clause"] == row["clause"]
    )
    over = kitchen(((BAKE, "cold: 5 days", "cold: 8 days"),))
    assert codes(over) == ["keeps-beyond-law"]


def dated_once_packed(key: str) -> None:
    """What is packed without air by 3-502.12 goes by that section's days, and not by the seven."""
    assert ROWS[key]["clause"] == "3-501.17(A)"
    date = limits(
        packed_salad("{criterion: water-activity, measured: 0.91, record: Log 4}"), "rice-salad"
    )["date"]
    assert date["law_days"] == int(ROP["ROP-AW"]["limit_value"]) != 7
    assert date["source"]["clause"] == ROWS[key]["clause"]


def dated_by_parts(key: str) -> None:
    assert ROWS[key]["clause"] == "3-501.17(C)"
    assert limits(kitchen(), "rice-salad")["date"]["dated_by_parts"] == ["Cooked rice", "Cream"]


def dated_frozen(key: str) -> None:
    path = kitchen(((BAKE, "{cold: 5 days}", "{cold: 5 days, frozen: 60 days}"),))
    sheet = run(path, "data", "pork-bake")["dates"]
    assert (sheet["use_by_day"], sheet["frozen_days"]) == (5, 60), "neither adds to the other"


ALL, SHELL = "ingredients/all.yaml", ("ingredients/all.yaml", "form: liquid", "form: intact")


def received(key: str) -> None:
    """At the door: `limits` of the ingredient gives the row, and its page holds it."""
    import html

    from generator.pages import make_pages
    from generator.sheet.manual import make_manual

    facts = {"REC-1": "", "REC-2": "", "REC-3": "  arrives: hot\n"}[key]
    edits = (
        ((TOSS, "  - do: toss", "  - do: toss"),)
        if not facts
        else (("ingredients/all.yaml", "cooked-rice:\n", f"cooked-rice:\n{facts}"),)
    )
    item = {"REC-1": "pork-shoulder", "REC-2": "whole-egg", "REC-3": "cooked-rice"}[key]
    egg = (("ingredients/all.yaml", "form: liquid", "form: intact"),) if key == "REC-2" else ()
    path = kitchen((*[e for e in edits if e[1] != e[2]], *egg))
    limit = limits(path, item)["receive"]
    row = ROWS[key]
    assert (limit["value"], limit["unit"]) == (float(row["to_F"]), "°F")
    assert limit["bound"] == {">=": "min", "<=": "max"}[row["comparator"]]
    assert limit["source"]["clause"] == row["clause"]
    assert limit.get("measured", "core") == ("air" if key == "REC-2" else "core")
    manual = make_manual(path, AS_OF)
    page = next(p for p in make_pages(manual) if p.uri == f"ingredients/{item}.md")
    text = html.unescape(page.html)
    assert f"<b>{row['to_F']}\u00a0°F</b>" in text and row["clause"] in text


def game_birds(key: str) -> None:
    """Each named bird is cooked as its class is."""
    for bird in {
        "BIRD-1": ("quail", "pheasant", "partridge", "grouse", "pigeon", "game-bird"),
        "BIRD-2": ("rhea", "emu"),
    }[key]:
        limit = limits(kitchen((*WHOLE, of(bird))), "pork-bake", "bake: core 76 °C for 1 min")[
            "cook"
        ]
        options = {o["value"] for o in limit["options"]}
        assert float(ROWS[key]["to_F"]) in options, bird
        assert key != "BIRD-1" or len(options) == 1
        assert limit["source"]["clause"].split(" ")[0] in ROWS[key]["note"]


def pasteurised(key: str) -> None:
    """Raw, it is refused by the row of its kind; pasteurised, it comes in."""
    more = {"MILK-1": "", "MILK-2": "  arrives: frozen\n", "MILK-3": "  cheese: soft\n"}[key]
    kind: Edit = (ALL, "cream:\n", f"cream:\n{more}")
    raw_one: Edit = (ALL, "  state: pasteurised\n", "  state: raw\n")
    edits = (kind,) if more else ()
    (reported,) = [
        f for f in run(kitchen((*edits, raw_one)), "check")["findings"] if f["severity"] == "error"
    ]
    assert reported["code"] == "milk-not-pasteurised"
    assert reported["source"] == f"Food Code {ROWS[key]['edition'][-4:]}, {ROWS[key]['clause']}"
    assert errors(kitchen(edits)) == []


PICKED = {"SOURCE-1": "Foraged mushrooms, cooked", "SOURCE-2": "Mussels, foraged and cooked"}


def not_of_the_wild(key: str) -> None:
    """What was picked in the wild is refused by the row; mushrooms aren't with their paper."""
    named: Edit = (ALL, "name: Cooked rice", f"name: {PICKED[key]}")
    found = run(kitchen((named,)), "check")["findings"]
    (reported,) = [f for f in found if f["code"] in ("source-not-approved", "not-for-eating")]
    assert reported["severity"] == "error"
    assert reported["source"] == f"Food Code {ROWS[key]['edition'][-4:]}, {ROWS[key]['clause']}"
    paper: Edit = (named[0], named[1], f"{named[2]}\n  approved_source: Permit 7")
    assert bool(errors(kitchen((paper,)))) is (key == "SOURCE-2")


def canned_elsewhere(key: str) -> None:
    """Canned here it is refused by the row; kept cold as it was, it isn't."""
    canned: Edit = (BAKE, "keeps: {cold: 5 days}", "not_tcs: {reason: Canned, document: A book}")
    found = run(kitchen((canned,)), "check")["findings"]
    (reported,) = [f for f in found if f["severity"] == "error"]
    assert reported["code"] == "canned-here"
    assert reported["source"] == f"Food Code {ROWS[key]['edition'][-4:]}, {ROWS[key]['clause']}"
    assert errors(kitchen()) == []


OWN_LAW: Edit = (ALL, "cream:\n", "cream:\n  own_law: the law on milk\n")


def received_warm(key: str) -> None:
    """A food with a law of its own comes in by that, and is cooled; without one it is 41 °F at the
    door."""
    row, found = ROWS[key], limits(kitchen((OWN_LAW,)), "cream")
    (stage,) = found["cool"]["stages"]
    assert (stage["to_f"], stage["within_s"]) == (
        float(row["to_F"]),
        float(row["limit_hours"]) * 3600,
    )
    assert stage["clause"] == row["clause"] and stage["clock_from"] == "when it comes in"
    assert Fraction(str(stage["shown_c"])) <= Fraction(row["to_C"])
    door = found["receive"]
    assert "value" not in door and door["words"].endswith("the law on milk.")
    assert door["source"]["clause"] == "3-202.11(B)"
    without = limits(kitchen(), "cream")
    assert "cool" not in without and without["receive"]["value"] == float(ROWS["REC-1"]["to_F"])


def egg_air(step: str) -> Callable[[str], None]:
    """The air round raw eggs in their shells; any other raw egg is held as other food."""

    def drive(key: str) -> None:
        row, path = ROWS[key], kitchen((SHELL,))
        limit = limits(path, "whole-egg")[f"whole-egg/{step}/cold_hold"]
        assert (limit["value"], limit["unit"], limit["measured"]) == (
            float(row["to_F"]),
            "°F",
            "air",
        )
        assert limit["bound"] == "max" and limit["source"]["clause"] == row["clause"]
        assert Fraction(str(limit["shown_c"])) <= Fraction(row["to_C"])
        liquid = limits(kitchen(), "whole-egg")
        assert "whole-egg/put-away/cold_hold" not in liquid
        assert liquid["cold_hold"]["value"] == float(ROWS["COLD-1"]["to_F"])
        over = kitchen((SHELL, ("equipment/house.yaml", "air: 3 °C", "air: 6 °C")))
        assert "air-above-limit" in codes(over), "what is made of them is held as before"

    return drive


def marked_after(key: str) -> None:
    row = ROWS[key]
    seconds = float(row["limit_hours"]) * 3600
    for days, asked in ((1, False), (2, True)):
        path = kitchen(((BAKE, "cold: 5 days", f"cold: {days} days"),))
        limit = limits(path, "pork-bake")["date"]
        assert (limit["marked_after_s"], limit["mark_asked_for"]) == (seconds, asked)
        assert limit["source"]["clause"] == row["clause"]
    short = kitchen(((SALAD, "cold: 3 days", "cold: 1 days"),))
    assert limits(short, "rice-salad")["date"]["mark_asked_for"], "it keeps the mark of its parts"


def opened(key: str) -> None:
    """Day 1 is the day a plant's container is opened; of what isn't stated to be one, its
    preparation."""
    row, days = ROWS[key], int(ROWS["DATE-1"]["limit_value"])
    limit = limits(kitchen(), "cream")["date"]
    assert (limit["law_days"], limit["day_one"]) == (days, "opened")
    assert limit["source"]["clause"] == row["clause"] and "maker's use-by" in limit["words"]
    limit = limits(kitchen(((ALL, "  commercially_packed: yes\n", ""),)), "cream")["date"]
    assert (limit["law_days"], limit["day_one"]) == (days, "prepared")
    assert limit["source"]["clause"] == ROWS["DATE-1"]["clause"]


UNDATED = {
    "DATE-G1": ("deli-salad", "none", "[eggs]"),
    "DATE-G2": ("hard-cheese", "none", "[milk]"),
    "DATE-G3": ("semisoft-cheese", "none", "[milk]"),
    "DATE-G4": ("cultured-dairy", "none", "[milk]"),
    "DATE-G5": ("preserved-fish", "fish", "[fish (herring)]"),
    "DATE-G6": ("dry-sausage", "pork", "none"),
    "DATE-G7": ("salt-cured", "pork", "none"),
}


def needs_no_date(key: str) -> None:
    """Opened, it has no day of its own; not packed by a plant, or not on the list, it has."""
    kind, species, allergens = UNDATED[key]
    facts = (
        f"  name: What is bought\n  species: {species}\n  state: ready-to-eat\n"
        f"  allergens: {allergens}\n"
    )
    old = (
        "  name: Cream\n  species: none\n  state: pasteurised\n  form: liquid\n"
        "  allergens: [milk]\n"
    )
    item: Edit = (ALL, old, facts)
    listed: Edit = (ALL, facts, f"{facts}  undated_as: {kind}\n")
    here: Edit = (ALL, "  commercially_packed: yes\n", "")
    assert limits(kitchen((item,)), "cream")["date"]["day_one"] == "opened"
    found = limits(kitchen((item, listed)), "cream")
    assert "date" not in found and ROWS[key]["clause"] in found["cold_hold"]["note"]
    assert limits(kitchen((item, listed, here)), "cream")["date"]["day_one"] == "prepared"


FROZEN: tuple[Edit, ...] = (
    of("fish"),
    (BAKE, "    whole-egg: 6 each\n", ""),
    ("ingredients/all.yaml", "allergens: none\n", "allergens: [fish (cod)]\n"),
    (
        BAKED,
        "  - do: grind\n    add: [meat]\n",
        "  - do: freeze\n    add: [meat]\n    at: {at}\n    time: {time}\n  - do: portion\n    time: 10 min\n",
    ),
    (
        BAKED,
        "  - do: bake\n    with: range-oven\n    at: 180 °C\n    target: from the formula\n"
        "    loses: 10 %\n  - do: chill\n    in: blast\n    target: to 4 °C\n"
        "  - do: store\n    in: cold-room\n",
        "  - do: serve\n",
    ),
    (
        BAKE,
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
        "undercooked: Raw by name; the menu carries the reminder.\n",
    ),
)


def against_parasites(key: str) -> None:
    row = ROWS[key]
    at, hours = row["from_F"] or row["to_F"], int(row["limit_hours"])
    edits = tuple(
        (f, a, b.replace("{at}", f"{int(at) - 2} °F").replace("{time}", f"{hours} h"))
        for f, a, b in FROZEN
    )
    limit = limits(kitchen(edits), "pork-bake")["parasites"]
    assert (limit["value"], limit["hold_s"]) == (float(at), hours * 3600.0)
    assert limit["source"]["clause"] == row["clause"]
    short = tuple((f, a, b.replace(f"{hours} h", f"{hours - 1} h")) for f, a, b in edits)
    assert "parasites-not-frozen" in codes(kitchen(short))


ENGLISH_FISH = (
    "salmon: {name: Wild salmon, species: fish, state: raw, form: intact, arrives: cold, "
    "allergens: fish}\n"
)


def english_parasites(key: str) -> None:
    """Raw fish in England: frozen so cold for so long it may be served, an hour less it may not."""
    row = ROWS[key]
    for hours, refused in ((int(row["limit_hours"]), False), (int(row["limit_hours"]) - 1, True)):
        project = folder() / f"raw-fish-{hours}"
        shutil.copytree(kitchen(england=True), project)
        shelf = next(iter((project / "standards/ingredients").glob("*.yaml")))
        shelf.write_text(shelf.read_text(encoding="utf-8") + ENGLISH_FISH, encoding="utf-8")
        equipment = next(iter((project / "standards/equipment").glob("*.yaml")))
        cold = "tank: {kind: freezer, name: Tank, air: -25 °C}\n"
        equipment.write_text(equipment.read_text(encoding="utf-8") + cold, encoding="utf-8")
        station = next(iter((project / "standards/stations").glob("*.yaml"))).stem
        (project / "standards/formulas/raw-salmon.yaml").write_text(
            f"name: Raw salmon\nrevision: 1\neffective: 2026-01-01\napproved: Chef\n"
            f"station: {station}\nparts: {{fish: {{salmon: 4 kg}}}}\nsteps:\n"
            f"  - {{do: freeze, in: tank, time: {hours} h}}\n"
            f"  - {{do: slice, time: 10 min}}\n  - do: serve\nbatches: [4 kg total]\n",
            encoding="utf-8",
        )
        found = codes(project)
        assert ("parasites-not-frozen" in found) is refused
        assert "raw-not-cooked" not in found
        if not refused:
            limit = limits(project, "raw-salmon")["parasites"]
            assert (limit["value"], limit["hold_s"]) == (float(row["to_C"]), hours * 3600.0)
            assert limit["source"]["clause"] == row["clause"]


def shellfish(key: str) -> None:
    """Served raw on request, each that the definition names needs no freezing; squid does."""
    kinds = [k for k in ("oysters", "clams", "mussels", "scallops") if k in ROWS[key]["condition"]]
    assert len(kinds) == 4
    thawed = "  - do: grind\n    add: [meat]\n", "  - do: portion\n    add: [meat]\n"
    for kind in (*kinds, "squid"):
        fish, *others = of("mollusc"), FROZEN[1], *FROZEN[4:]
        named = (*fish[:2], fish[2].replace("Shoulder", f"Fresh {kind}"))
        found = codes(kitchen((named, *others, (BAKED, *thawed))))
        assert ("parasites-not-frozen" in found) is (kind == "squid"), kind


def stored_less_cold(key: str) -> None:
    """Frozen until solid at one figure, stored at the other: both on the limit, each short of it an
    error."""
    row = ROWS[key]
    frozen, kept, hours = int(row["from_F"]), int(row["to_F"]), int(row["limit_hours"])

    def laid(at: int, solid: str, stored: int, time: int) -> Path:
        old, new = FROZEN[3][1], FROZEN[3][2]
        steps = new.replace("{at}", f"{at} °F").replace(
            "    time: {time}\n", f"{solid}  - do: store\n    at: {stored} °F\n    time: {time} h\n"
        )
        return kitchen((*FROZEN[:3], (BAKED, old, steps), *FROZEN[4:]))

    solid = "    solid: yes\n"
    found = limits(laid(frozen - 2, solid, kept - 2, hours), "pork-bake")
    limit, store = found["pork-bake/freeze/parasites"], found["pork-bake/store/parasites"]
    assert (limit["value"], limit["store_at"]["value"], limit["hold_s"]) == (
        frozen,
        kept,
        hours * 3600.0,
    )
    assert (store["value"], store["hold_s"]) == (kept, hours * 3600.0)
    assert limit["source"]["clause"] == store["source"]["clause"] == row["clause"]
    assert codes(laid(frozen - 2, solid, kept - 2, hours)) == ["not-used"]
    for wrong in (
        (frozen + 1, solid, kept - 2, hours),
        (frozen - 2, "", kept - 2, hours),
        (frozen - 2, solid, kept + 1, hours),
        (frozen - 2, solid, kept - 2, hours - 1),
    ):
        assert "parasites-not-frozen" in codes(laid(*wrong)), wrong


def parasite_records(key: str) -> None:
    """The record of the freezing is kept 90 days: reported on the limit of the step that freezes."""
    row = ROWS[key]
    at, hours = ROWS["PAR-1"]["from_F"] or ROWS["PAR-1"]["to_F"], ROWS["PAR-1"]["limit_hours"]
    edits = tuple(
        (f, a, b.replace("{at}", f"{int(at) - 2} °F").replace("{time}", f"{hours} h"))
        for f, a, b in FROZEN
    )
    note = limits(kitchen(edits), "pork-bake")["parasites"]["note"]
    assert f"{int(row['limit_hours']) // 24} calendar days" in note


# --- the packs apart


def fsis(species: str) -> Callable[[str], None]:
    def drive(key: str) -> None:
        row = ROWS[key]
        path = kitchen((*PLANT, of(species), (BAKE, "core 72 °C", "core 76 °C for 2 h")))
        options = limits(path, "pork-bake")["cook"]["options"]
        (option,) = [o for o in options if o["value"] == float(row["temp_F"])]
        assert option.get("hold_s", 0) == float(row["time_seconds"])
        assert limits(path, "pork-bake")["cook"]["source"]["standing"] == "guidance"

    return drive


SEVEN: Edit = (BAKE, "process: baked", "process: baked\nlethality: 7-log")
SINGLE: Edit = (BAKE, "process: baked", "process: baked\nlethality: single-temperature")


def fsis_seven(key: str) -> None:
    """The 7-log column in place of the 6.5-log one where the formula says so, and not where it
    doesn't."""
    row = ROWS[key]
    hot = (BAKE, "core 72 °C", "core 76 °C for 2 h")
    limit = limits(kitchen((*PLANT, of("beef"), SEVEN, hot)), "pork-bake")["cook"]
    (option,) = [o for o in limit["options"] if o["value"] == float(row["temp_F"])]
    assert option.get("hold_s", 0) == float(row["time_seconds"])
    assert f"{row['log_reduction']}-log" in option["clause"]
    plain = limits(kitchen((*PLANT, of("beef"), hot)), "pork-bake")["cook"]
    assert "6.5-log" in plain["source"]["clause"]
    target = f"bake: {on_probe(row)}"
    met = limits(kitchen((*PLANT, of("beef"), SEVEN, hot)), "pork-bake", target)["cook"]
    assert (met["value"], met["verdict"]["status"]) == (float(row["temp_F"]), "meets")


CURED: tuple[Edit, ...] = (
    (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nauthorisations:\n  - {for: cure, authority: FSIS, document: Plan 7, "
        "from: 2026-02-01, until: 2028-02-01}\n",
    ),
    (
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "pink-cure: {name: Curing salt, species: none, state: ready-to-eat, allergens: none, "
        "tcs: no, function: cure, nitrite: 6.25 %}\ncooked-rice:\n",
    ),
    (BAKE, "    salt: 1.6 %\n", "    salt: 1.6 %\n    pink-cure: 0.24 %\n"),
    (BAKE, "keeps:", "cured_as: dry\nkeeps:"),
    (
        "equipment/house.yaml",
        "division: 0.1 g, accuracy: 0.1 g, capacity: 500 g",
        "division: 0.01 g, accuracy: 0.01 g, capacity: 500 g",
    ),
)
SMOKED: tuple[Edit, ...] = (
    (BAKED, "  - do: bake\n", "  - do: smoke\n    time: 40 min\n  - do: bake\n"),
    (BAKE, "process: baked", "process: baked\nsmoked_for: flavour"),
)


def fsis_single(key: str) -> None:
    """One reading at the row's figure where the formula goes by it; a time at that figure where it
    doesn't."""
    row = ROWS[key]
    more = (*CURED, *SMOKED) if key == "FSIS-1999-CURED" else ()
    target = f"bake: {on_probe(row)}"
    edits = (*PLANT, of("chicken"), (BAKE, "core 72 °C", "core 76 °C"), *more)
    limit = limits(kitchen((*edits, SINGLE)), "pork-bake", target)["cook"]
    assert (limit["value"], limit["hold"]) == (float(row["temp_F"]), "instant")
    assert limit["source"]["clause"].startswith(row["clause"])
    assert (
        limit["verdict"]["status"] == "meets" and "recommends its poultry tables" in limit["note"]
    )
    without = limits(kitchen(edits), "pork-bake", f"{target} for 1 s")["cook"]
    assert without["verdict"]["status"] == "fails", "the poultry tables ask for a time there"


def scheduled(option: str, number: int | None) -> Callable[[str], None]:
    def drive(key: str) -> None:
        more = CURED if option == "option-3" else ()
        path = kitchen(
            (
                *PLANT,
                of("beef"),
                *more,
                (BAKE, "core 72 °C", "core 76 °C for 2 h"),
                (BAKED, "  - do: chill\n", f"  - do: chill\n    schedule: {option}\n"),
            )
        )
        row, limit = ROWS[key], limits(path, "pork-bake")["cool"]
        assert limit["source"]["clause"] == row["clause"]
        if number is None:
            assert limit["begins_within_s"] == float(row["limit_hours"]) * 3600
            return
        stage = limit["stages"][number]
        assert (stage["from_f"], stage["to_f"]) == (float(row["from_F"]), float(row["to_F"]))
        assert stage["within_s"] == float(row["limit_hours"]) * 3600
        assert stage["clause"] == row["clause"]
        assert stage.get("advised", False) == (key == "STAB-2c"), "a caution, and no limit"
        if key == "STAB-2b":
            assert limit["before_packed"]["value"] == 40 and "40 F" in row["condition"]

    return drive


def fsis_both(key: str) -> None:
    egg = (
        "ingredients/all.yaml",
        "name: Whole egg\n  species: egg\n  state: raw\n  form: liquid\n  allergens: [eggs]",
        "name: Thigh\n  species: turkey\n  state: raw\n  form: intact\n  allergens: none",
    )
    edits = (PLANT[0], PLANT[2], of("chicken"), egg, (BAKE, "core 72 °C", "core 76 °C for 2 h"))
    options = limits(kitchen(edits), "pork-bake")["cook"]["options"]
    (option,) = [o for o in options if o["value"] == float(ROWS[key]["temp_F"])]
    assert option["hold_s"] == float(ROWS[key]["time_seconds"])


def stabilized(number: int) -> Callable[[str], None]:
    def drive(key: str) -> None:
        path = kitchen((*PLANT, of("beef"), (BAKE, "core 72 °C", "core 76 °C for 2 h")))
        staged(path, "pork-bake", number)(key)
        limit = limits(path, "pork-bake")["cool"]
        assert limit["stages"][0]["from_f"] == 130
        assert ("counts_from" in limit["stages"][number]) == (number == 1), "a time of its own"

    return drive


def english(formula: str) -> Callable[[str], None]:
    def drive(key: str) -> None:
        row = ROWS[key]
        at, seconds = float(row["temp_C"]), float(row["time_seconds"])
        step = "simmer"
        limit = limits(kitchen(england=True), formula, f"{step}: core {at + 0.5} °C for 3 h")[
            "cook"
        ]
        (option,) = [o for o in limit["options"] if o["value"] == at]
        if formula == "lamb-stew":
            assert option["hold_s"] == seconds
        else:
            assert option["hold_s"] >= seconds, (
                "the longer of the general list and the burger report"
            )
        assert limit["source"]["standing"] == "guidance"

    return drive


def english_words(key: str) -> None:
    limit = limits(kitchen(england=True), "beef-filling")["cool"]
    assert "value" not in limit and "stages" not in limit, "law without a number"
    if key == "UK-COOL-90":
        assert "90 minutes" in limit["note"] and limit["note"].startswith("Guidance, not law")
    else:
        assert limit["source"]["document"] == "Regulation (EC) No 852/2004"
        assert "harm" in limit["words"] and "refrigerate" in limit["words"]


def england() -> Path:
    return kitchen(england=True)


def fsis_round(key: str) -> None:
    """What FSIS says round its tables, seen in what `limits` and `check` make of them."""
    row = ROWS[key]
    kind = "beef" if key == "FSIS-REG-MEAT" else "chicken"
    path = kitchen((*PLANT, of(kind), (BAKE, "core 72 °C", "core 76 °C for 2 h")))
    if key == "FSIS-2021-CUTOVER":
        reported = next(f for f in run(path, "check")["findings"] if f["code"] == "code-superseded")
        assert row["clause"] in reported["message"] and row["edition"] in reported["message"]
        return
    limit = limits(path, "pork-bake")["cook"]
    if key == "FSIS-REG-MEAT":
        assert f"{row['log_reduction']}-log" in limit["source"]["clause"]
    elif key in ("FSIS-REG-POULTRY", "FSIS-FAT"):
        assert limit["source"]["clause"] == "fat 12 %, 7-log"
    elif key == "FSIS-CUT":
        assert min(o["value"] for o in limit["options"]) == float(row["temp_F"])
    else:
        meat = rows_of("lethality_fsis.csv")["FSIS-MEAT-7.0-150"]
        short = limits(path, "pork-bake", f"bake: {on_probe(meat)}")["cook"]
        assert short["verdict"]["status"] == "fails"


DRIVEN: dict[str, Callable[[str], None]] = {
    "FC-A1b": raw(*WHOLE),
    "FC-A2": raw(),
    "FC-A2-145": raw(),
    "FC-A2-150": raw(),
    "FC-A2-158": raw(),
    "FC-A3": raw(of("chicken")),
    "FC-PLANT": plant_food,
    "FC-RH-A": reheated,
    "FC-RH-D": reheated,
    "COOL-1": cooled(0),
    "COOL-2": cooled(1),
    "COOL-3": lambda key: staged(kitchen(), "rice-salad", 0)(key),
    "HOT-1": one_figure("hot_hold", lambda: kitchen(HOT), "pork-bake"),
    "COLD-1": one_figure("cold_hold", kitchen, "pork-bake"),
    "TPHC-1": by_time(""),
    "TPHC-3": by_time("    at: 20 °C\n"),
    "TPHC-2": cut_by_time,
    "THAW-1": thawed("    in: cold-room\n", "thaw"),
    "THAW-2": thawed("    at: 18 °C\n    time: 2 h\n", "thaw-water"),
    "THAW-3": thawed_ready,
    "THAW-4": thawed("    at: 18 °C\n    time: 2 h\n", "thaw"),
    "THAW-5": thawed_by_cooking,
    "THAW-6": thawed_out_of_its_pack,
    "DATE-1": dated,
    "DATE-4": dated_by_parts,
    "DATE-5": dated_frozen,
    "STAB-1a": stabilized(0),
    "STAB-1b": stabilized(1),
    "STAB-2a": scheduled("option-2", None),
    "STAB-2b": scheduled("option-2", 1),
    "STAB-2c": scheduled("option-2", 0),
    "STAB-3a": scheduled("option-3", 0),
    "FSIS-1999-UNCURED": fsis_single,
    "FSIS-1999-CURED": fsis_single,
    "UK-CHILL": one_figure("cold_hold", england, "beef-filling"),
    "UK-HOT": one_figure("hot_hold", england, "lamb-stew"),
    "FC-A1a": to_order,
    "FC-MW": microwave,
    "FC-RH-B": microwave_again,
    "FC-RH-C": packed_by_a_plant,
    "FC-RH-E": rest_of_a_roast,
    "HOT-2": roast_held_hot,
    "FC-NCC-INIT": in_two_goes,
    "COOL-4": received_warm,
    "COOL-5": egg_air("put-away"),
    "COLD-EGG": egg_air("store"),
    "DATE-2": marked_after,
    "DATE-3": opened,
    "DATE-6": dated_once_packed,
    "PAR-REC": parasite_records,
    "SHELL-1": shellfish,
    "UK-COOL-90": english_words,
    "UK-PAR-24": english_parasites,
    "EU-CHAIN": english_words,
    "FSIS-CHK-150-12-MAX": fsis_both,
    "FSIS-REG-MEAT": fsis_round,
    "FSIS-REG-POULTRY": fsis_round,
    "FSIS-NOTMEAT": fsis_round,
    "FSIS-CUT": fsis_round,
    "FSIS-FAT": fsis_round,
    "FSIS-2021-CUTOVER": fsis_round,
    "STEAK-1": steak,
    "ORDER-1": reheated_to_order,
    "ORDER-2": thawed_to_order,
    "FROZEN-1": kept_frozen,
    "PLANT-1": grain_held_hot,
    "EGG-1": eggs_for_the_frail,
    "EGG-2": eggs_for_the_frail,
    "EGG-3": one_egg_for_the_frail,
    "JUICE-1": juice_for_the_frail,
    "SLACK-1": slacked,
    "SLACK-2": slacked,
}
for name in ROWS:
    if name.startswith("FC-ROAST-"):
        DRIVEN[name] = roast
    elif name.startswith("FC-OVEN-"):
        DRIVEN[name] = oven
    elif name.startswith("FSIS-MEAT-6.5-"):
        DRIVEN[name] = fsis("beef")
    elif name.startswith("FSIS-MEAT-7.0-"):
        DRIVEN[name] = fsis_seven
    elif name.startswith(("FSIS-CHICKEN-", "FSIS-TURKEY-")):
        DRIVEN[name] = fsis(name.split("-")[1].lower())
    elif name.startswith("UK-BURGER-"):
        DRIVEN[name] = english("beef-filling")
    elif name in ("UK-60", "UK-65", "UK-70", "UK-75", "UK-80"):
        DRIVEN[name] = english("lamb-stew")
    elif name.startswith("REC-"):
        DRIVEN[name] = received
    elif name.startswith("DATE-G"):
        DRIVEN[name] = needs_no_date
    elif name.startswith("BIRD-"):
        DRIVEN[name] = game_birds
    elif name.startswith("MILK-"):
        DRIVEN[name] = pasteurised
    elif name in PICKED:
        DRIVEN[name] = not_of_the_wild
    elif name == "SEALED-1":
        DRIVEN[name] = canned_elsewhere
    elif name in ("PAR-1", "PAR-2"):
        DRIVEN[name] = against_parasites
    elif name == "PAR-3":
        DRIVEN[name] = stored_less_cold


@pytest.mark.parametrize("key", sorted(DRIVEN))
def test_a_published_row_comes_back(key: str) -> None:
    DRIVEN[key](key)


@pytest.mark.parametrize("key", sorted(OLD))
def test_a_row_of_the_older_edition_comes_back(key: str) -> None:
    raw(CODE, *((of("chicken"),) if key == "FC-OLD-A3" else ()))(key)


def test_every_row_is_driven() -> None:
    assert len(ROWS) > 180
    assert sorted(ROWS) == sorted(DRIVEN) and sorted(ROP) == sorted(WITHOUT_AIR)


PLAN = (
    "probe: probe\nauthorisations:\n  - {for: pack-without-air, authority: County, document: "
    "HACCP 7, from: 2026-02-01, until: 2028-02-01}\n"
)


def packed_salad(criterion: str, *more: Edit) -> Path:
    """The salad packed without air on a criterion, with the plan on file."""
    edits: tuple[Edit, ...] = (
        ("kitchen.yaml", "probe: probe\n", PLAN),
        (TOSS, "  - do: chill\n", "  - do: vacuum-pack\n  - do: chill\n"),
        (SALAD, "keeps: {cold: 3 days}", f"without_air: {criterion}"),
        *more,
    )
    return kitchen(edits)


def packed_meat(criterion: str, *more: Edit) -> Path:
    """The bake's meat alone, packed without air raw or as it comes, with the plan on file."""
    edits: tuple[Edit, ...] = (
        ("kitchen.yaml", "probe: probe\n", PLAN),
        *WHOLE,
        (
            BAKED,
            "  - do: bake\n    with: range-oven\n    at: 180 °C\n"
            "    target: from the formula\n    loses: 10 %\n  - do: chill\n"
            "    in: blast\n    target: to 4 °C\n",
            "  - do: vacuum-pack\n",
        ),
        (
            BAKE,
            "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}",
            f"without_air: {criterion}",
        ),
        (BAKE, "    cream: 1 cup\n", "    salt: 1 %\n"),
        (BAKE, "    salt: 1.6 %\n", ""),
        (BAKE, "    house-spice: 1 %", "    white-pepper: 1 %"),
        *more,
    )
    return kitchen(edits)


RECORD = "record: HACCP 7}"
ICY = (
    "equipment/house.yaml",
    "blast: {kind",
    "icy: {kind: refrigerator, name: Pack fridge, air: 0 °C, watched: yes}\n"
    "deep: {kind: freezer, name: Freezer, air: -20 °C}\nblast: {kind",
)


def cook_chilled(kept: str, store: str, plan: str = PLAN) -> Path:
    """The bake sealed hot, chilled in its packs, and kept as said."""
    edits: tuple[Edit, ...] = (
        ("kitchen.yaml", "probe: probe\n", plan),
        ("equipment/house.yaml", "air: 3 °C}", "air: 3 °C, watched: yes}"),
        ICY,
        (BAKED, "  - do: chill", "  - do: vacuum-pack\n  - do: chill"),
        (BAKED, "  - do: store\n    in: cold-room\n", store),
        (
            BAKE,
            "keeps: {cold: 5 days}",
            f"without_air: {{criterion: cook-chill, kept: {kept}, sold: no, record: HACCP 7}}",
        ),
    )
    return kitchen(edits)


IN_COLD, IN_ICY = "  - do: store\n    in: cold-room\n", "  - do: store\n    in: icy\n"
MOVED = IN_ICY + IN_COLD.replace("do: store\n", "do: store\n    id: moved\n")
COOK_CHILL = {
    "ROP-CC-48": ("near-freezing", IN_ICY),
    "ROP-CC-30": ("near-freezing", IN_ICY),
    "ROP-CC-7": ("cold", IN_COLD),
    "ROP-CC-7B": ("near-freezing-then-cold", MOVED),
    "ROP-CC-SEAL": ("cold", IN_COLD),
    "ROP-CC-FRZ": ("frozen", "  - do: freeze\n    in: deep\n  - do: store\n    in: deep\n"),
    "ROP-CC-REC": ("cold", IN_COLD),
    "ROP-CC-HERE": ("cold", IN_COLD),
}


def spaceless(clause: str) -> str:
    return clause.replace(" ", "")


def refused(path: Path) -> bool:
    return "not-covered" in codes(path)


def days_from_packing(limit: dict[str, Any]) -> int:
    found = re.search(r"within (\d+)\sdays of packing", limit["note"])
    assert found is not None, limit["note"]
    return int(found[1])


SOLD_RAW: Edit = (
    BAKE,
    "process: baked\n",
    "process: baked\ncooked_later: Sold raw; the label says cook it.\n",
)


def air_by_criterion(key: str) -> None:
    """Figure, days from packing and clause, and none of it without the plan on file."""
    row = ROP[key]
    if key in ("ROP-AW", "ROP-PH"):
        by = "water-activity" if key == "ROP-AW" else "acidity"
        figure = re.findall(r"\d\.\d+", row["condition"])[0]
        path = packed_salad(f"{{criterion: {by}, measured: {figure}, {RECORD}")
        above = f"{float(figure) + 0.01:.2f}"
        over = packed_salad(f"{{criterion: {by}, measured: {above}, {RECORD}")
        assert refused(over)
    elif key == "ROP-RAW":
        path = packed_meat(f"{{criterion: competing-organisms, {RECORD}", SOLD_RAW)
    elif key == "ROP-CURED":
        cured = (
            "ingredients/all.yaml",
            "  species: pork\n  state: raw\n",
            "  species: pork\n  state: ready-to-eat\n  other_names: [cured pork loin]\n",
        )
        path = packed_meat(f"{{criterion: cured-at-a-plant, {RECORD}", cured)
        assert refused(packed_meat(f"{{criterion: cured-at-a-plant, {RECORD}"))
    else:
        cheese = (
            "ingredients/all.yaml",
            "name: Cooked rice\n  species: none",
            "name: Hill cheese\n  cheese: hard\n  species: none",
        )
        alone = (
            (SALAD, "  dressing:\n    cream: 200 ml\n    salt: 1 %\n", ""),
            (TOSS, "add: [rice, dressing]", "add: [rice]"),
        )
        path = packed_salad(f"{{criterion: cheese, {RECORD}", cheese, *alone)
        assert refused(packed_salad(f"{{criterion: cheese, {RECORD}", *alone))
    found = limits(path, "rice-salad" if key in ("ROP-AW", "ROP-PH", "ROP-CHEESE") else "pork-bake")
    limit = found["reduced_oxygen"]
    assert (limit["value"], limit["unit"]) == (float(row["to_F"]), "°F")
    assert days_from_packing(limit) == int(row["limit_value"]) == int(row["limit_hours"]) // 24
    clause = spaceless(limit["source"]["clause"])
    assert clause in (row["clause"], row["clause"] + ",(B)(4)")
    if key != "ROP-RAW":  # not ready to eat, it has no date mark
        assert found["date"]["law_days"] == int(row["limit_value"])


def air_fish(key: str) -> None:
    row, cod = (
        ROP[key],
        (
            "ingredients/all.yaml",
            "allergens: none\n  trim: 10 %",
            "allergens: [fish (cod)]\n  arrives: frozen\n  trim: 10 %",
        ),
    )
    frozen = (BAKED, "  - do: store\n    in: cold-room\n", "  - do: store\n    in: deep\n")
    edits = (of("fish"), cod, ICY)
    path = packed_meat(f"{{criterion: fish-frozen, {RECORD}", *edits, frozen, SOLD_RAW)
    limit = limits(path, "pork-bake")["reduced_oxygen"]
    assert limit["source"]["clause"] == row["clause"] and "value" not in limit
    assert (
        "before, during and after" in row["condition"]
        and "before, during and after" in limit["words"]
    )
    assert refused(packed_meat(f"{{criterion: fish-frozen, {RECORD}", *edits))


def air_two_days(key: str) -> None:
    """Opened within 48 hours, with no plan on file."""
    row = ROP[key]
    limit = limits(
        kitchen(
            (
                (TOSS, "  - do: chill\n", "  - do: vacuum-pack\n  - do: chill\n"),
                (
                    SALAD,
                    "keeps: {cold: 3 days}",
                    f"without_air: {{criterion: within-48-hours, {RECORD}",
                ),
            )
        ),
        "rice-salad",
    )["reduced_oxygen"]
    assert (limit["value"], limit["within_s"]) == (
        float(row["to_F"]),
        float(row["limit_hours"]) * 3600,
    )
    assert limit["source"]["clause"] == row["clause"] and "time and date" in limit["note"]


def air_cook_chill(key: str) -> None:
    row, (kept, store) = ROP[key], COOK_CHILL[key]
    path = cook_chilled(kept, store)
    found = limits(path, "pork-bake")
    air = found["pork-bake/vacuum-pack/reduced_oxygen"]
    assert [c for c in codes(path) if c != "not-used"] == []
    if key == "ROP-CC-SEAL":
        seal = found["pork-bake/vacuum-pack/sealed"]
        assert (seal["value"], seal["bound"]) == (float(row["to_F"]), "min")
        assert seal["source"]["clause"] == row["clause"]
        return
    reported = air["basis"]["inputs"]
    if key == "ROP-CC-REC":
        assert (
            row["limit_value"] == "6"
            and "six months" in reported["Records"]
            and row["clause"] in reported["Records"]
        )
        return
    if key == "ROP-CC-HERE":
        assert row["clause"] in reported["Where"] and "Never sell it" in reported["Where"]
        return
    assert air["source"]["clause"] == row["clause"]
    if key == "ROP-CC-FRZ":
        assert "value" not in air and "while it stays frozen" in air["words"]
        return
    if key == "ROP-CC-48":
        hours, start = int(row["limit_hours"]), row["from_F"]
        assert re.search(rf"within {hours}\sh of reaching {start}\s°F", air["note"]), air["note"]
        assert air["value"] == float(row["to_F"])
        return
    if key == "ROP-CC-7B":
        out = found["pork-bake/vacuum-pack/reduced_oxygen_moved"]
        assert (out["value"], out["source"]["clause"]) == (float(row["to_F"]), row["clause"])
        assert re.search(rf"within {row['limit_value']}\sdays", out["note"])
        cap = ROP["ROP-CC-30"]
        assert (
            "never over 30 days from packaging" in row["condition"]
            and "after 34 F" in row["condition"]
        )
        assert (air["value"], days_from_packing(air)) == (
            float(cap["to_F"]),
            int(cap["limit_value"]),
        )
        assert found["date"]["law_days"] == int(cap["limit_value"])
        assert found["date"]["moved_days"] == int(row["limit_value"])
        return
    assert air["value"] == float(row["to_F"])
    assert days_from_packing(air) == found["date"]["law_days"] == int(row["limit_value"])


WITHOUT_AIR: dict[str, Callable[[str], None]] = {
    **dict.fromkeys(("ROP-AW", "ROP-PH", "ROP-CURED", "ROP-RAW", "ROP-CHEESE"), air_by_criterion),
    **dict.fromkeys(COOK_CHILL, air_cook_chill),
    "ROP-FISH": air_fish,
    "ROP-48": air_two_days,
}


@pytest.mark.parametrize("key", sorted(ROP))
def test_a_row_of_packing_without_air_comes_back(key: str) -> None:
    WITHOUT_AIR[key](key)


@pytest.mark.parametrize("key", sorted(COOK_CHILL))
def test_cook_chill_comes_back_only_with_its_plan(key: str) -> None:
    kept, store = COOK_CHILL[key]
    assert refused(cook_chilled(kept, store, "probe: probe\n"))

"""Kitchens of random formulas that count: pieces, fills by weight and by volume, portions.

Each formula has a process and machines of its own, so that what a machine may take is known to the
test without asking the program.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from conftest import lay

KINDS = ("piece", "fill", "volume", "portion", "tub", "plain")
INGREDIENTS = """leg-{n}:
  {{name: Leg {n}, species: duck, state: raw, form: intact, allergens: none, source: weighed here 2026-10-05,
   weighs: {{each: {{mean: {mean} g, from: {low} g, to: {high} g}}}}}}
"""
SWEET = """sweet-cream:
  {name: Sweet cream, species: none, state: pasteurised, form: liquid, allergens: [milk], commercially_packed: yes,
   weighs: {l: 1080 g}, source: weighed here 2026-10-05}
veal-mince:
  {name: Veal mince, species: veal, state: raw, form: comminuted, allergens: none}
sea-salt: {name: Sea salt, species: none, state: ready-to-eat, allergens: none, tcs: no, function: salt}
"""


@dataclass(frozen=True)
class Machine:
    """What one machine takes: grams at most and at least, and places."""

    most: int | None
    least: int | None
    places: int | None

    @property
    def words(self) -> str:
        keys = [f"capacity: {self.most} g"] if self.most else []
        keys += [f"minimum: {self.least} g"] if self.least else []
        keys += [f"places: {self.places}"] if self.places else []
        return ", ".join(["", *keys])


@dataclass(frozen=True)
class Made:
    """One random formula: what it is, what it weighs as written, and its machines by step with the
    grams that come to each."""

    ident: str
    kind: str
    unit: str
    count: int
    base: Fraction
    total: Fraction
    steps: dict[str, tuple[Machine, Fraction, bool]] = field(default_factory=dict)
    to_a_fill: int = 1
    portions: int = 1


def _machine(dice: random.Random, mass: Fraction, pieces: int, counted: bool) -> Machine:
    """A machine that takes a random share of what comes to it."""
    most = int(mass * Fraction(dice.randint(10, 300), 100)) + 1 if dice.random() < 0.7 else None
    least = None
    if dice.random() < 0.5:
        least = max(1, int((most or mass) * Fraction(dice.randint(1, 60), 100)))
    places = dice.randint(1, 2 * pieces) if counted and dice.random() < 0.7 else None
    return Machine(most, least, places)


def lay_counted(folder: Path, seed: int, many: int) -> list[Made]:
    """Lay a kitchen of so many random formulas into a folder. Returns what they are."""
    lay("base", folder)
    dice = random.Random(seed)
    standards = folder / "standards"
    for name in ("house-spice", "pork-bake", "rice-salad"):
        (standards / f"formulas/{name}.yaml").unlink()
    (standards / "ingredients/sweet.yaml").write_text(SWEET, encoding="utf-8")
    return [_formula(dice, standards, n) for n in range(many)]


def _formula(dice: random.Random, standards: Path, n: int) -> Made:
    """One random formula, with its process and its machines."""
    kind = KINDS[n % len(KINDS)]
    ident, unit = f"made-{n}", f"unit{chr(97 + n % 17)}"
    count = dice.randint(1, 40)
    each = dice.randint(30, 900)
    base = Fraction(count * each)
    salt = Fraction(dice.randint(5, 30), 10)
    legs, to_a_fill = f"leg-{n}: {count} each", dice.randint(2, 8) if kind == "tub" else 1
    portions = dice.choice((to_a_fill, dice.randint(1, 9))) if kind == "tub" else 1
    each_says = f", portions: {portions}, portion_unit: part" if portions != to_a_fill else ""
    line = {"piece": legs, "tub": legs, "volume": f"sweet-cream: {base} g"}
    main = line.get(kind, f"veal-mince: {base} g")
    total = base * (1 + salt / 100)
    loses = dice.randint(0, 30)
    first = _machine(dice, total, count, kind in ("piece", "tub"))
    filled = kind in ("fill", "volume", "tub")
    counted = kind not in ("portion", "plain")
    after = _machine(dice, total, count, counted)
    last = _machine(dice, total * (100 - loses) / 100, count, counted)
    makes = {
        "piece": f"{{piece: leg-{n}, unit: {unit}}}",
        "fill": f"{{fill_weight: {each} g, unit: {unit}, portions: {dice.randint(1, 9)}}}",
        "volume": f"{{fill_volume: {each} ml, unit: {unit}, overrun: {dice.randint(0, 90) + 1} %}}",
        "portion": f"{{portion: {each} g, portion_unit: {unit}}}",
        "plain": "",
        "tub": f"{{piece: leg-{n}, pieces: {to_a_fill}, unit: {unit}{each_says}}}",
    }[kind]
    makes = f"makes: {makes}\n" if makes else ""
    minutes = dice.choice((1, 2, 3))
    steps = [
        f"  - do: mix\n    add: [main, salt]\n    with: first-{n}\n    time: {minutes} min",
        *(["  - do: fill"] if filled else []),
        f"  - do: poach\n    with: after-{n}\n    at: 85 °C\n    target: core 80 °C\n    time: {minutes} min"
        f"\n    loses: {loses} %"
        if loses
        else f"  - do: poach\n    with: after-{n}\n    at: 85 °C\n    target: core 80 °C\n    time: {minutes} min",
        f"  - do: chill\n    with: last-{n}\n    in: blast\n    target: to 4 °C\n    time: {minutes} min",
        "  - do: store\n    in: cold-room",
    ]
    (standards / f"formulas/{ident}.yaml").write_text(
        f"name: Made {n}\nrevision: 1\neffective: 2026-05-04\napproved: R. Osei\nstation: range\n"
        f"{makes}base: main\nparts:\n  main:\n    {main}\n  salt:\n    sea-salt: "
        f"{float(salt)} %\nprocess: {ident}\nkeeps: {{cold: 2 days}}\nbatches: [{base} g base]\n",
        encoding="utf-8",
    )
    (standards / f"processes/{ident}.yaml").write_text(
        f"name: Process {n}\nsteps:\n" + "\n".join(steps) + "\n", encoding="utf-8"
    )
    if kind in ("piece", "tub"):
        low, high = each - dice.randint(0, each // 5), each + dice.randint(0, each // 5)
        (standards / f"ingredients/leg-{n}.yaml").write_text(
            INGREDIENTS.format(n=n, mean=each, low=low, high=high), encoding="utf-8"
        )
    (standards / f"equipment/made-{n}.yaml").write_text(
        f"first-{n}: {{kind: mixer, name: First {n}{first.words}}}\n"
        f"after-{n}: {{kind: bath, name: After {n}{after.words}}}\n"
        f"last-{n}: {{kind: packer, name: Last {n}{last.words}}}\n",
        encoding="utf-8",
    )
    finished = total * (100 - loses) / 100
    return Made(
        ident,
        kind,
        unit,
        count,
        base,
        total,
        {
            "mix": (first, total, kind in ("piece", "tub")),
            "poach": (after, total, counted),
            "chill": (last, finished, counted),
        },
        to_a_fill,
        portions,
    )

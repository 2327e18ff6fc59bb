"""Mass along streams over random formulas: what goes in comes out as product, as something else or
is lost, to the last fraction; and a batch size there and back is the same.

The model keeps, for every stream, how much of each part is in it. It shares no code with the
product.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from conftest import compute
from honest_kitchens import FOLDER, HEAD, KITCHEN, PANTRY, written

from generator.sheet.manual import Manual
from generator.sheet.outputs import factor_of, outputs_of, yields_of

AT_A_TIME = 100
Weights = dict[str, Fraction]


@dataclass
class Plan:
    """A formula's parts and steps, and what the model makes of them."""

    parts: dict[str, int]
    steps: list[dict[str, Any]] = field(default_factory=list)
    after: list[Fraction] = field(default_factory=list)
    left: dict[str, Fraction] = field(default_factory=dict)
    thrown: Fraction = Fraction(0)
    lost: Fraction = Fraction(0)


def _sum(weights: Weights) -> Fraction:
    return sum(weights.values(), Fraction(0))


def _added(first: Weights, second: Weights) -> Weights:
    return {p: first.get(p, Fraction(0)) + second.get(p, Fraction(0)) for p in first | second}


def some_plan(rng: random.Random) -> Plan:
    """A formula of one to four parts, worked on in streams that all end in one."""
    plan = Plan({f"part-{n}": rng.randint(100, 5000) for n in range(rng.randint(1, 4))})
    free = list(plan.parts)
    waiting: dict[str, Weights] = {}
    under_way: Weights | None = None
    while True:
        number = len(plan.steps) + 1
        step: dict[str, Any] = {"do": "mix", "id": f"s{number}"}
        now: Weights = {}
        if under_way is None or (rng.random() < 0.3 and free):
            if under_way is not None:
                name = f"stream-{number}"
                plan.steps[-1]["gives"] = name
                waiting[name] = under_way
            pool = free or list(waiting)
            chosen = rng.sample(pool, rng.randint(1, len(pool)))
            step["work_on"] = chosen
        else:
            now = under_way
            pool = [*free, *waiting]
            chosen = rng.sample(pool, rng.randint(0, len(pool)))
            if chosen:
                step["add"] = chosen
        for name in chosen:
            if name in waiting:
                now = _added(now, waiting.pop(name))
            else:
                free.remove(name)
                now = _added(now, {name: Fraction(plan.parts[name])})
        now = _leave(rng, plan, step, number, now, waiting)
        under_way = _weigh(rng, plan, step, now)
        plan.steps.append(step)
        plan.after.append(_sum(under_way))
        if not free and not waiting and rng.random() < 0.5:
            return plan


def _leave(
    rng: random.Random,
    plan: Plan,
    step: dict[str, Any],
    number: int,
    now: Weights,
    waiting: dict[str, Weights],
) -> Weights:
    if rng.random() > 0.35:
        return now
    name, share = f"left-{number}", rng.randint(1, 40)
    then = rng.choice(("thrown-away", "kept", "used-again"))
    of = rng.choice([None, *now])
    step["leaves"] = {name: {"share": f"{share} %", "then": then} | ({"of": of} if of else {})}
    gone = {p: w * share / 100 for p, w in now.items() if of in (None, p)}
    plan.left[name] = _sum(gone)
    if then == "used-again":
        waiting[name] = gone
    else:
        plan.thrown += _sum(gone)
    return {p: w - gone.get(p, Fraction(0)) for p, w in now.items()}


def _weigh(rng: random.Random, plan: Plan, step: dict[str, Any], now: Weights) -> Weights:
    roll = rng.random()
    share = Fraction(0)
    if roll < 0.3:
        low = rng.randint(0, 30)
        high = low + rng.choice((0, 0, 2, 7))
        high = high or 1
        step["loses"] = f"{low} to {high} %" if high > low else f"{low} %"
        share = -Fraction(low + high, 200)
    elif roll < 0.5:
        gain = rng.randint(1, 300)
        step["gains"] = f"{gain} %"
        share = Fraction(gain, 100)
    plan.lost -= _sum(now) * share
    return {p: w * (1 + share) for p, w in now.items()}


def _lay(project: Path, plans: list[Plan]) -> dict[str, Plan]:
    files = {
        "kitchen.yaml": KITCHEN,
        "stations/bench.yaml": "name: Bench\n",
        "equipment/house.yaml": (FOLDER / "house.yaml").read_text(encoding="utf-8"),
        "ingredients/all.yaml": written({"sugar": PANTRY["sugar"]})
        .replace("'no'", "no")
        .replace("'yes'", "yes"),
    }
    named: dict[str, Plan] = {}
    for number, plan in enumerate(plans):
        ident = f"plan-{number}"
        named[ident] = plan
        head = (HEAD % ident).replace("process: work\n", "")
        parts = {part: {"sugar": f"{grams} g"} for part, grams in plan.parts.items()}
        body = {
            "parts": parts,
            "base": list(parts),
            "makes": {"portion": "30 g"},
            "steps": plan.steps,
        }
        files[f"formulas/{ident}.yaml"] = head + written(body, sort_keys=False)
    for name, text in files.items():
        path = project / "standards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return named


def _check(manual: Manual, ident: str, plan: Plan) -> None:
    walk = manual.walks[ident]
    assert [walked.after.mass for walked in walk.steps] == plan.after, plan.steps
    left = {one.name: one.product.mass for walked in walk.steps for one in walked.left}
    assert left == plan.left, plan.steps
    assert walk.end.mass + plan.thrown + plan.lost == sum(plan.parts.values()), plan.steps
    assert walk.figures.total == sum(plan.parts.values())
    for walked in walk.steps:
        weighed = sum((c.grams * c.held for c in walked.after.components), Fraction(0))
        assert weighed == walked.after.mass, plan.steps
    assert sum((o.grams for o in outputs_of(walk, Fraction(1))), Fraction(0)) == plan.thrown
    for factor in (Fraction(1, 3), Fraction(7, 2)):
        yields = yields_of(walk, factor)
        for kind, value in (
            ("total", yields.total_g),
            ("base", yields.base_g),
            ("yield", yields.yield_g),
        ):
            assert factor_of(walk, kind, value) == factor
        outputs = sum((o.grams for o in outputs_of(walk, factor)), Fraction(0))
        assert outputs == plan.thrown * factor
    portions = Fraction(40)
    sized = yields_of(walk, factor_of(walk, "portions", portions))
    assert sized.portions == portions, plan.steps


@pytest.mark.parametrize("many", [100, pytest.param(2000, marks=pytest.mark.slow)])
def test_what_goes_in_comes_out(many: int, tmp_path: Path) -> None:
    rng = random.Random(20261202)
    counted: Counter[str] = Counter()
    for batch in range(many // AT_A_TIME):
        named = _lay(tmp_path / f"k{batch}", [some_plan(rng) for _ in range(AT_A_TIME)])
        manual = compute(tmp_path / f"k{batch}")
        errors = [f for f in manual.findings if f.is_error]
        assert not errors, errors[:3]
        for ident, plan in named.items():
            _check(manual, ident, plan)
            counted["plans"] += 1
            counted["streams meet"] += any(len(s.step.comes) > 1 for s in manual.walks[ident].steps)
            counted["something stays behind"] += bool(plan.left)
            counted["varies"] += manual.walks[ident].least is not None
    print(dict(counted))
    assert min(counted.values()) > many / 10, counted

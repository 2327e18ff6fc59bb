"""Time between cold and hot along streams: the same is found as where each stream's own course is
listed, over random kitchens and the model that knows no verbs.

A dish of the model is cut in two at a random act. Between the halves something else is worked on,
which needs no cold, and joins it behind the cut. For the model the dish waits there: in the cold,
held hot or in the kitchen, as its last act left it.
"""

from __future__ import annotations

import dataclasses
import random
import re
import shutil
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import pytest
from conftest import compute
from honest_kitchens import HEAD, written
from oracle_of_time import (
    CODES,
    OF_TIME,
    Act,
    Kitchen,
    faults_of,
    lay_many,
    some_kitchen,
    stands_again,
)

from generator.resolve.joined import JoinedStep
from generator.resolve.ways import waits

AT_A_TIME = 125
ASKED = {"between-again", "verb-ambiguous", "served-off-the-heat", "work-not-timed"}
"""What is asked of a dish that may be sound, by rules with tests of their own."""


@dataclasses.dataclass
class Streamed:
    """A dish, the act its first stream ends behind, the steps on other food; what the model is
    told."""

    dish: Kitchen
    cut: int
    side: list[dict[str, Any]]
    told: Kitchen


def _left(act: Act, minutes: int | None) -> Act:
    """Where an act leaves food that waits, and for how long."""
    step = act.yaml
    if act.place == "hot":
        return Act("hot", None)
    if act.place in ("cold", "chill") and ("in" in step or "at" in step or step["do"] == "store"):
        return Act("cold", minutes, works=minutes is None)
    return Act("room", minutes, works=minutes is None)


def _streamed(rng: random.Random) -> Streamed:
    while True:
        dish = dataclasses.replace(some_kitchen(rng), split=0)
        if len(dish.acts) > 1:
            break
    cut = rng.randrange(1, len(dish.acts))
    side: list[dict[str, Any]] = []
    timed, untimed = 0, False
    for _ in range(rng.randint(1, 3)):
        step: dict[str, Any] = {"do": rng.choice(("mix", "season", "cut"))}
        if rng.random() < 0.8:
            minutes = rng.choice((5, 20, 45, 90, 120, 200, 250, 480))
            step["time"] = f"{minutes} min"
            timed += minutes
        else:
            untimed = True
        side.append(step)
    waits = [_left(dish.acts[cut - 1], m) for m in ([timed] if timed else []) + [None] * untimed]
    told = dataclasses.replace(dish, acts=[*dish.acts[:cut], *waits, *dish.acts[cut:]])
    return Streamed(dish, cut, side, told)


def _steps(one: Streamed) -> list[dict[str, Any]]:
    """The formula's own steps: the dish up to the cut, the other food, the rest with both."""
    acts = [dict(act.yaml, id=f"s{n}") for n, act in enumerate(one.dish.acts)]
    acts[0]["add"] = ["food"]
    acts[one.cut - 1]["gives"] = "main"
    side = [dict(step, id=f"o{n}") for n, step in enumerate(one.side)]
    side[0]["work_on"] = ["other"]
    side[-1]["gives"] = "aside"
    acts[one.cut] |= {"work_on": ["main"], "add": ["aside"]}
    return [*acts[: one.cut], *side, *acts[one.cut :]]


def _lay(project: Path, kitchens: list[Streamed]) -> dict[str, Streamed]:
    named = lay_many(project, [one.dish for one in kitchens])
    standards = project / "standards"
    shutil.rmtree(standards / "processes")
    (standards / "ingredients/salt.yaml").write_text(
        "fine-salt: {name: Fine salt, species: none, state: ready-to-eat, form: dry, "
        "function: salt, allergens: none, tcs: no}\n"
    )
    for ident, one in zip(named, kitchens, strict=True):
        path = standards / f"formulas/{ident}.yaml"
        text = path.read_text(encoding="utf-8")
        head = (HEAD % ident).replace("process: work\n", "")
        body = text[text.index("parts:") :].replace("base:", "  other: {fine-salt: 150 g}\nbase:")
        steps = written({"steps": _steps(one)}, allow_unicode=True, sort_keys=False)
        path.write_text(head + body + steps, encoding="utf-8")
    return dict(zip(named, kitchens, strict=True))


def _reported(project: Path) -> tuple[Any, dict[str, list[tuple[str, str]]]]:
    manual = compute(project)
    found: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for finding in manual.findings:
        match = re.search(r"(dish-\d+)\.yaml$", finding.place.file)
        if match is not None and finding.severity != "note":
            found[match[1]].append((finding.code, finding.message))
    return manual, found


def disagreements(project: Path, kitchens: list[Streamed]) -> tuple[list[str], Counter[str]]:
    """What the model and the product don't agree on, in words, and how many of what was judged."""
    named = _lay(project, kitchens)
    manual, found = _reported(project)
    wrong: list[str] = []
    counted: Counter[str] = Counter(kitchens=len(named))
    for ident, one in named.items():
        faults, cooled = faults_of(one.told)
        mine = found.get(ident, [])
        codes = {code for code, _ in mine}
        words = f"{ident}: {one.dish.item} {_steps(one)}: {mine}"
        counted["unsafe" if faults else "safe"] += 1
        for fault in faults:
            counted[fault.kind] += 1
            if not codes & CODES[fault.kind]:
                wrong.append(f"not found: {fault} in {words}")
        if not faults and codes & OF_TIME:
            wrong.append(f"nothing is wrong in {words}")
        if not faults and ("between-again" in codes) != (stands_again(one.told) is not None):
            wrong.append(f"between again: {stands_again(one.told)} in {words}")
        if codes - OF_TIME - ASKED:
            wrong.append(f"another finding in {words}")
        if faults:
            continue
        walk = manual.walks.get(ident)
        limits = {w.step.id for w in walk.steps for lm in w.limits if lm.hazard == "cool"}
        inserted = len(one.told.acts) - len(one.dish.acts)
        own = [
            n if n < one.cut else n - inserted for n in cooled if not 0 <= n - one.cut < inserted
        ]
        counted["cooled"] += len(own)
        wrong += [f"no cooling limit at {n} in {words}" for n in own if f"s{n}" not in limits]
    return wrong, counted


@pytest.mark.parametrize("many", [125, pytest.param(2000, marks=pytest.mark.slow)])
def test_streams_keep_the_time_that_each_of_them_has(many: int, tmp_path: Path) -> None:
    rng = random.Random(20261130)
    wrong: list[str] = []
    total: Counter[str] = Counter()
    for batch in range(many // AT_A_TIME):
        project = tmp_path / f"k{batch}"
        more, counted = disagreements(project, [_streamed(rng) for _ in range(AT_A_TIME)])
        wrong += more
        total += counted
        shutil.rmtree(project)
    print(dict(total))
    assert not wrong, f"{len(wrong)} of {total}:\n" + "\n".join(wrong[:6])
    assert total["unsafe"] > many / 10 and total["safe"] > many / 10 and total["cooled"] > many / 25


@pytest.mark.parametrize("spoiled", ["no wait", "always in the kitchen"])
def test_a_walk_that_forgets_a_wait_is_found_out(
    spoiled: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forgets(*args: Any) -> tuple[JoinedStep, ...]:
        if spoiled == "no wait":
            return ()
        found = waits(*args)
        return tuple(dataclasses.replace(w, cold=None, effects=frozenset({"waits"})) for w in found)

    monkeypatch.setattr("generator.sheet.walk.waits", forgets)
    rng = random.Random(5)
    wrong, _ = disagreements(tmp_path / "k", [_streamed(rng) for _ in range(60)])
    assert wrong


# ---- two dishes that meet


_TAILS = (
    [Act("room", None, serves=True, yaml={"do": "serve"})],
    [Act("cold", None, yaml={"do": "store", "in": "walk-in"})],
    [
        Act("chill", None, yaml={"do": "chill", "in": "blast", "target": "to 4 °C"}),
        Act("cold", None, yaml={"do": "store", "in": "walk-in"}),
    ],
    [Act("room", 150, yaml={"do": "rest", "time": "150 min"})],
)


def _minutes(step: dict[str, Any]) -> int:
    return int(str(step.get("time", "0 min")).removesuffix(" min"))


def _while(last: Act, acts: list[Act]) -> list[Act]:
    """What is told of a dish that waits behind ``last`` while ``acts`` are done to another."""
    timed = sum(_minutes(act.yaml) for act in acts)
    untimed = [act for act in acts if not _minutes(act.yaml)]
    found = [_left(last, timed)] if timed else []
    for works in (True, False):
        if any(act.works is works for act in untimed):
            found.append(dataclasses.replace(_left(last, None), works=works))
    return found


def _dish(rng: random.Random) -> Kitchen:
    """A dish that isn't served and not stored in the end, of food that isn't put together with
    anything."""
    while True:
        dish = dataclasses.replace(some_kitchen(rng), split=0)
        acts = [act for act in dish.acts if not act.serves and act.yaml["do"] != "store"]
        if acts and dish.item not in ("ham-in-oil", "rice", "beans"):
            return dataclasses.replace(dish, acts=acts)


def _meeting(project: Path, dishes: list[tuple[Kitchen, Kitchen, list[Act]]]) -> None:
    """Formulas of two dishes, one after the other, that are mixed and end together."""
    lay_many(project, [dish for one in dishes for dish in one[:2]])
    standards = project / "standards"
    shutil.rmtree(standards / "processes")
    for path in (standards / "formulas").glob("*.yaml"):
        path.unlink()
    for number, (first, second, tail) in enumerate(dishes):
        steps = []
        for name, dish in (("first", first), ("second", second)):
            own = [dict(act.yaml, id=f"{name}-{n}") for n, act in enumerate(dish.acts)]
            own[0]["work_on"], own[-1]["gives"] = [name], f"{name}-done"
            steps += own
        steps.append({"do": "mix", "id": "meet", "work_on": ["first-done", "second-done"]})
        steps += [dict(act.yaml, id=f"tail-{n}") for n, act in enumerate(tail)]
        parts = {"first": {first.item: "10 kg"}, "second": {second.item: "5 kg"}}
        body = {"parts": parts, "base": ["first"], "steps": steps}
        head = (HEAD % f"dish-{number}").replace("process: work\n", "")
        text = head + written(body, allow_unicode=True, sort_keys=False)
        (standards / f"formulas/dish-{number}.yaml").write_text(text, encoding="utf-8")


@pytest.mark.parametrize("many", [100, pytest.param(2000, marks=pytest.mark.slow)])
def test_where_streams_meet_nothing_is_forgotten_of_either(many: int, tmp_path: Path) -> None:
    """Whatever is wrong in the course of one stream, listed from its first step to the end, is
    found in the formula where both meet."""
    rng = random.Random(20261201)
    wrong: list[str] = []
    counted: Counter[str] = Counter()
    for batch in range(many // 100):
        dishes = [(_dish(rng), _dish(rng), rng.choice(_TAILS)) for _ in range(100)]
        project = tmp_path / f"k{batch}"
        _meeting(project, dishes)
        _, found = _reported(project)
        meet = Act("room", None, works=True, yaml={"do": "mix"})
        for number, (first, second, tail) in enumerate(dishes):
            waits_first = _while(first.acts[-1], second.acts)
            courses = (
                dataclasses.replace(first, acts=[*first.acts, *waits_first, meet, *tail]),
                dataclasses.replace(second, acts=[*second.acts, meet, *tail]),
            )
            codes = {code for code, _ in found.get(f"dish-{number}", [])}
            for course in courses:
                for fault in faults_of(course)[0]:
                    counted[fault.kind] += 1
                    if not codes & CODES[fault.kind]:
                        words = [act.yaml for act in (*first.acts, *second.acts, *tail)]
                        wrong.append(f"dish-{number}: {fault} of {course.item} in {words}: {codes}")
        shutil.rmtree(project)
    print(dict(counted))
    assert not wrong, f"{len(wrong)} of {counted}:\n" + "\n".join(wrong[:6])
    assert sum(counted.values()) > many / 3

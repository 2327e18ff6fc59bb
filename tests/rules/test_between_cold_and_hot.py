"""Time between cold and hot: the product against a model that knows no verbs, over random
kitchens."""

from __future__ import annotations

import random
import re
import shutil
from collections import Counter, defaultdict
from pathlib import Path

import pytest
from conftest import ROOT, compute
from oracle_of_time import CODES, OF_TIME, Kitchen, faults_of, lay_many, some_kitchen, stands_again

from generator.files.finding import Finding
from generator.sheet.manual import Manual

AT_A_TIME = 250
AGAIN = "between-again"


def _steps_of(project: Path, process: str) -> list[int]:
    """The lines at which the steps of a process begin."""
    text = (project / f"standards/processes/{process}.yaml").read_text(encoding="utf-8")
    return [n for n, line in enumerate(text.splitlines(), 1) if line.startswith("- do:")]


def _found(
    project: Path, manual: Manual, named: dict[str, Kitchen]
) -> dict[str, list[tuple[str, int | None, Finding]]]:
    """The errors of each dish: code, step, finding."""
    found: dict[str, list[tuple[str, int | None, Finding]]] = defaultdict(list)
    starts: dict[str, list[int]] = {}
    for finding in manual.findings:
        match = re.search(r"((?:work|dish|base)-(\d+))\.yaml$", finding.place.file)
        if match is None or finding.severity == "note":
            continue
        process, number = match[1], match[2]
        step = None
        if "processes" in finding.place.file:
            lines = starts.setdefault(process, _steps_of(project, process))
            first = 0 if "base" in process else named[f"dish-{number}"].split
            step = first + sum(1 for line in lines if line <= finding.place.line) - 1
        found[f"dish-{number}"].append((finding.code, step, finding))
    return found


SERVED_WARM = "served-off-the-heat"
"""A question about food that is within the most; `test_served_off_the_heat` holds when it is put."""


def disagreements(project: Path, kitchens: list[Kitchen]) -> tuple[list[str], Counter[str]]:
    """What model and product don't agree on, in words, and how many of what was judged."""
    named = lay_many(project, kitchens)
    manual = compute(project)
    found = _found(project, manual, named)
    wrong: list[str] = []
    counted: Counter[str] = Counter(kitchens=len(named))
    for ident, kitchen in named.items():
        faults, cooled = faults_of(kitchen)
        mine = found.get(ident, [])
        counted["unsafe" if faults else "safe"] += 1
        for fault in faults:
            counted[fault.kind] += 1
            ok = any(
                code in CODES[fault.kind] and (step is None or step >= fault.at)
                for code, step, _ in mine
            )
            if not ok:
                wrong.append(
                    f"{ident}: not found: {fault}; {[a.yaml for a in kitchen.acts]} "
                    f"{kitchen.item}; found {[(c, s) for c, s, _ in mine]}"
                )
        if faults:
            continue
        timely = [(c, s, f.message) for c, s, f in mine if c in OF_TIME]
        if timely:
            wrong.append(
                f"{ident}: nothing is wrong, and reported: {timely}; "
                f"{[a.yaml for a in kitchen.acts]} {kitchen.item}"
            )
        again = [step for code, step, _ in mine if code == AGAIN]
        expected = stands_again(kitchen)
        counted["stands again"] += expected is not None
        if again != ([expected] if expected is not None else []):
            wrong.append(
                f"{ident}: stands again at {expected}, and reported at {again}; "
                f"{[a.yaml for a in kitchen.acts]} {kitchen.item}"
            )
        # how long work takes that says no time: test_work_not_timed
        known = OF_TIME | {AGAIN, "verb-ambiguous", SERVED_WARM, "work-not-timed"}
        other = [(c, f.message) for c, _, f in mine if c not in known]
        if other:
            wrong.append(
                f"{ident}: another finding: {other}; {[a.yaml for a in kitchen.acts]} "
                f"{kitchen.item}"
            )
        for number in cooled:
            counted["cooled"] += 1
            ahead = number < kitchen.split
            walk = manual.walks.get(ident.replace("dish", "base") if ahead else ident)
            own = number if ahead else number - kitchen.split
            if walk is None or not any(lm.hazard == "cool" for lm in walk.steps[own].limits):
                wrong.append(
                    f"{ident}: no cooling limit at {number}: {[a.yaml for a in kitchen.acts]} "
                    f"{kitchen.item}"
                )
    return wrong, counted


def _many(tmp_path: Path, seed: int, count: int) -> tuple[list[str], Counter[str]]:
    rng = random.Random(seed)
    wrong: list[str] = []
    total: Counter[str] = Counter()
    for batch in range(count // AT_A_TIME):
        project = tmp_path / f"k{batch}"
        more, counted = disagreements(project, [some_kitchen(rng) for _ in range(AT_A_TIME)])
        wrong += more
        total += counted
        shutil.rmtree(project)
    return wrong, total


@pytest.mark.parametrize("many", [250, pytest.param(5000, marks=pytest.mark.slow)])
def test_a_model_without_verbs_agrees_on_thousands_of_kitchens(many: int, tmp_path: Path) -> None:
    wrong, total = _many(tmp_path, 20261129, many)
    print(dict(total))
    assert not wrong, f"{len(wrong)} of {total}:\n" + "\n".join(wrong[:8])
    assert total["unsafe"] > many / 10 and total["safe"] > many / 10 and total["cooled"] > many / 25


@pytest.mark.slow
def test_a_model_without_verbs_agrees_on_50000_kitchens(tmp_path: Path) -> None:
    wrong, total = _many(tmp_path, 7, 50_000)
    print(dict(total))
    assert not wrong, f"{len(wrong)} of {total}:\n" + "\n".join(wrong[:8])


MUTANTS = (
    ("rest: {name: Rest, does: [waits]", "rest: {name: Rest, does: [cools]"),
    ("rest: {name: Rest, does: [waits]", "rest: {name: Rest, does: [holds-hot]"),
    (
        'set: {name: Set, says: "Let … set", does: [waits]',
        'set: {name: Set, says: "Let … set", does: [handles]',
    ),
    ("proof: {name: Proof, does: [waits, raises]", "proof: {name: Proof, does: [freezes]"),
    (
        'cool: {name: Let cool, says: "Let … cool", does: [waits]',
        'cool: {name: Let cool, says: "Let … cool", does: [cleans]',
    ),
    ("chill: {name: Chill, does: [cools]", "chill: {name: Chill, does: [waits]"),
    ("boil: {name: Boil, does: [cooks, in-water, boils]", "boil: {name: Boil, does: [handles]"),
    ("mix: {name: Mix, does: [handles]", "mix: {name: Mix, does: [waits]"),
    ("store: {name: Store, does: [stores]", "store: {name: Store, does: [serves]"),
    ("serve: {name: Serve, does: [serves]", "serve: {name: Serve, does: [stores]"),
)


@pytest.mark.parametrize(("old", "new"), MUTANTS)
def test_a_changed_effect_is_noticed(old: str, new: str, tmp_path: Path) -> None:
    """The model would see a wrong table of effects: each changed line leads to a disagreement, with
    most of them within a few kitchens; hence few at a time."""
    shutil.copytree(ROOT / "shared", tmp_path / "shared")
    verbs = tmp_path / "shared" / "verbs.yaml"
    text = verbs.read_text(encoding="utf-8")
    assert old in text
    verbs.write_text(text.replace(old, new, 1), encoding="utf-8")
    rng = random.Random(5)
    for many in (5, 10, 10, *(25,) * 9):
        shutil.rmtree(tmp_path / "standards", ignore_errors=True)
        wrong, _ = disagreements(tmp_path, [some_kitchen(rng) for _ in range(many)])
        if wrong:
            return
    pytest.fail("nothing noticed")

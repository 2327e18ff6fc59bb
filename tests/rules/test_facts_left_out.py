"""Leaving a fact out never makes a limit laxer or vanish without an error.

Every optional key of every ingredient, formula, process, step and piece of equipment, in every
kitchen of the repository, is taken out alone; what is computed then is held against what was
computed before.
"""

from __future__ import annotations

import copy
import os
import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml
from broken_kitchens import KITCHENS
from conftest import BASE, ROOT, STARTER, TESTS, compute, edit, lay
from guide_text import changes, kitchen_of_the_guide, lay_over
from honest_kitchens import LOADER, written

from generator.intake.reading import EVERYTHING
from generator.rules.basics.limit import (
    CoolingLimit,
    DoseLimit,
    Figure,
    HeatingLimit,
    KeepingLimit,
    Limit,
    NotCovered,
    Probed,
    Stage,
    most_time,
)
from generator.sheet.manual import Broken, Manual

FOLDERS = ("ingredients", "formulas", "processes", "equipment")
REQUIRED = frozenset(
    {"name", "allergens", "kind", "do", "revision", "effective", "station", "process", "base"}
)
"""A record without one of these isn't read at all; tests of every line left out hold that."""
SAMPLE = 25
"""How many facts the default run takes out, of all kitchens."""


@dataclass(frozen=True)
class Known:
    """A fault that is known and not yet corrected: where, and since when it is listed here."""

    key: str
    what: str
    listed: str


KNOWN: tuple[Known, ...] = ()
"""Keys whose leaving out is known to make a limit laxer. Take an entry out once it is corrected:
nothing else fails then, since an entry that excuses nothing isn't looked for."""


def kitchens(folder: Path) -> dict[str, Path]:
    """Every kitchen of the repository, laid into a folder of its own: the demo, the starter, those
    of the tests, the guide's, and each change the guide shows that is clean."""
    found = {
        "demo": ROOT,
        "base": BASE,
        "starter": STARTER,
        "england": TESTS / "kitchens/england",
        "second": TESTS / "kitchens/second_kitchen",
    }
    laid = {}
    for name, source in found.items():
        shutil.copytree(source / "standards", folder / name / "standards")
        laid[name] = folder / name
    guide = folder / "guide"
    guide.mkdir()
    kitchen_of_the_guide(guide)
    laid["guide"] = guide
    for number, change in enumerate(changes()):
        if not change.asks:
            target = folder / f"guide-{number}-{change.page}"
            shutil.copytree(guide, target)
            lay_over(target, change)
            laid[target.name] = target
    for name, case in sorted(KITCHENS.items()):  # cases with no error still have limits to lose
        if ": error: " not in case.expected:
            laid[f"case-{name}"] = lay(name, folder / f"case-{name}")
    return laid


Path_ = tuple[str | int, ...]


@dataclass(frozen=True)
class Fact:
    """One optional key: its kitchen, its file, the keys that lead to it."""

    kitchen: str
    file: str
    keys: Path_

    def __str__(self) -> str:
        return f"{self.kitchen}: {self.file}: {'.'.join(map(str, self.keys))}"


def facts_of(kitchen: str, project: Path) -> Iterator[Fact]:
    """Every key of its records, one by one."""
    for folder in FOLDERS:
        for path in sorted((project / "standards" / folder).glob("*.yaml")):
            tree = yaml.load(path.read_text("utf-8"), LOADER)
            name = path.relative_to(project).as_posix()
            for keys in _keys(tree, ()):
                if folder in ("ingredients", "equipment") and len(keys) < 2:
                    continue  # a whole record
                if folder == "formulas" and keys[0] == "parts":
                    continue  # an ingredient left out makes another food
                if keys[-1] in REQUIRED:
                    continue
                if keys == ("steps",) or (len(keys) == 2 and keys[0] == "steps"):
                    continue  # a step left out makes another process
                yield Fact(kitchen, name, keys)


def _keys(tree: Any, before: Path_) -> Iterator[Path_]:
    if isinstance(tree, dict):
        for key, inner in tree.items():
            yield (*before, key)
            yield from _keys(inner, (*before, key))
    elif isinstance(tree, list):
        for index, inner in enumerate(tree):
            if isinstance(inner, dict):
                yield from _keys(inner, (*before, index))


def without(project: Path, fact: Fact) -> Manual:
    """The kitchen computed without the fact; its file is put back."""
    path = project / fact.file
    text = path.read_text("utf-8")
    tree = yaml.load(text, LOADER)
    node = tree = copy.deepcopy(tree)
    for key in fact.keys[:-1]:
        node = node[key]
    del node[fact.keys[-1]]
    path.write_text(written(tree, allow_unicode=True, sort_keys=False, width=1000), "utf-8")
    try:
        return compute(project)
    finally:
        path.write_text(text, "utf-8")


Limits = dict[tuple[int, str, str], list[Limit]]


def limits_of(manual: Manual) -> dict[str, Limits]:
    """The limits of each formula that has a sheet, and of each ingredient, by step and hazard."""
    found: dict[str, Limits] = {}
    for ident, sheet in manual.sheets.items():
        of: Limits = found.setdefault(ident, {})
        for limit in sheet.walk.limits:
            of.setdefault((limit.number, limit.hazard, limit.bound), []).append(limit)
    for ident, shelf in manual.shelves.items():
        of = found.setdefault(f"ingredient {ident}", {})
        for limit in shelf.limits:
            of.setdefault((limit.number, limit.hazard, limit.bound), []).append(limit)
    return found


def laxer(old: Manual, new: Manual | Broken) -> list[str]:
    """What of the old manual's limits is gone or laxer in the new one, without an error about
    it."""
    if isinstance(new, Broken):
        return [] if new.errors else ["nothing is computed"]
    wrong = {ident for f in new.errors for ident in f.about}
    if EVERYTHING in wrong or any(not f.about for f in new.errors):
        return []
    before, after = limits_of(old), limits_of(new)
    reported: list[str] = []
    cold_now = {i for i in before if sent_back_warm(before[i], after.get(i, {}))}
    for ident, limits in before.items():
        if ident in cold_now:
            continue
        own = ident.removeprefix("ingredient ")
        if own in wrong or own in new.stopped:
            continue
        for key, ones in limits.items():
            if cold_now and key[1] in ("cool", "hot_hold"):
                continue  # the one fact left out is that it comes hot: cold, it isn't to be cooled
            others = after.get(ident, {}).get(key, [])
            for one in ones:
                if not any(as_strict(other, one) for other in others):
                    reported.append(
                        f"{ident}: {' '.join(map(str, key))}: {_shown(one)} → "
                        f"{[_shown(o) for o in others]}"
                    )
        reported += _dates(old, new, ident)
    return reported


def sent_back_warm(old: Limits, new: Limits) -> bool:
    """Whether what came in hot, or as warm as a law of its own lets it, is now sent back unless it
    is cold: nothing is to be held hot or cooled then."""
    hot = old.get((0, "receive", "min"), [])
    by_own_law = [one for one in old.get((0, "receive", "max"), []) if _figure_of(one) is None]
    after = new.get((0, "receive", "max"), [])
    if any(_figure_of(one) for one in hot):
        return bool(after)
    return bool(by_own_law) and any(_figure_of(one) for one in after)


def _shown(limit: Limit) -> str:
    figure, most = _figure_of(limit), most_time(limit)
    parts = [str(figure.value) if figure else "", f"hold {_hold_of(limit)}"]
    parts += [f"{stage.figure.value} in {stage.within_s}" for stage in _stages_of(limit)]
    if most is not None:
        parts.append(f"within {most.most_s}")
    return f"{' '.join(p for p in parts if p)} {limit.group}"[:120].replace("\u00a0", " ")


def _figure_of(limit: Limit) -> Figure | None:
    return limit.figure if isinstance(limit, Probed) else None


def _hold_of(limit: Limit) -> Fraction | None:
    return limit.row_hold_s if isinstance(limit, HeatingLimit | KeepingLimit) else None


def _stages_of(limit: Limit) -> tuple[Stage, ...]:
    return limit.stages if isinstance(limit, CoolingLimit) else ()


def _most_ppm(limit: Limit) -> Fraction | None:
    return limit.most_ppm if isinstance(limit, DoseLimit) else None


def _figure(new: Figure | None, old: Figure | None, bound: str) -> bool:
    if old is None:
        return True
    if new is None:
        return False
    return new.value >= old.value if bound == "min" else new.value <= old.value


def as_strict(new: Limit, old: Limit) -> bool:
    """Whether a limit asks at least what another of the same step and hazard does."""
    if isinstance(new, NotCovered):
        return True  # not covered: ask, and the standard can't be approved
    if isinstance(old, NotCovered):
        return False
    if old.hazard == "cook" and new.group == old.group:
        return True  # another row of the same group, which the code gives as its equal
    now, was, hold = _figure_of(new), _figure_of(old), _hold_of(old)
    if not _figure(now, was, old.bound):
        return False
    if old.hazard == "time_control" and now and was and now != was:
        return True  # starts colder, by another row that the code gives as its equal
    if hold is not None and now is not None and was is not None:
        hotter = now.value > was.value
        if not hotter and (_hold_of(new) or Fraction(0)) < hold:
            return False
    lasts, lasted = most_time(new), most_time(old)
    if lasted is not None and (lasts is None or lasts.most_s > lasted.most_s):
        return False
    most, ppm = _most_ppm(old), _most_ppm(new)
    if most is not None and (ppm is None or ppm > most):
        return False
    if len(_stages_of(new)) < len(_stages_of(old)):
        return False
    pairs = zip(_stages_of(new), _stages_of(old), strict=False)
    return all(n.figure.value <= o.figure.value and n.within_s <= o.within_s for n, o in pairs)


def _dates(old: Manual, new: Manual, ident: str) -> list[str]:
    """A last day that is later, or gone, or parts that are dated no more."""
    if ident.startswith("ingredient "):
        item = ident.removeprefix("ingredient ")
        was = old.shelves[item].dates
        now = new.shelves[item].dates if item in new.shelves else None
    else:
        was, now = old.walks[ident].dates, new.walks[ident].dates if ident in new.walks else None
    if was is None or was.law_day is None:
        return []
    if now is None or now.day is None or (now.law_day or 999) > was.law_day:
        return [f"{ident}: date: day {was.day} of {was.law_day} → {now and (now.day, now.law_day)}"]
    gone = set(was.parts_to_date) - set(now.parts_to_date)
    return [f"{ident}: date: parts {sorted(gone)} are dated no more"] if gone else []


def excused(fact: Fact, reported: str) -> bool:
    return any(k.key == str(fact.keys[-1]) and k.what in reported for k in KNOWN)


def faults(picked: list[Fact], laid: dict[str, Path]) -> list[str]:
    """Each fact that left out makes a limit laxer, with what became of the limit."""
    found: list[str] = []
    whole = {name: compute(laid[name]) for name in {fact.kitchen for fact in picked}}
    for fact in picked:
        new = without(laid[fact.kitchen], fact)
        for t in laxer(whole[fact.kitchen], new):
            if not excused(fact, t):
                found.append(f"{fact}: {t}")
                print(found[-1], flush=True)  # a full run takes half an hour
    return found


def all_facts(laid: dict[str, Path]) -> list[Fact]:
    """Every fact of every kitchen; of one that differs from another in a few files, those of these
    files."""
    found: list[Fact] = []
    for name, project in laid.items():
        base = laid.get(
            "guide" if name.startswith("guide-") else "base" if name.startswith("case-") else ""
        )
        for fact in facts_of(name, project):
            own = base / fact.file if base is not None else None
            if (
                own is None
                or not own.is_file()
                or own.read_bytes() != (project / fact.file).read_bytes()
            ):
                found.append(fact)
    return found


def test_facts_left_out_a_sample(tmp_path: Path) -> None:
    """Seeded, of small kitchens; the full run is the next test."""
    laid = {n: p for n, p in kitchens(tmp_path).items() if n != "demo"}
    picked = random.Random("facts left out").sample(all_facts(laid), SAMPLE)
    assert faults(picked, laid) == []


@pytest.mark.slow
def test_every_fact_left_out(tmp_path: Path) -> None:
    laid = kitchens(tmp_path)
    picked = all_facts(laid)
    only = os.environ.get("ONLY_KITCHEN")
    picked = [f for f in picked if not only or f.kitchen == only]
    found = faults(picked, laid)
    print(
        f"{len(picked)} facts of {len({f.kitchen for f in picked})} kitchens left out, "
        f"{len(found)} faults"
    )
    assert found == []


def test_a_fault_is_seen(tmp_path: Path) -> None:
    """The comparison itself: chicken held against pork, cream that is dated against one that
    isn't."""
    project = tmp_path / "k"
    shutil.copytree(BASE / "standards", project / "standards")
    formula = project / "standards/formulas/pork-bake.yaml"
    formula.write_text(formula.read_text("utf-8").replace("core 72 °C", "core 76 °C"), "utf-8")
    pork = compute(project)
    path = project / "standards/ingredients/all.yaml"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("Pork shoulder", "Chicken thigh").replace("species: pork", "species: chicken")
    )
    chicken = compute(project)
    assert laxer(pork, pork) == laxer(pork, chicken) == []
    assert any(t.startswith("pork-bake: 4 cook min: 165 °F") for t in laxer(chicken, pork))
    edit(
        project,
        "ingredients/all.yaml",
        "name: Cream\n",
        "name: Sour cream\n  undated_as: cultured-dairy\n",
    )
    reported = laxer(chicken, compute(project))
    assert "rice-salad: date: parts ['Cream'] are dated no more" in reported
    assert "ingredient cream: date: day 7 of 7 → None" in reported

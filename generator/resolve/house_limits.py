"""House limits checked on their own: figures of the right kind, names that are known, documents on
file."""

from __future__ import annotations

import datetime

from generator.files.finding import Finding, Place
from generator.intake.reading import EVERYTHING
from generator.measures.words import counted, date, listed
from generator.records.formula import Formula
from generator.records.house_limit import EXAMPLES, FORMS, HouseLimit
from generator.records.kitchen import Kitchen
from generator.resolve.names import Names

SOON_DAYS = 60
"""A document that ends within two months is named: an authority needs time to renew it."""
_FORMS = ("intact", "not-intact", "comminuted", "tenderised", "injected")
_ALONE = frozenset({"plant", "stuffed", "comminuted", "tenderised", "injected", "intact"})
_OF_A_STEP = ("core", "at", "cool")
_WORD = {
    "core": "a core temperature",
    "at": "one temperature, with `at`",
    "cool": "times to cool within",
    "days": "a number of days",
}


def check_house_limits(names: Names) -> None:
    """The kitchen's, the processes' and the formulas' house limits."""
    kitchen = names.standards.kitchen
    if kitchen is None:
        return
    _of_kitchen(names, kitchen)
    for ident, process in names.standards.processes.items():
        for step in process.steps:
            if step.house_limit is not None:
                _check(names, step.house_limit, _OF_A_STEP, "a step", f"process:{ident}")
    for ident, formula in names.standards.formulas.items():
        for step in formula.steps:
            if step.house_limit is not None:
                _check(names, step.house_limit, _OF_A_STEP, "a step", ident)
    for ident, formula in names.standards.formulas.items():
        _of_formula(names, ident, formula)


def _of_kitchen(names: Names, kitchen: Kitchen) -> None:
    """The kitchen's own: of the right kind, for food and verbs that are known."""
    if not kitchen.house_limits:
        return
    foods = _foods(names)
    verbs = set(names.library.verbs) | {"store"}
    verbs |= {s.do for p in names.standards.processes.values() for s in p.steps}
    verbs |= {s.do for f in names.standards.formulas.values() for s in f.steps}
    for limit in kitchen.house_limits:
        _check(names, limit, (FORMS[limit.for_],), f"for: {limit.for_}", EVERYTHING)
        for word in limit.food:
            if word not in foods:
                names.unknown(
                    "house-limit-unknown", "food", word, limit.place("food"), foods, EVERYTHING
                )
        if limit.do is not None and limit.do not in verbs:
            names.unknown(
                "house-limit-unknown", "verb", limit.do, limit.place("do"), verbs, EVERYTHING
            )


def _of_formula(names: Names, ident: str, formula: Formula) -> None:
    """A formula's: of the right kind, for steps of its process, its storing or its date mark."""
    held = names.standards.processes.get(formula.process or "")
    mine = (*(held.steps if held is not None else ()), *formula.steps)
    ids = [*(step.id or step.do for step in mine), "store", "date"]
    for key, own in formula.house_limits.items():
        if mine and key not in ids:
            names.unknown(
                "step-unknown", "step", key, formula.key_place("house_limits", key), ids, ident
            )
        kinds = {"date": ("days",), "store": ("at",)}.get(key, _OF_A_STEP)
        _check(names, own, kinds, f"`{key}`", ident)


def _foods(names: Names) -> set[str]:
    """Every word `food` may hold: species, classes and their forms, as the rules group them."""
    found = set(_ALONE)
    for pack in names.library.packs.values():
        for species, definition in pack.definitions.items():
            for word in (species, definition.group_as):
                found |= {word, *(f"{word}-{form}" for form in _FORMS)}
    return found


def _check(names: Names, limit: HouseLimit, kinds: tuple[str, ...], what: str, about: str) -> None:
    wrong = _kind_wrong(limit, kinds, what)
    if wrong is not None:
        names.error("house-limit-kind", limit.place("limit"), *wrong, about)
    kitchen = names.standards.kitchen
    assert kitchen is not None
    documents = [a.document for a in kitchen.authorisations]
    if limit.allowed_by and limit.allowed_by not in documents:
        known = f"On file: {', '.join(documents)}." if documents else "None is on file."
        names.error(
            "house-limit-document",
            limit.place("allowed_by"),
            f"There is no authorisation called {limit.allowed_by}.",
            f"{known} Record it under `authorisations` in kitchen.yaml.",
            about,
        )


def _kind_wrong(limit: HouseLimit, kinds: tuple[str, ...], what: str) -> tuple[str, str] | None:
    """What is wrong with the figures of a limit, and what to do; None if nothing is."""
    found = {figure.kind for figure in limit.limit}
    if len(found) > 1 or not found <= set(kinds):
        wanted = listed([f"{_WORD[k]}, as in {EXAMPLES[k]}" for k in EXAMPLES if k in kinds], "or")
        return (
            f"The limit for `{what.removeprefix('for: ')}` is of another kind.",
            f"Write {wanted}.",
        )
    if len(limit.limit) > 1 and found & {"at", "days"}:
        return f"{counted(len(limit.limit), 'figure')} for one limit.", "Keep the stricter."
    if len({f.start for f in limit.limit if f.start is not None}) > 1:
        return "The clock starts at two temperatures.", "Keep the hotter."
    return None


def ends_soon(
    document: str, kind: str, until: datetime.date, as_of: datetime.date, place: Place
) -> Finding | None:
    """The warning of a document that ends soon, or None."""
    left = (until - as_of).days
    if not 0 <= left <= SOON_DAYS:
        return None
    when = "today" if left == 0 else f"in {counted(left, 'day')}, on {date(until)}"
    return Finding(
        "authorisation-ends-soon",
        "warning",
        f"{document} (`for: {kind}`) ends {when}.",
        place,
        "Ask the authority in time. What depends on it is refused from the day after.",
    )

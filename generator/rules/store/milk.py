"""Milk, cream and cheese come in pasteurised. Food Code 3-202.14(B) to (D).

Raw milk is refused in every kitchen, as an ingredient too, unless a document on file allows it. A
cheese may be cured from raw milk where 21 CFR 133 lets its variety be; the ingredient names that
standard.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from generator.files.finding import Finding
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import ReceiveRow
from generator.resolve.joined import House
from generator.rules.basics.context import authorisation_problem, cited
from generator.rules.basics.product import RAW_STATES

ON_FILE = "raw-milk"
"""What an authorisation is for that lets raw milk in."""
_MILK, _FROZEN, _CHEESE = "milk", "frozen-milk", "cheese"
_DAIRY = "01"
"""The first two figures of the food numbers of dairy food in the USDA's tables."""
_RAW = re.compile(
    r"\b(raw|unpasteuri[sz]ed)[ -]([\w’']+[ "
    r"-]){0,2}(milk|cream|cheese|yogh?urt|buttermilk|butter)\b"
)
_CURED = ("hard", "semisoft", "soft")


@dataclass(frozen=True)
class _Raw:
    """Why milk counts as raw, and the key that says so, or that doesn't say otherwise."""

    words: str
    key: str


def not_pasteurised(house: House, item: str, facts: Ingredient) -> tuple[Finding, ...]:
    """The error of a dairy ingredient that is raw, isn't stated to be pasteurised or ready to eat,
    or is raw by its own name; empty for any other, and for one a document in force allows."""
    why = _why_raw(house, facts)
    if why is None or not authorisation_problem(house, ON_FILE, "none", ""):
        return ()
    is_cheese = facts.cheese is not None
    if is_cheese and facts.raw_milk and facts.cheese in _CURED:
        return ()
    kind = _CHEESE if is_cheese else _FROZEN if facts.arrives == "frozen" else _MILK
    found = house.pack.row_for(ReceiveRow, kind)
    unstated = why.key == "name" and facts.state is None
    return (
        Finding(
            "milk-not-pasteurised",
            "error",
            f"{facts.name}: {why.words}. It must come in pasteurised.",
            facts.key_place("name") if unstated else facts.place(why.key),
            _help(is_cheese, unstated),
            source=cited(house, found[1]) if found is not None else "",
            about=frozenset({item}),
        ),
    )


def _why_raw(house: House, facts: Ingredient) -> _Raw | None:
    """Why a dairy ingredient counts as raw; None where it doesn't."""
    if not any(a.word == "milk" for a in facts.allergens):
        return None
    named = next((n for n in (facts.name, *facts.other_names) if _RAW.search(n.lower())), "")
    if named:
        return _Raw(f"`{named}` says that its milk is raw", "name")
    if facts.raw_milk:
        return _Raw("`raw_milk` says that its milk is raw", "raw_milk")
    if facts.state not in RAW_STATES or not _is_dairy(house, facts):
        return None
    if facts.state is None:
        return _Raw("its `state` isn't stated, so its milk counts as raw", "name")
    return _Raw("its milk is raw", "state")


def _is_dairy(house: House, facts: Ingredient) -> bool:
    """Whether it is milk or made of milk: it declares nothing but milk, or is dairy food by its
    foodstuff. Dough and the like, which hold butter among other things, aren't."""
    if facts.species not in (None, "none"):
        return False
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    by_table = stuff is not None and stuff.usda.startswith(_DAIRY)
    return by_table or {a.word for a in facts.allergens} == {"milk"}


def _help(is_cheese: bool, unstated: bool) -> str:
    """What to do about it: nobody is offered a word that isn't so."""
    ask = "Is it pasteurised? Write `state: pasteurised`. " if unstated else ""
    made = "cheese made from pasteurised milk"
    use = f"{ask}Use {made if is_cheese else 'pasteurised milk, even if it is cooked'}."
    if is_cheese:
        use += (
            " Was it cured from raw milk by a standard of 21 CFR 133? Name that under `raw_milk`."
        )
    return f"{use} Record a document that allows raw milk under `authorisations`, `for: {ON_FILE}`."

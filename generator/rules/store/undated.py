"""What needs no date mark once it is opened: a list of foods as an inspected plant made and packed
them.

Food Code 3-501.17(G). The list lifts paragraph (B), on packs that are opened; what a kitchen makes,
of such food or itself, is dated by (A) as ever.
"""

from __future__ import annotations

from generator.files.finding import Finding
from generator.records.ingredient import Ingredient
from generator.reference.packs import Pack
from generator.reference.row_kinds import DateRow
from generator.resolve.joined import House
from generator.rules.basics.context import cited

_BY_CHEESE = {"hard": "hard-cheese", "semisoft": "semisoft-cheese"}
_DAIRY = ("hard-cheese", "semisoft-cheese", "cultured-dairy")
_CLASSES = {
    "preserved-fish": ("fish",),
    "dry-sausage": ("meat", "game", "poultry", "ratite"),
    "salt-cured": ("meat", "game", "poultry", "ratite"),
}
"""What an entry of the list is made of, by the classes of the pack's definitions."""


def undated(pack: Pack, facts: Ingredient) -> DateRow | None:
    """The row that needs no date of an ingredient once it is opened; None where it is dated."""
    kind = facts.undated_as or _BY_CHEESE.get(facts.cheese or "", "")
    if not kind or _problem(pack, facts, kind):
        return None
    found = pack.row_for(DateRow, kind)
    return found[1] if found is not None else None


def undated_without_use(house: House, item: str, facts: Ingredient) -> tuple[Finding, ...]:
    """What is said of an `undated_as` that changes nothing, so that nobody relies on it."""
    if facts.undated_as is None or undated(house.pack, facts) is not None:
        return ()
    found = house.pack.row_for(DateRow, facts.undated_as)
    why = (
        _problem(house.pack, facts, facts.undated_as) or "the rules in force here have no such list"
    )
    return (
        Finding(
            "undated-unused",
            "warning",
            f"{facts.name}: `undated_as` changes nothing: {why}. It is dated.",
            facts.place("undated_as"),
            "Delete it, or fix what it says about the food.",
            source=cited(house, found[1]) if found is not None else "",
            about=frozenset({item}),
        ),
    )


def _problem(pack: Pack, facts: Ingredient, kind: str) -> str:
    """What speaks against an entry of the list, in words; empty if nothing does."""
    if not facts.commercially_packed:
        return (
            "it isn't stated to be made and packed by a plant under inspection "
            "(`commercially_packed`)"
        )
    if facts.state not in ("ready-to-eat", "pasteurised"):
        return "it isn't stated to be ready to eat"
    if kind in _DAIRY and not any(a.word == "milk" for a in facts.allergens):
        return "it is dairy food, and milk isn't among its allergens"
    if kind not in _CLASSES:
        return ""
    definition = pack.definitions.get(facts.species or "")
    if definition is None or definition.group_as not in _CLASSES[kind]:
        return "its `species` is something else"
    return ""

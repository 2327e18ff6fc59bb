"""Made parts of the guide on the law: packs, their rows, species, allergens, what isn't covered."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from generator.authoring.guide.words import code, sentence
from generator.measures.rounding import to_side
from generator.measures.words import breakable, duration
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.row_kinds import CookRow


def species(library: Library) -> str:
    """Every species, by the class the rules put it in."""
    groups: dict[str, list[str]] = {}
    for pack in library.packs.values():
        for ident, definition in pack.definitions.items():
            groups.setdefault(definition.group_as, [])
            if code(ident) not in groups[definition.group_as]:
                groups[definition.group_as].append(code(ident))
    return "\n".join(
        f"- {name.replace('-', ' ')}: {', '.join(words)}" for name, words in groups.items()
    )


def packs(library: Library) -> str:
    """The rule packs a kitchen can name under `code`."""
    out: list[str] = []
    for pack in library.packs.values():
        facts = pack.facts
        if not pack.rows_of(CookRow):
            continue  # a pack of one topic that another pack leads to
        out.append(
            f"- {code(f'model: {facts.model}')}, {code(f'edition: {facts.edition}')}: "
            f"{facts.name}, {facts.publisher}"
        )
    return "\n".join(out)


def rows(library: Library) -> str:
    """The ranked groups of each pack, with their rows for cooking: temperature and time."""
    out: list[str] = []
    for pack in library.packs.values():
        if not pack.rows_of(CookRow):
            continue
        out += [f"**{pack.facts.name}**, each group above the one before:", ""]
        for group in pack.ranking:
            words = _rows_in_words(_longest(pack, group))
            out.append(f"- {pack.groups[group].name} ({pack.groups[group].clause}): {words}")
        out.append("")
    return "\n".join(out).rstrip()


def _longest(pack: Pack, group: str) -> list[Any]:
    """The rows of a group by temperature. A group may borrow rows: of several at one temperature
    the longest time binds."""
    longest: dict[Fraction, Any] = {}
    for member in pack.members(group):
        for _, row in pack.cook_rows(member):
            if row.value is None or row.bound != "min" or row.applies == "to-order":
                continue
            kept = longest.setdefault(row.value.celsius, row)
            if row.hold is not None and row.hold.seconds > kept.hold.seconds:
                longest[row.value.celsius] = row
    return [longest[celsius] for celsius in sorted(longest)]


def _rows_in_words(found: list[Any]) -> str:
    """Each row; of more than six how many, the first and the last."""
    shown = [breakable(f"{row.value}{_held(row)}") for row in found]
    if len(shown) > 6:
        return f"{len(shown)} rows, from {shown[0]} to {shown[-1]}"
    return "; ".join(shown) or "no rows of its own"


def _held(row: Any) -> str:
    if row.hold is None:
        return ""
    seconds = row.hold.seconds
    return f" for {duration(to_side(seconds, 'up'))}" if seconds else ", any one reading"


def not_covered(library: Library) -> str:
    """What each pack does not hold, and why."""
    out: list[str] = []
    for pack in library.packs.values():
        if pack.facts.not_covered:
            out += [f"**{pack.facts.name}**", ""]
            out += [f"- {one.what}: {sentence(one.why)}" for one in pack.facts.not_covered] + [""]
    return "\n".join(out).rstrip()


def allergens(library: Library) -> str:
    """The lists of allergens with their words."""
    out: list[str] = []
    for ident, one in library.allergens.items():
        words = [
            f"{code(word.name)}{' with its kind' if word.kind_named else ''}"
            for word in one.words.values()
        ]
        out.append(f"- {ident}, {one.name}: {', '.join(words)}")
    return "\n".join(out)

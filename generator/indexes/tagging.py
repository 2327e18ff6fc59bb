"""Tags: the words a computed formula is looked up by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from generator.records.approval import Status
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

Group = Literal["station", "process", "allergen", "method", "status"]
GROUPS: tuple[Group, ...] = ("station", "process", "allergen", "method", "status")
_STATUS: dict[Status, str] = {
    "current": "current",
    "draft": "draft, do not use",
    "not-yet": "not current yet",
    "superseded": "superseded, do not use",
}


@dataclass(frozen=True)
class Tag:
    """One tag: its group, a key that is unique in the group, and its word."""

    group: Group
    key: str
    word: str


NOT_COMPUTED = Tag("status", "not-computed", "not computed")


def tags_of(sheet: Sheet) -> tuple[Tag, ...]:
    """The tags of a sheet, group by group: its station and process, each allergen in it, what is
    done to it, and whether it is current. Allergens are those of the whole formula."""
    formula, library = sheet.formula, sheet.house.library
    stations = sheet.house.stations
    tags = [Tag("station", one, stations[one].name) for one in formula.formula.station]
    if formula.formula.process is not None:
        tags.append(Tag("process", formula.formula.process, formula.process.name))
    words = dict.fromkeys(allergen.word for allergen in sheet.allergens)
    tags += [Tag("allergen", word, f"contains {word}") for word in words]
    if not words:
        tags.append(Tag("allergen", "", f"contains {sheet.house.allergens.none}"))
    verbs = dict.fromkeys(step.step.do for step in formula.steps)
    done = [(v, library.verbs[v].done) for v in verbs if v in library.verbs]
    tags += [Tag("method", verb, word) for verb, word in done if word]
    tags.append(Tag("status", sheet.status, _STATUS[sheet.status]))
    return tuple(tags)


def tagged(manual: Manual) -> dict[Tag, tuple[str, ...]]:
    """Every tag of the manual with the ids of its formulas, in the order of GROUPS."""
    found: dict[Tag, list[str]] = {}
    for sheet in manual.sheets.values():
        for tag in tags_of(sheet):
            found.setdefault(tag, []).append(sheet.id)
    if manual.stopped:
        found[NOT_COMPUTED] = list(manual.stopped)
    order = sorted(found, key=lambda tag: (GROUPS.index(tag.group), tag.word.lower()))
    return {tag: tuple(found[tag]) for tag in order}

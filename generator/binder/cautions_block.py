"""Where each caution of a formula is on its sheet: at its step, above what is weighed, or before
the work starts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from generator.binder.sheets import Record
from generator.sheet.cautioning import ASK_FIRST, Notice
from generator.sheet.sheet import Sheet

MOST_WHOLE = 2
"""Whole boxes at a step; a DANGER is at its step, whatever comes with it."""


@dataclass(frozen=True)
class Placed:
    """A sheet's cautions: boxes ``above`` all else, those read ``before`` the work with the steps
    they are of, and at each step the ``boxes`` and the ``lines``, by its number."""

    above: tuple[Notice, ...]
    before: tuple[tuple[Notice, tuple[int, ...]], ...]
    boxes: dict[int, tuple[Notice, ...]]
    lines: dict[int, tuple[Notice, ...]]


def of_what_is_weighed(sheet: Sheet) -> Iterator[Notice]:
    """The cautions raised by what something weighed is for, a cure: they are above its row."""
    cautions = sheet.house.library.cautions
    for notice in sheet.notices.before:
        if "cure" in cautions[notice.id].when.function:
            yield notice


def placed(sheet: Sheet) -> Placed:
    """Every caution of a sheet at its place: whole once, at most two whole boxes a step."""
    notices = sheet.notices
    first: dict[str, tuple[Notice, list[int]]] = {
        n.id: (n, []) for n in notices.page if n.severity != "danger"
    }
    boxes = {number: _boxes(found) for number, found in notices.by_step.items()}
    lines = {
        number: tuple(n for n in found if n not in boxes[number])
        for number, found in notices.by_step.items()
    }
    for number, left in sorted(lines.items()):
        for notice in left:
            if notice.whole:
                first.setdefault(notice.id, (notice, []))
            if notice.id in first:
                first[notice.id][1].append(number)
    before = tuple((n, tuple(steps)) for n, steps in first.values())
    return Placed(_above(sheet), before, boxes, lines)


def _above(sheet: Sheet) -> tuple[Notice, ...]:
    """What is over all else: each DANGER of the food that isn't over a row of its own."""
    weighed = {n.id for n in of_what_is_weighed(sheet)}
    before = [n for n in sheet.notices.before if n.id not in weighed]
    return (*before, *(n for n in sheet.notices.page if n.severity == "danger"))


def _boxes(found: Iterable[Notice]) -> tuple[Notice, ...]:
    """The cautions of a step that are whole boxes there."""
    whole = sorted((n for n in found if n.whole), key=_first)
    must = sum(map(_at_its_step, whole))
    return tuple(n for n in whole[: max(must, MOST_WHOLE)] if _boxed(n))


def _at_its_step(notice: Notice) -> bool:
    """Whether it is whole at its step whatever else is: a DANGER, and one that a step's words
    contradict."""
    return notice.severity == "danger" or notice.words.startswith(ASK_FIRST)


def _boxed(notice: Notice) -> bool:
    """Whether it may be a box at its step; the others are read before the work."""
    return _at_its_step(notice) or notice.severity == "warning"


def _first(notice: Notice) -> tuple[bool, str, str]:
    return not _at_its_step(notice), _RANK.get(notice.severity, "9"), notice.id


_RANK = {"danger": "0", "warning": "1", "caution": "2", "notice": "3"}


def strip_block(found: Placed) -> list[Record]:
    """The cautions to read before the work, two beside each other; none, where there are none."""
    if not found.before:
        return []
    ranked = sorted(found.before, key=lambda one: (_RANK[one[0].severity], one[1][:1]))
    texts = [
        {
            "severity": notice.severity,
            "where": f"Step {', '.join(map(str, steps))}" if steps else "",
            "words": notice.words,
        }
        for notice, steps in ranked
    ]
    return [{"form": "strip", "words": "Before you start", "texts": texts}]

"""The cautions of a formula beside an answer, and whose rules govern."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import without_none
from generator.measures.words import breakable
from generator.resolve.joined import House
from generator.sheet.cautioning import Notice
from generator.sheet.sheet import Sheet


def governs(sheet: Sheet) -> str:
    """That local code governs, and is to be asked, in words."""
    return governed(sheet.house)


def governed(house: House) -> str:
    """The same of an answer without a formula."""
    return (
        f"Your regulatory authority's rules apply: {house.pack.facts.document}, as adopted by "
        f"{house.kitchen.code.adopted_by}. If this answer and local code differ, local code wins. "
        "Have a qualified person review the plan."
    )


def cautions_record(sheet: Sheet) -> dict[str, Any]:
    """The cautions, those of the page first, those to be read before weighing, and then step by
    step; those switched off with why, and whose rules govern. One that isn't ``whole`` was whole
    before: ``short`` is enough."""
    notices = sheet.notices
    return {
        "cautions": [
            *(_record(notice) for notice in notices.page),
            *({**_record(notice), "before_weighing": True} for notice in notices.before),
            *(_record(n, number, _verb(sheet, number)) for number, n in _steps(sheet)),
        ],
        "cautions_off": [{"name": name, "reason": reason} for name, reason in notices.off],
        "governs": governs(sheet),
    }


def _steps(sheet: Sheet) -> list[tuple[int, Notice]]:
    by_step = sheet.notices.by_step
    return [(number, n) for number in sorted(by_step) for n in by_step[number]]


def _verb(sheet: Sheet, number: int) -> str:
    return next((w.step.verb for w in sheet.walk.steps if w.step.number == number), "")


def _record(notice: Notice, number: int | None = None, verb: str | None = None) -> dict[str, Any]:
    return without_none(
        {
            "id": notice.id,
            "severity": notice.severity,
            "name": notice.name,
            "words": notice.words,
            "short": notice.short,
            "whole": notice.whole,
            "step_number": number,
            "verb": verb,
            "source": notice.source,
        }
    )


def cautions_lines(sheet: Sheet, said: str = "") -> list[str]:
    """The cautions for the terminal: each whole once, those of the page and those before weighing
    first; then step by step, short where it was whole before; then whose rules govern. What
    is before weighing isn't repeated where ``said`` has it as a line already."""
    notices = sheet.notices
    lines = ["Cautions"] if notices.all else []
    lines += [f"  {_line(n)}" for n in notices.page]
    above = said.splitlines()
    before = [_line(n) for n in notices.before]
    lines += [f"  Before weighing: {line}" for line in before if line not in above]
    lines += [f"  Step {number}, {_verb(sheet, number)}: {_line(n)}" for number, n in _steps(sheet)]
    lines += [f"  Switched off: {name}. {reason}" for name, reason in notices.off]
    return [*lines, *([""] if lines else []), governs(sheet)]


def _line(notice: Notice) -> str:
    return f"{notice.severity.upper()}: {notice.words if notice.whole else notice.short}"


def dangers_first(sheet: Sheet) -> list[str]:
    """Every DANGER of a formula, each once: read before anything is weighed."""
    found = dict.fromkeys(n.words for n in sheet.notices.all if n.severity == "danger")
    return [f"DANGER: {words}" for words in found]


def with_cautions(text: str, sheet: Sheet) -> str:
    """An answer for the terminal with the cautions and whose rules govern below it."""
    below = breakable("\n".join(cautions_lines(sheet, text)))
    return f"{text}\n\n{below}"

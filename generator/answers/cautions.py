"""The cautions of a formula beside an answer, and whose rules govern."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import without_none
from generator.cautioning import Notice
from generator.sheet import Sheet


def governs(sheet: Sheet) -> str:
    """That local code governs, and is to be asked, in words."""
    house = sheet.house
    return (
        f"The rules that govern are those of your regulatory authority: {house.pack.facts.document}, as adopted by "
        f"{house.kitchen.code.adopted_by}. Where this answer and local code differ, local code wins. "
        "Have the plan reviewed by a qualified person."
    )


def cautions_record(sheet: Sheet) -> dict[str, Any]:
    """The cautions, those of the page first and then step by step, those switched off with why, and
    whose rules govern."""
    notices = sheet.notices
    return {
        "cautions": [
            *(_record(notice) for notice in notices.page),
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
            "step_number": number,
            "verb": verb,
            "source": notice.source,
        }
    )


def cautions_lines(sheet: Sheet) -> list[str]:
    """The cautions for the terminal: each whole once, with the steps it is for; then whose rules
    govern."""
    at: dict[str, tuple[Notice, list[str]]] = {n.id: (n, []) for n in sheet.notices.page}
    for number, notice in _steps(sheet):
        steps = at.setdefault(notice.id, (notice, []))[1]
        steps.append(f"step {number}, {_verb(sheet, number)}")
    lines = ["Cautions"] if at else []
    for notice, steps in at.values():
        where = f" ({'; '.join(steps)})" if steps else ""
        lines.append(f"  {notice.severity.upper()}{where}: {notice.words}")
    lines += [f"  Switched off: {name}. {reason}" for name, reason in sheet.notices.off]
    return [*lines, *([""] if lines else []), governs(sheet)]


def dangers_first(sheet: Sheet) -> list[str]:
    """Every DANGER of a formula, each once: read before anything is weighed."""
    found = dict.fromkeys(
        n.words
        for n in (*sheet.notices.page, *(n for _, n in _steps(sheet)))
        if n.severity == "danger"
    )
    return [f"DANGER: {words}" for words in found]


def with_cautions(text: str, sheet: Sheet) -> str:
    """An answer for the terminal with the cautions and whose rules govern below it."""
    below = "\n".join(cautions_lines(sheet)).replace("\u00a0", " ")
    return f"{text}\n\n{below}"

"""The change sheet: what to replace, discard, add and keep, and old → new; and who has read it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from generator.binder.plan import Move, Plan
from generator.binder.sheets import Record, bold, sheet_record
from generator.measures.words import counted
from generator.records.approval import approval_of
from generator.sheet.manual import Manual
from generator.views.facts import Change, Group, pair_of

_MOST_PAIRS = 8
"""Old → new lines a sheet, beside those of FIRST; the new sheet itself says the rest."""
_FIRST: tuple[Group, ...] = ("limits", "dates", "allergens", "vessel")
"""What is said first, and of which nothing is left out."""
_SIGNATURES = 10
_CONTROL = ("Status", "Band", "Effective", "Approved by", "Review due", "Revision")


_DRAFT = "The revision was not raised: the new sheet is a DRAFT. Do not work from it."
_UNKNOWN = "The old figures aren't known here: read the whole new sheet."


def ranges(numbers: Sequence[str]) -> str:
    """Numbers as a person says them: 4, 9–12, 15."""
    runs: list[list[int]] = []
    for number in sorted(map(int, numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    found: list[str] = []
    for run in runs:
        found += [f"{run[0]}–{run[-1]}"] if len(run) > 2 else map(str, run)
    return ", ".join(found)


def plan_words(plan: Plan) -> str:
    """A plan in a sentence: "replace the cover, 4 and 9; take out 12; add 13; keep the rest"."""
    if not plan.moves:
        return "nothing to replace"
    replaced = ranges(plan.numbers("replace"))
    cover = any(m.new is not None and m.new["kind"] == "cover" for m in plan.moves)
    words = ["replace " + ", ".join(w for w in ("the cover" if cover else "", replaced) if w)]
    words += [
        f"{words_for} {ranges(plan.numbers(how))}"
        for how, words_for in (("discard", "take out"), ("add", "add"))
        if plan.numbers(how)
    ]
    words.append("keep the rest" if plan.kept else "keep nothing")
    return "; ".join(words)


def change_sheet(
    manual: Manual, station: str, plan: Plan, since: str, issue: str, sheets: Sequence[Record]
) -> Record:
    """The change sheet of a station's binder. ``since`` says from what, ``issue`` is the binder's
    next issue or empty, ``sheets`` is all the binder then holds."""
    house = manual.house
    record = house.stations[station]
    holds = [s for s in sheets if s["kind"] != "cover"]
    found = sheet_record(
        manual,
        "changes",
        f"{station}/{station}/changes",
        "Change sheet",
        [f"{record.name} binder", since],
        record.name,
        approval_of(record, house.kitchen, manual.as_of),
        f"{station}, change sheet",
        [
            {"form": "answer", "cells": _answer(plan, holds)},
            {"form": "changes", "rows": [row for move in plan.moves for row in _rows(move, holds)]},
            {"form": "prose", "words": _then(plan, holds), "keep": True},
            {
                "form": "fields",
                "fields": [
                    {"label": "Changed by", "share": 54},
                    {"label": "Date", "share": 32},
                    {"label": "Sheets destroyed", "share": 40},
                    {"label": "Checked by", "share": 54},
                ],
            },
        ],
    )
    found["control"]["revision"] = issue or "none"
    return found


def _then(plan: Plan, holds: Sequence[Record]) -> list[str | dict[str, str]]:
    """What to do once the sheets are in: how many there are then, and who signs for what."""
    words: list[str | dict[str, str]] = [
        bold("Then"),
        f" the binder holds {counted(len(holds), 'sheet')} and the cover. Mark the old pages "
        "SUPERSEDED or destroy them; keep filled ones on file. A bar in the margin of a new sheet "
        "marks what changed.",
    ]
    sign = next((s["number"] for s in holds if s["kind"] == "sign-off"), "")
    read = [m.number for m in plan.moves if m.new is not None and m.number]
    if sign and read:
        words.append(f" Each cook signs sheet {sign} for {ranges(read)}.")
    return words


def _answer(plan: Plan, holds: Sequence[Record]) -> list[Record]:
    cover = any(m.new is not None and m.new["kind"] == "cover" for m in plan.moves)
    replaced = ", ".join(
        w for w in ("Cover" if cover else "", ranges(plan.numbers("replace"))) if w
    )
    discarded = ranges(plan.numbers("discard"))
    if any(_one_of_two(m, holds) for m in plan.moves):
        discarded += " (one of two)"
    cells = [
        ("Replace", replaced),
        ("Take out", discarded),
        ("Add", ranges(plan.numbers("add"))),
    ]
    found: list[Record] = [
        {"head": head, "words": words or "none", "strong": bool(words)} for head, words in cells
    ]
    found.append({"head": "Keep", "words": "the rest" if plan.kept else "none", "strong": False})
    return found


_ROOM = 14
"""Old → new lines a row: so high that two fit on a page. What is more goes on in rows below."""


def _rows(move: Move, holds: Sequence[Record]) -> Iterator[Record]:
    """The row of a sheet, and those its old → new lines go on in."""
    row = _row(move, holds)
    pairs = row["pairs"]
    parts = [pairs[at : at + _ROOM] for at in range(0, len(pairs), _ROOM)] or [[]]
    yield {**row, "pairs": parts[0]}
    again = {"no": "", "key": "", "id": "", "revision": "", "words": "", "out": False, "in": False}
    for part in parts[1:]:
        yield {**row, **again, "title": f"{row['title']}, continued", "pairs": part}


def _row(move: Move, holds: Sequence[Record]) -> Record:
    new, old = move.new, move.old
    first, others = _in_order(move.differences)
    pairs = [_pair(d) for d in (*first, *others[:_MOST_PAIRS])]
    if new is None:
        head = _taken_out(move)
    else:
        head = {
            "title": _title(new),
            "id": new["control"]["id"],
            "revision": _revision(move),
        }
    return {
        "no": move.number or "Cover",
        "key": new["key"] if new is not None else "",
        **head,
        "pairs": pairs,
        "words": _to_do(move, holds, len(others) - _MOST_PAIRS),
        "out": old is not None,
        "in": new is not None,
    }


def _in_order(found: Sequence[Change]) -> tuple[list[Change], list[Change]]:
    """Limits, use-by, allergens and vessels in this order; and what else changed but document
    control."""
    first = [d for group in _FIRST for d in found if d.group == group]
    others = [d for d in found if d.group not in _FIRST and d.name not in _CONTROL]
    return first, others


def _taken_out(move: Move) -> dict[str, str]:
    """What a sheet that only leaves is called; its id alone where its content isn't known."""
    old = move.old
    assert old is not None
    revision = f"revision {old.revision}"
    if old.record is None:
        return {"title": old.id[:1].upper() + old.id[1:], "id": "", "revision": revision}
    return {"title": _title(old.record), "id": old.id, "revision": revision}


def _to_do(move: Move, holds: Sequence[Record], more: int) -> list[str | dict[str, str]] | str:
    """What to do with a sheet, or what its pairs don't say; ``more`` changes have no room."""
    new, old = move.new, move.old
    if new is not None and old is None:
        return _put_in(new, holds)
    if new is not None:
        return " ".join(_of_the_new(move, new, more))
    assert old is not None
    if _one_of_two(move, holds):
        return (
            f"Two sheets are numbered {old.number}. Take out this one: hash {old.hash}. "
            "Keep the other."
        )
    return "Take it out. Keep the filled sheets on file."


def _of_the_new(move: Move, new: Record, more: int) -> Iterator[str]:
    """What is to be said of a sheet that replaces another: what has no room, what isn't known, and
    who changed it where its revision says nothing of it."""
    if more > 0:
        yield f"And {counted(more, 'more change')}: see the new sheet."
    if move.number and not move.differences:
        yield _UNKNOWN
    if not move.number or not move.same_revision:
        return
    if new["control"]["unraised"]:
        yield _DRAFT
    elif move.moved_by:
        yield f"The standards didn't change: {move.moved_by} moved this."


def _one_of_two(move: Move, holds: Sequence[Record]) -> bool:
    """Whether the sheet to take out has the number of one that stays: two branches gave it."""
    return move.new is None and move.number in {s["number"] for s in holds if s["number"]}


def _pair(difference: Change) -> Record:
    """Old → new; of long words only those that differ."""
    old, new = pair_of(difference)
    return {"name": difference.name, "old": old, "new": new}


def _title(sheet: Record) -> str:
    return ", ".join(
        [sheet["title"], *(w.lower() if i == 0 else w for i, w in enumerate(sheet["subtitle"]))]
    )


def _revision(move: Move) -> str:
    assert move.new is not None
    control = move.new["control"]
    revision = f"revision {control['revision']}"
    if move.old is not None and move.old.revision and move.old.revision != control["revision"]:
        revision = f"revision {move.old.revision} → {control['revision']}"
    return f"{revision} · effective {control['effective']}"


def _put_in(new: Record, holds: Sequence[Record]) -> str:
    if not new["number"]:
        return "Put it in front."
    before = [s["number"] for s in holds if int(s["number"]) < int(new["number"])]
    return f"Put it in after {before[-1]}." if before else "Put it in behind the cover."


def read_sheet(manual: Manual, station: str, plan: Plan, since: str, issue: str) -> Record | None:
    """Who has read and understood the sheets that are new or changed; None where there is none."""
    house = manual.house
    record = house.stations[station]
    approval = approval_of(record, house.kitchen, manual.as_of)
    rows = [
        [
            m.number,
            {"words": _title(m.new), "under": m.new["control"]["id"]},
            m.new["control"]["revision"],
        ]
        for m in plan.moves
        if m.new is not None and m.number
    ]
    if not rows:
        return None
    heads = (("Name", 58), ("Initials", 22), ("Date", 32), ("Sheets read", 40), ("Trained by", 28))
    found = sheet_record(
        manual,
        "read",
        f"{station}/{station}/read",
        "Read and understood",
        [f"{record.name} binder", since],
        record.name,
        approval,
        f"{station}, read and understood",
        [
            {
                "form": "prose",
                "words": "Read these sheets. Ask what you do not understand. Then sign. Until you "
                "sign, work beside someone who has.",
            },
            {
                "form": "table",
                "least": 9.5,
                "rows": rows,
                "columns": [
                    {"head": "No.", "mm": 14, "role": "weight"},
                    {"head": "Sheet", "share": 1, "bold": True},
                    {"head": "Revision", "mm": 24, "align": "center"},
                ],
            },
            {
                "form": "table",
                "least": 10.2,
                "rows": [[""] * len(heads)] * _SIGNATURES,
                "columns": [{"head": h, "mm": mm, "write": True} for h, mm in heads],
            },
        ],
    )
    found["control"]["revision"] = issue or "none"
    return found

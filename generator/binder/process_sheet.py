"""The sheet of a process spec: its steps with limits, corrective actions and cautions, no
blanks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from generator.binder.limit_box import limit_block
from generator.binder.notice_blocks import again_words, notice_block
from generator.binder.sheets import Record, bold, sheet_record
from generator.measures.words import listed
from generator.records.approval import approval_of
from generator.sheet.cautioning import Notice
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.process_view import ProcessStep, steps_of


def process_sheets(manual: Manual, station: str, sheets: list[Sheet]) -> list[Record]:
    """A sheet for each process that ``sheets``, the station's formulas, follow."""
    used: dict[str, list[Sheet]] = {}
    for sheet in sheets:
        if sheet.formula.formula.process is not None:
            used.setdefault(sheet.formula.formula.process, []).append(sheet)
    return [_sheet(manual, station, ident, found) for ident, found in used.items()]


def _sheet(manual: Manual, station: str, ident: str, sheets: list[Sheet]) -> Record:
    house = manual.house
    process = manual.standards.processes[ident]
    names = listed([sheet.name for sheet in sheets])
    blocks: list[Record] = [{"form": "prose", "words": [bold("Followed by:"), f" {names}."]}]
    if process.note:
        blocks.append({"form": "prose", "words": process.note})
    return sheet_record(
        manual,
        "process",
        f"{station}/{ident}/process",
        process.name,
        ["Process sheet"],
        house.stations[station].name,
        approval_of(process, house.kitchen, manual.as_of),
        f"{ident}, process sheet",
        [*blocks, *_steps(sheets, steps_of(manual, process, sheets))],
    )


def _steps(sheets: list[Sheet], steps: Sequence[ProcessStep]) -> list[Record]:
    """The steps: those without a limit in rows together, each limit in a box of its own."""
    blocks: list[Record] = []
    rows: list[Record] = []

    def close() -> None:
        if rows:
            blocks.append({"form": "steps", "rows": list(rows)})
            rows.clear()

    stood: set[str] = set()
    for step in steps:
        notices = _notices(sheets, step, stood)
        how = f"{again_words(n for n in notices if not n.whole)} {_how(step)}".strip()
        limits = _limits(sheets, step, how, len(sheets) > 1)
        whole = [notice for notice in notices if notice.whole]
        if whole or limits:
            close()
        blocks += [notice_block(notice, True) for notice in whole]
        if limits:
            blocks += limits
        else:
            words = [*_head(step), f". {how}"]
            rows.append({"number": str(step.number), "words": words, "boxes": []})
    close()
    return blocks


def _notices(sheets: list[Sheet], step: ProcessStep, stood: set[str]) -> list[Notice]:
    """A step's cautions; ``stood`` are the ids of those on this sheet so far, and takes these in.

    Nothing is weighed here: what is before weighing is whole at its first step on this sheet.
    """
    found = {n.id: n for s in sheets for n in s.notices.by_step.get(step.number, ())}
    notices = [replace(n, whole=n.whole or i not in stood) for i, n in found.items()]
    stood |= set(found)
    return notices


def _head(step: ProcessStep) -> list[str | dict[str, str]]:
    words: list[str | dict[str, str]] = [bold(step.verb)]
    for what, names in (("take", step.on), ("add", step.take)):
        if names and not step.verb.casefold().endswith(f" {names.casefold()}"):
            words.append(f" · {what} the {names}")
    words += [f" · {place.words}" for place in step.place]
    for row in step.rows:
        if row.kind in ("setting", "target"):
            words += [" · target " if row.kind == "target" else " · ", bold(row.words)]
    return words


def _how(step: ProcessStep) -> str:
    sentences = [*step.how]
    sentences += [f"{row.name}: {row.words}" for row in step.rows if row.kind == "told"]
    if step.note:
        sentences.append(step.note)
    return " ".join(s if s.endswith((".", "!", "?")) else f"{s}." for s in sentences)


def _limits(sheets: list[Sheet], step: ProcessStep, said: str, reported: bool) -> list[Record]:
    """The step's limits: formulas with the same box share it, and it says whose it is."""
    boxes: list[tuple[Record, list[str]]] = []
    for sheet in sheets:
        walked = next(w for w in sheet.walk.steps if w.step.number == step.number)
        for limit in walked.limits:
            block = limit_block(sheet.house, limit, str(step.number), "", "", blank=False)
            alike = next((names for other, names in boxes if other == block), None)
            if alike is None:
                boxes.append((block, [sheet.name]))
            else:
                alike.append(sheet.name)
    found: list[Record] = []
    words, how = _head(step), said
    for block, names in boxes:
        whose = f"For {listed(list(dict.fromkeys(names)))}." if reported else ""
        found.append({**block, "words": words, "how": " ".join(w for w in (how, whose) if w)})
        words, how = [bold(step.verb)], ""
    return found

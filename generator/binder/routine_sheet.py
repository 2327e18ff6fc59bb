"""The sheet of a process spec that stands alone: what is done, what must be read, and its log.

A reading is written in one place: in the station's own log where there is one for it, else here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from generator.binder.log_forms import (
    AT,
    BY,
    CHECK,
    DAY,
    MISSED,
    Column,
    column,
    head_fields,
    log_block,
    monitoring,
)
from generator.binder.sheets import Record, Words, bold, sheet_record
from generator.records.approval import approval_of
from generator.rules.routine.checks import Checked, CheckedRoutine
from generator.sheet.manual import Manual
from generator.views.routine_view import (
    RoutineStep,
    check_name,
    routine_steps,
    routines_at,
    written_in,
)


def routine_sheets(manual: Manual, station: str, logs: Collection[str]) -> Iterator[Record]:
    """A sheet for each routine of a station; ``logs`` are the kinds of log its binder holds."""
    for routine in routines_at(manual, station):
        yield _sheet(manual, station, routine, logs)


def probes_checked(manual: Manual, station: str) -> bool:
    """Whether a routine of the station checks its thermometers, so that it needs their log."""
    return any(
        one.hazard == "probe" for routine in routines_at(manual, station) for one in routine.checks
    )


def _sheet(manual: Manual, station: str, routine: CheckedRoutine, logs: Collection[str]) -> Record:
    house, record = manual.house, routine.routine
    steps = routine_steps(manual, routine)
    elsewhere = {
        one.number: found[1]
        for one in routine.checks
        if (found := written_in(one)) is not None and found[0] in logs
    }
    blocks: list[Record] = [
        {"form": "prose", "words": words} for words in (record.about, record.note) if words
    ]
    blocks.append(_done([_row(s, elsewhere.get(s.number, "")) for s in steps]))
    limits = [row for step in steps for row in _limits(step)]
    if limits:
        blocks.append(_table(limits))
    own = [one for one in routine.checks if one.number not in elsewhere]
    blocks += _logs(manual, own, steps)
    return sheet_record(
        manual,
        "routine",
        f"{station}/{routine.id}/routine",
        record.name,
        ["Standard without a formula"],
        house.stations[station].name,
        approval_of(record, house.kitchen, manual.as_of),
        f"{routine.id}, standard without a formula",
        blocks,
    )


def _done(rows: list[list[Words | Record]]) -> Record:
    """What is done, in order; a line of it holds as many letters as a step's."""
    return {
        "form": "table",
        "rows": rows,
        "least": 8,
        "columns": [
            {"head": "", "mm": 10, "role": "weight"},
            {"head": "What is done", "share": 1},
            {"head": "", "mm": 36},
        ],
    }


def _row(step: RoutineStep, log: str) -> list[Words | Record]:
    """What is done, what if it fails, and where it is written."""
    words: list[str | dict[str, str]] = []
    if step.name:
        places = "".join(f", {name}" for _, name in step.place)
        words += [bold(f"{step.name}{places}."), " "]
    words.append(" ".join(step.how))
    if step.every:
        words.append(f" {step.every[:1].upper()}{step.every[1:]}.")
    if step.note:
        words.append(f" {step.note}")
    if log and step.missed:
        words += [" ", bold("If missed:"), f" {step.missed}"]
    if log:
        words.append(f" Write it in the {log[:1].lower()}{log[1:]}.")
    return [str(step.number), words, ""]


def _limits(step: RoutineStep) -> Iterator[list[Words | Record]]:
    for reading in step.readings:
        law = "; ".join(f"{words}, {where}" for words, where in reading.law)
        behind = f"{reading.words}." if reading.words and (reading.missed or reading.note) else ""
        note = f"{reading.note[:1].upper()}{reading.note[1:]}"
        more = " ".join(w for w in (behind or reading.words, reading.missed, note) if w)
        yield [{"words": reading.name, "under": f"{law}."}, reading.figure, more]


def _table(rows: list[list[Words | Record]]) -> Record:
    return {
        "form": "table",
        "rows": rows,
        "least": 9,
        "columns": [
            {"head": "What is read", "share": 1, "bold": True},
            {"head": "Limit: must read", "mm": 36, "role": "weight"},
            {"head": "", "mm": 72},
        ],
    }


def _logs(manual: Manual, own: list[Checked], steps: tuple[RoutineStep, ...]) -> list[Record]:
    """A log for each kind of check that is written here; where none is, one for what is done."""
    kinds = dict.fromkeys(one.check.check for one in own if one.check.check is not None)
    if not kinds:
        return [_log(manual, None, "", [_DONE], "")] if own else []
    found: list[Record] = []
    for kind in kinds:
        mine = [one for one in own if one.check.check == kind]
        if len(kinds) > 1:
            found.append({"form": "head", "words": check_name(mine[0]), "keep": True})
        missed = next(s.missed for s in steps if s.number == mine[0].number)
        found.append(_log(manual, mine[0], _first_words(kind), _columns(manual, mine), missed))
    return found


_DONE = column("All done, yes or no", 26, "reads")
_WIDTHS = {"strength": 20, "temperature": 18, "ph": 13}
_HEADS = {"Temperature": "Reads", "Wash water": "Wash", "Water": "Reads", "Food": "Reads"}


def _columns(manual: Manual, mine: list[Checked]) -> list[Column]:
    """A column for each thing that is read; those of a power cut also ask for its times."""
    unit = manual.house.kitchen.temperature
    if mine[0].check.check == "power-cut":
        return [
            column("Power off,", 18, "off", "time"),
            column(f"Reads {unit}", 16, "reads"),
            column("Kept, or", 21, "kept", "thrown away"),
        ]
    if mine[0].check.check in ("cold", "hot", "receiving"):
        return [column(f"Reads {unit}", 20, "reads")]
    found: dict[str, Column] = {}
    for reading in (r for one in mine for r in one.readings):
        if reading.quantity not in _WIDTHS:
            continue
        sign = {"ph": "", "temperature": unit}.get(reading.quantity, reading.unit)
        probe = reading.unit if mine[0].hazard == "probe" else sign
        name = "Reads" if mine[0].hazard == "probe" else _HEADS.get(reading.name, reading.name)
        head = f"{name} {probe}".strip()
        found.setdefault(head, column(head, _WIDTHS[reading.quantity], f"reads-{len(found)}"))
    return list(found.values())


def _first_words(kind: str) -> str:
    """What stands in the first wide column of a log."""
    return {
        "sanitiser": "Bucket, sink",
        "dish-machine": "Machine",
        "hot-water": "Sink",
        "power-cut": "Unit, food",
        "receiving": "Supplier, food, lot",
        "ice-point": "Thermometer no.",
        "boiling-point": "Thermometer no.",
    }.get(kind, "Food, or unit")


def _how(manual: Manual, first: Checked | None, missed: str) -> list[Words]:
    """The hazard's monitoring; how it is done stands in the step."""
    words = manual.house.library.hazards.get(first.hazard) if first is not None else None
    if words is None:
        return []
    found = [w for w in monitoring(manual.house, words) if w[0] not in _SAID]
    return [*found[:-1], [bold("If missed: "), missed], found[-1]]


_SAID = (bold("How: "), bold("If missed: "))


def _log(
    manual: Manual, first: Checked | None, what: str, columns: list[Column], missed: str
) -> Record:
    """A log to write in, with the hazard's monitoring over it."""
    house = manual.house
    wide = column(what or "What was not done", None, "food")
    example = {"date": "25 Nov", "at": "10:40", "missed": "none", "by": "MK", "check": "HO"}
    return log_block(
        figures=[],
        start="",
        small=["", ""],
        how=_how(manual, first, missed),
        fields=head_fields(house),
        columns=[DAY, AT, wide, *columns, MISSED, BY, CHECK],
        example=[example],
        least=3,
    )

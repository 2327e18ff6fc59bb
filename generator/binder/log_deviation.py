"""The deviation log: what went wrong, when, how much, where it is held, what was decided, who."""

from __future__ import annotations

from generator.binder.log_forms import Column, column, head_fields, log_block, log_sheet
from generator.binder.sheets import Record, Words, bold
from generator.sheet.manual import Manual

_COLUMNS: tuple[Column, ...] = (
    column("When: date", 18, "when", "and time"),
    column("What: food, batch no.,", None, "what", "what went wrong"),
    column("How much", 18, "much"),
    column("Held where,", 24, "held", "by"),
    column("Decision, action taken", 36, "decision"),
    column("Who", 14, "who", "decided"),
    column("Check", 13, "check"),
)
_EXAMPLE = {
    "when": "25 Nov, 16:20",
    "what": "Stock, 261125-2: 24 °C after 2 h",
    "much": "4 l",
    "held": "Walk-in, top shelf, MK",
    "decision": "Reheated once, chilled again in ice",
    "who": "HO",
    "check": "RN",
}
_LINES = 2


def deviation_log(manual: Manual, station: str) -> Record:
    """The log of a station's deviations, one entry each: the other sheets name its line.

    The action to be taken by the person in charge if a limit isn't met, and its record, are of the
    Food Code, 8-201.14.
    """
    how: list[Words] = [
        [bold("Hazard: "), "food that went wrong goes out to a guest."],
        [bold("What: "), "a limit, a weight, a label or a machine not as its sheet says."],
        [bold("How: "), "tag the food HOLD. Keep it apart until it is decided. Then write a line."],
        [bold("How often: "), "every time."],
        [bold("Who: "), "who finds it. The person in charge decides."],
        [
            bold("If missed: "),
            "no line, and you don't know what became of it? Throw it away.",
        ],
        [bold("Check: "), "the person in charge reads this log each day."],
    ]
    block = log_block(
        figures=[],
        start="",
        small=["", ""],
        how=how,
        fields=head_fields(manual.house),
        columns=[{**one, "once": True} for one in _COLUMNS],
        example=[_EXAMPLE, {}],
        lines=_LINES,
    )
    title = "Deviation log"
    return log_sheet(
        manual, station, "log-deviation", title, "What went wrong, and what was done", [block]
    )

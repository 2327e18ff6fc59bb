"""What is around a limit when a log is judged by it: cooking before, reheating and cold
after."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from generator.measures.temperature import TemperatureDifference
from generator.records.equipment import Equipment, Thermometer, thermometer_named
from generator.resolve.joined import House
from generator.review.cooling_clock import Reheating
from generator.review.readings import ReadingLog
from generator.review.verdicts import Around
from generator.rules.basics.limit import Figure, HeatingLimit, KeepingLimit, Limit, figure_of
from generator.rules.cold.holding import held_cold
from generator.rules.heat.reheating import strictest_in_general
from generator.rules.store.shelf import Shelf
from generator.sheet.sheet import Sheet
from generator.views.hottest import boiling, no_hotter


def around(house: House, subject: Sheet | Shelf, limit: Limit) -> Around:
    """What a log of ``limit`` is judged beside, by the pack in force and the formula."""
    cold = house.library.hazards["cold_hold"].longest_gap
    sheet = subject if isinstance(subject, Sheet) else None
    return Around(
        cooked=_cooked_to(sheet, limit) if sheet is not None else None,
        reheating=_reheating(house),
        cold=_held_cold(house, sheet),
        cold_gap_s=cold.seconds if cold is not None else None,
        boiling=boiling(house),
        no_hotter=no_hotter(house, sheet),
    )


def probes_off(
    house: House, equipment: Mapping[str, Equipment], log: ReadingLog
) -> dict[str, TemperatureDifference]:
    """How far the probes of a log may have been off, by their names there, where that isn't the
    accuracy of the kitchen's own: another thermometer, or one whose next check failed."""
    found: dict[str, TemperatureDifference] = {}
    for series in log.series:
        ident = thermometer_named(series.probe, equipment, house.kitchen.probe)
        item = equipment.get(ident) if ident is not None else None
        if isinstance(item, Thermometer):
            days = {reading.at.astimezone(log.zone).date() for reading in series.readings}
            off = max((item.off_on(day) for day in days), key=_celsius, default=item.accuracy)
            if item is not house.probe or off != item.accuracy:
                found[series.probe] = off
    return found


def _celsius(off: TemperatureDifference) -> Fraction:
    return off.celsius


def _cooked_to(sheet: Sheet, limit: Limit) -> Figure | None:
    """What the food was last cooked to before the step of ``limit``; None if it wasn't."""
    before = [
        lm
        for lm in sheet.walk.limits
        if lm.hazard in ("cook", "reheat") and lm.number < limit.number
    ]
    last = before[-1] if before else None
    return last.figure if isinstance(last, HeatingLimit) else None


def _held_cold(house: House, sheet: Sheet | None) -> Figure | None:
    """The figure the food is held cold at once it has cooled: its own, else the pack's."""
    stored = [lm for lm in (sheet.walk.store if sheet else ()) if lm.hazard == "cold_hold"]
    if stored and isinstance(stored[0], KeepingLimit):
        return stored[0].figure
    found = held_cold(house)
    if found is None or found[1].value is None:
        return None
    return figure_of(found[1].value, found[1].printed, "max", house.probe.accuracy)


def _reheating(house: House) -> Reheating | None:
    """The strictest general row for reheating, with the most time it may take; None without one."""
    found = strictest_in_general(house)
    if found is None:
        return None
    value, row, most = found
    gap = house.library.hazards["reheat"].longest_gap
    return Reheating(
        figure_of(value, row.printed, "min", house.probe.accuracy),
        row.hold.seconds if row.hold is not None else Fraction(0),
        most,
        gap.seconds if gap is not None else Fraction(0),
    )

"""Whose law binds: the rule pack a kitchen may choose, and what it asks of the probe."""

from __future__ import annotations

import datetime

from generator.files.finding import Finding
from generator.intake.reading import EVERYTHING
from generator.measures.temperature import Degree
from generator.measures.words import listed
from generator.records.equipment import Thermometer
from generator.reference.packs import Pack, strictest
from generator.reference.row_kinds import ProbeRow
from generator.resolve.names import Names

AIR_OR_WATER = "air-or-water"
"""The rows for thermometers that aren't put into food."""


def pack_in_force(names: Names, as_of: datetime.date) -> Pack | None:
    """The pack of the kitchen's model and edition; None, with the finding, if it can't be chosen.

    An edition that isn't held gives the strictest of those held, and a warning.
    """
    kitchen = names.standards.kitchen
    assert kitchen is not None
    code = kitchen.code
    of_model = [p for p in names.library.packs.values() if p.facts.model == code.model]
    if not of_model:
        models = {p.facts.model for p in names.library.packs.values()}
        names.unknown(
            "code-unknown", "rule pack", code.model, code.place("model"), models, EVERYTHING
        )
        return None
    exact = next((p for p in of_model if p.facts.edition == code.edition), None)
    if exact is None:
        _edition_not_held(names, of_model)
    pack = exact or strictest(of_model)
    if not _may_choose(names, pack, as_of):
        return None
    if exact is not None:
        _superseded(names, exact)
    return pack


def _edition_not_held(names: Names, of_model: list[Pack]) -> None:
    """The warning that the kitchen's edition isn't held, and whose limits are shown instead."""
    kitchen = names.standards.kitchen
    assert kitchen is not None
    held = sorted(p.facts.edition for p in of_model)
    shown = f"of {held[0]}" if len(held) == 1 else f"the strictest of {listed(held)}"
    names.findings.append(
        Finding(
            "edition-not-held",
            "warning",
            f"There is no pack of edition {kitchen.code.edition} here. The limits shown are "
            f"{shown}.",
            kitchen.code.place("edition"),
            "Ask your authority which edition applies, and enter it.",
            about=frozenset({EVERYTHING}),
        )
    )


def _superseded(names: Names, pack: Pack) -> None:
    kitchen = names.standards.kitchen
    if kitchen is not None and pack.facts.superseded_by:
        names.findings.append(
            Finding(
                "code-superseded",
                "warning",
                f"{pack.facts.name}: the edition here was replaced by {pack.facts.superseded_by}.",
                kitchen.code.place("edition"),
                "Work by the newer text. Have your process reviewed.",
                about=frozenset({EVERYTHING}),
            )
        )


def _may_choose(names: Names, pack: Pack, as_of: datetime.date) -> bool:
    """Whether the kitchen's operation, or a variance in force, lets it choose the pack."""
    kitchen, facts = names.standards.kitchen, pack.facts
    assert kitchen is not None
    if facts.only_for is None or kitchen.operation == facts.only_for:
        return True
    if any(a.for_ == facts.variance and a.in_force(as_of) for a in kitchen.authorisations):
        return True
    where = facts.only_for.replace("-", " ")
    help = f"Is it one? Write `operation: {facts.only_for}`. If not, choose the code adopted here."
    if facts.variance is not None:
        help += f" Record a variance on file under `authorisations`, `for: {facts.variance}`."
    names.error(
        "code-not-for-here",
        kitchen.code.place("model"),
        f"{facts.name} is for an {where}. This kitchen is "
        f"{kitchen.operation.replace('-', ' ')}. No variance for it is in force.",
        help,
        EVERYTHING,
    )
    return False


def check_probe(names: Names, pack: Pack, probe: Thermometer) -> None:
    """Hold the probe's accuracy to the pack's row for its scale (Food Code 4-203.11).

    A probe that reads °C, alone or beside °F, goes by the °C row. A pack without a row asks
    nothing: the accuracy stated still widens every set-point.
    """
    if probe.measures != "food":
        names.error(
            "probe-not-for-food",
            probe.place("measures"),
            f"{probe.name} is for {probe.measures}. The kitchen's probe goes into food.",
            "Name a food thermometer under `probe`, or delete `measures`.",
            EVERYTHING,
        )
    row = _too_far_off(pack, probe, "food")
    if row is not None:
        names.error(
            "probe-too-inaccurate",
            probe.place("accuracy"),
            f"{probe.name} may be off by {probe.accuracy}. The most for {row.food} is {row.off}.",
            f"Use a probe that reads to ±{row.off}. Or have this one adjusted, and enter its new "
            "accuracy.",
            EVERYTHING,
        )


def check_thermometers(names: Names, pack: Pack, probe: Thermometer) -> None:
    """Hold the other thermometers to the rows for what they measure: 4-203.11 food, 4-203.12 air
    and water. No limit counts with them, so this only warns."""
    for ident, other in names.standards.equipment.items():
        if not isinstance(other, Thermometer) or other is probe:
            continue
        row = _too_far_off(pack, other, other.measures)
        if row is not None:
            names.findings.append(
                Finding(
                    "thermometer-too-inaccurate",
                    "warning",
                    f"{other.name} may be off by {other.accuracy}. The most for "
                    f"{row.food} is {row.off}.",
                    other.place("accuracy"),
                    f"Use one that reads to ±{row.off}. Or have it adjusted, and enter its new "
                    "accuracy."
                    + (
                        ""
                        if other.measures != "food"
                        else " Is it for air or water? Write that under `measures`."
                    ),
                    source=f"{pack.facts.document}, {row.clause}",
                    about=frozenset({ident}),
                )
            )


def _too_far_off(pack: Pack, thermometer: Thermometer, measures: str) -> ProbeRow | None:
    """The row for a thermometer's scale and use that its accuracy doesn't meet, or None."""
    scale: Degree = "°C" if "°C" in thermometer.reads else "°F"
    applies = None if measures == "food" else AIR_OR_WATER
    for _, row in pack.rows_of(ProbeRow):
        if row.scale == scale and row.applies == applies and row.off is not None:
            return row if thermometer.accuracy.celsius > row.off.celsius else None
    return None

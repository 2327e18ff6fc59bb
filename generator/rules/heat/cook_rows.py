"""The rows a cooking step may go by: those of its group on this probe, and what a target makes of
them.

Food Code 3-401.11: between rows one steps down to the next listed lower temperature and its longer
hold. Nothing is interpolated.
"""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.marks import as_written
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW, listed, plain
from generator.reference.row_kinds import CookRow
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import StepContext, both, hold_words
from generator.rules.basics.limit import Option, figure_of
from generator.rules.heat.to_order import TO_ORDER


def options_of(context: StepContext, group: str) -> tuple[Option, ...]:
    """The rows a group may use, coldest first; at one temperature the longest hold. Eggs broken to
    order, and nothing else, have a row of their own."""
    house, to_order = context.house, _eggs_to_order(context)
    key = "options", group, to_order
    return house.once(key, house.pack, lambda: _options(house, group, to_order))


def _options(house: House, group: str, to_order: bool) -> tuple[Option, ...]:
    best: dict[Fraction, Option] = {}
    for ident, row in _rows_of(house, group, to_order):
        figure = figure_of(row.value, row.printed, "min", house.probe.accuracy)
        hold = row.hold.seconds if row.hold else None
        option = Option(ident, figure, hold, row.clause, group)
        kept = best.get(row.value.celsius)
        if kept is None or (hold or 0) > (kept.hold_s or 0):
            best[row.value.celsius] = option
    return tuple(best[key] for key in sorted(best))


def _rows_of(house: House, group: str, eggs: bool) -> list[tuple[str, CookRow]]:
    """The rows of a group's members that ask for a temperature: those of eggs broken to order for
    these, where there are any, else all others."""
    to_order: list[tuple[str, CookRow]] = []
    others: list[tuple[str, CookRow]] = []
    for member in house.pack.members(group):
        for ident, row in house.pack.cook_rows(member):
            if row.bound == "min":
                (to_order if row.applies == TO_ORDER else others).append((ident, row))
    return to_order if to_order and eggs else others


def _eggs_to_order(context: StepContext) -> bool:
    """Whether all that is raw of an animal here are eggs broken to order, and the rows are the
    code's."""
    raw = context.before.raw_animals
    return bool(raw) and all(c.to_order for c in raw) and "cook" not in context.house.pack.ours


def reached(options: tuple[Option, ...], at: Temperature) -> Option | None:
    """The listed row with the highest temperature not above ``at``."""
    fitting = [o for o in options if o.figure.value <= at]
    return fitting[-1] if fitting else None


def assess(
    options: tuple[Option, ...],
    target: Temperature,
    hold: Fraction | None,
    accuracy_c: Fraction,
    lasts: Fraction | None = None,
) -> tuple[Option | None, bool]:
    """The row a target goes by, and whether it is clear of the probe's error.

    A target without a ``hold`` (s) is held as long as the row asks, unless the whole step ``lasts``
    (s) shorter than that.

    Returns (row, True) if the row is met even by a probe reading high by its accuracy,
    (row, False) if it is met only by a true reading, (None, False) if it isn't met at all.
    """
    sure = reached(options, Temperature(target.celsius - accuracy_c, target.unit))
    bare = reached(options, target)
    most = hold if hold is not None else lasts
    if sure is not None and (most is None or most >= (sure.hold_s or 0)):
        return sure, True
    if bare is not None and (most is None or most >= (bare.hold_s or 0)):
        return bare, False
    return None, False


def in_all(step: JoinedStep) -> str:
    """For a target that states no time: how long the whole step is, as words behind it."""
    if step.step.time is None or (step.target and step.target.hold):
        return ""
    return f" in a step of {step.step.time}"


def fix(context: StepContext, option: Option) -> str:
    """A target that meets a row on this probe, as a chef types it."""
    return context.as_typed("core", option.figure.read_at(context.unit), option.hold_s)


def within_probe_error(context: StepContext, option: Option, words: str) -> Finding:
    """The warning of a target that only a true reading meets."""
    help = (
        f"The probe may be off by {context.accuracy}. The page requires "
        f"{context.degrees(option.figure.read_at(context.unit))}."
    )
    target = fix(context, option)
    help = f"{help} {context.hotter(target)}".strip()
    fixes = context.fixed(target)
    return context.finding("target-within-probe-error", "warning", words, help, fixes)


def row_words(option: Option) -> str:
    figure = option.figure
    words = both(figure.value, figure.shown_c, figure.shown_f)
    return f"{words}{hold_words(option.hold_s)}"


def basis_of(
    context: StepContext,
    row: CookRow,
    option: Option,
    names: tuple[str, ...],
    read: Fraction,
    target: Temperature | None,
    words: str,
) -> Basis:
    figure, other = option.figure, context.unit
    exact = figure.value.in_unit(other)
    inputs: list[tuple[str, str]] = [("In it", f"{listed(list(names))}: {words}")]
    if other != figure.value.unit:
        first = f"{figure.value} is {plain(exact, 2)}{NARROW}{other}"
        inputs.append((f"In {other}", f"{first}; shown {plain(figure.shown(other))}, rounded up"))
    inputs.append(
        (
            "Probe",
            f"reads to ±{context.accuracy}, so it must show "
            f"{context.degrees(figure.read_at(other))}",
        )
    )
    if read > figure.read_at(other):
        inputs.append(("Target", f"the chef's target is {target}, which is more"))
    pack, asked = context.house.pack, context.formula.formula.lethality
    group = pack.groups.get(option.group)
    if asked and group is not None and group.lethality == asked:
        inputs.append(("Table", f"{as_written(asked)}, by the formula"))
    bound = pack.rows.get(group.asks_row or "") if group is not None else None
    if bound is not None:
        inputs.append((bound.hazard.capitalize(), context.source(bound).words))
    rule = f"{row.food}: {row_words(option)}"
    if len(options_of(context, option.group)) == 1:
        rule += "; no other row may replace it"
    return Basis(tuple(inputs), rule, context.source(row).words)

"""Fish that comes frozen and packed without air: out of its pack before it thaws, or as soon as it
has.

Closed in, thawed and not cold enough, the germ of botulism grows and makes its poison before the
fish smells bad. Where one of the two isn't stated, frozen or without air, or neither is, it counts
as so until it is denied. Food Code 3-501.13(E), read in Wisconsin 3-501.13 and Washington WAC
246-215-03510(5): fish whose label says that it is kept frozen until it is used. Nobody states that
label here, so every fish packed without air counts as bearing it.
"""

from __future__ import annotations

import re

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.reference.row_kinds import ReducedOxygenRow, ThawRow
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.context import NOTHING, Outcome, StepContext, cited
from generator.rules.basics.no_figure import in_words
from generator.rules.basics.product import RAW_STATES, Component, Product
from generator.rules.cold.thawing import in_running_water
from generator.rules.heat.parasites import is_fish

_HOW = "opened-package"
_ALIVE = re.compile(r"\b(?:live|alive)\b")
"""A name that says it comes alive: nothing alive comes frozen, or without air."""
_CHILLED = "`arrives: cold` or `without_air: no`"


def packed_fish(context: StepContext) -> Outcome:
    """When the pack is opened: at the step that thaws the fish, or where none does, at the one that
    takes it in."""
    fish = _fish(context)
    if not fish or "packs-without-air" in context.step.effects:
        return NOTHING
    if "thaws" in context.step.effects:
        row = _row(context, "running-water" if in_running_water(context.step) else "refrigerator")
        return Outcome((in_words(context, row, "thaw-pack", _names(fish)),)) if row else NOTHING
    new = tuple(c for c in fish if c.part in context.step.parts)
    row = _row(context, "refrigerator")  # opened first: the stricter of the two
    if not new or row is None or _thaws_or_stays_frozen(context):
        return NOTHING
    return Outcome(
        (in_words(context, row, "thaw-pack", _names(new)),), (_no_thawing(context, new, row),)
    )


def _fish(context: StepContext) -> tuple[Component, ...]:
    """The fish that comes packed without air, or may."""
    fish = [c for c in context.before.components if is_fish(context.house, c)]
    unsaid = _nothing_said(context) if fish else frozenset()
    return tuple(c for c in fish if c.no_air is not False or c.item in unsaid)


def _thaws_or_stays_frozen(context: StepContext) -> bool:
    """Whether a step from this one on thaws it, or all of them keep it frozen."""
    later = context.formula.since(context.step.number)
    return any("thaws" in s.effects for s in later) or _stays_frozen(later)


def _no_thawing(context: StepContext, fish: tuple[Component, ...], row: ThawRow) -> Finding:
    """The question how fish that is taken in frozen, or may be, thaws."""
    names = _names(fish)
    are, may, thaw = (
        ("comes", "may come", "it thaws") if len(names) == 1 else ("come", "may come", "they thaw")
    )
    known = all(c.no_air for c in fish)
    return context.finding(
        "packed-fish-not-thawed",
        "warning",
        f"{listed(list(names))} {are if known else may} frozen and packed without air. No step "
        f"says how {thaw}.",
        "Add `do: thaw` before it is used, `in` a refrigerator or in running water. Is it cooked "
        "from frozen? Write `does: thaws` at the step that cooks it."
        + ("" if known else f" Does it come another way? Write {_CHILLED} in its ingredient."),
        place=context.step.step.place("do"),
        source=cited(context.house, row),
    )


def stays_in_its_pack(house: House, formula: JoinedFormula, product: Product) -> bool:
    """Whether what is finished is fish in a pack without air, which is kept frozen and nothing else
    (3-502.12(C)), whatever its formula says of it: it was packed here, and no later step heats or
    thaws it."""
    if house.pack.row_for(ReducedOxygenRow, "fish-frozen") is None:
        return False
    packed = max((s.number for s in formula.steps if "packs-without-air" in s.effects), default=0)
    later = formula.after(packed)
    opened = any(s.effects & {"thaws", "cooks", "reheats", "holds-hot"} for s in later)
    fish = any(is_fish(house, c) for c in product.components)
    return bool(packed) and fish and not opened


def _nothing_said(context: StepContext) -> frozenset[str]:
    """The ingredients that say neither how they arrive nor whether they come without air, and are
    raw: fish may come frozen in such a pack, if nothing in the formula freezes it."""
    if any("freezes" in s.effects for s in context.formula.steps):
        return frozenset()
    return frozenset(
        line.item
        for line in context.formula.lines
        if (facts := line.ingredient) is not None
        and facts.arrives is None
        and facts.without_air is None
        and facts.state in RAW_STATES
        and not _ALIVE.search(" ".join((line.name, *facts.other_names)).lower())
    )


def _names(fish: tuple[Component, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(c.name for c in fish))


def _row(context: StepContext, way: str) -> ThawRow | None:
    rows = context.house.pack.rows_of(ThawRow)
    return next((r for _, r in rows if r.how == _HOW and r.applies == way), None)


def _stays_frozen(steps: tuple[JoinedStep, ...]) -> bool:
    """Whether what is left of the work keeps it frozen: in freezers alone, and on no heat."""
    places = [s.cold for s in steps if s.cold is not None]
    heated = any(s.effects & {"cooks", "reheats", "holds-hot"} for s in steps)
    return bool(places) and not heated and all(p.kind == "freezer" for p in places)

"""Food that its acid keeps, added or grown in it, whatever the verb it was soured with.

Food Code 3-502.11(C): vinegar as a way of preserving food, or of making it need no temperature
control, asks for a variance, which has the pH. Kept cold and for no longer than a date mark allows,
sour food is food like any other and asks nothing more. How long salted or wet plant food has to
stand out of the cold to count as fermented is a working rule of this manual.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding, Severity
from generator.measures.words import counted, listed, plain, verb_for, with_verb
from generator.records.effects import HEATS, HELD
from generator.records.kept import NotTcs
from generator.reference.row_kinds import AcidityRow, DateRow
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import (
    DAY_S,
    EndContext,
    EndOutcome,
    authorisation_problem,
    cited,
)
from generator.rules.basics.crushing import crushes
from generator.rules.basics.product import RAW_STATES, Component
from generator.rules.basics.spirits import in_spirits
from generator.rules.basics.without_cold import baked_dry, full_of_sugar, is_water
from generator.rules.cold.cultures import cultures_in, sugar_water
from generator.rules.cold.holding import held_cold
from generator.rules.cold.never_chilled import PLANS
from generator.rules.cold.wetted import as_dry_as_seeds, watery
from generator.rules.cures.acidity import dry_enough
from generator.rules.store.out_of_the_cold import found_moist, in_the_cold, kept_out

SOURS_AFTER = DAY_S
"""How long plant food with salt or water in it stands out of the cold before it counts as
fermented."""


def kept_sour(context: EndContext) -> EndOutcome:
    """An error where an acid keeps food out of the cold, or in it for longer than a date mark
    allows, and nothing asks for its pH."""
    found = context.house.pack.row_for(AcidityRow, "keeping")
    if found is None or context.tcs or _acidified(context) or not _perishable(context):
        return EndOutcome()
    formula, beyond = context.formula.formula, _beyond(context)
    sour = _sour_by(context) if beyond and not dry_by_document(context) else ""
    if not sour:
        return EndOutcome()
    dried = _what_keeps(context) == "drying"
    finding = Finding(
        "kept-by-drying" if dried else "kept-by-acid",
        "error",
        f"{with_verb(formula.name, 'is')} kept {beyond} by {_what_keeps(context)}: {sour}. "
        f"{_not_shown(context)}",
        formula.key_place("keeps" if formula.keeps is not None else "name"),
        f"{_ways(context)}{_in_time(context)}",
        source="" if dried else cited(context.house, found[1]),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


_CUT = frozenset({"cuts", "slices", "takes-off", "drains"})
_DRY_BY_NAME = re.compile(
    r"\b(?:\w+-)?(?:dried|dehydrated|candied|powder|granules|flakes|crisps)\b"
)
_DRIED_TO = Fraction(1, 2)
"""What food weighs at most of its weight before, once a step dried it."""


def kept_moist(context: EndContext) -> EndOutcome:
    """Raw fruit and vegetables kept out of the cold, and nothing shows what keeps them: an error
    once they were pressed or ground, as juice and pastes are, a warning where they were only cut.

    Food Code 1-201.10, "Time/temperature control for safety food": food whose acid and water
    activity aren't known to keep it needs a product assessment, table B. English law keeps any food
    in which germs are likely to grow at 8 °C or below.
    """
    food = [c for c in context.product.components if moist_plant(c)]
    kept = kept_out(context, food) if food and _may_spoil(context) else None
    if kept is None:
        return EndOutcome()
    ground, cut = _open_food(context, food)
    asked = ground or ([] if kept.unsaid else cut)
    if not asked or kept_sour(context).findings:
        return EndOutcome()
    done = "pressed or ground" if ground else "cut"
    inside = f"with {listed(list(dict.fromkeys(asked)))} in it, raw and {done}"
    words = f"{kept.said(inside)} Nothing shows that it keeps."
    return found_moist(context, kept, "error" if ground else "warning", words, _cold(context))


def _cold(context: EndContext) -> str:
    """The law on holding food cold, as it is cited."""
    cold = held_cold(context.house)
    return cited(context.house, cold[1]) if cold is not None else ""


def kept_thin(context: EndContext) -> EndOutcome:
    """Liquid that ferments where it is kept out of the cold, whether or not a step says how long it
    stood: an error with a culture in it, a warning of sugar and water alone."""
    product = context.product
    kept = kept_out(context, list(product.components)) if _open_liquid(context) else None
    if kept is None:
        return EndOutcome()
    cultures = cultures_in(product)
    thin = sugar_water(product, context.house) and kept.beyond_a_day and not kept.unsaid
    if not (cultures or thin):
        return EndOutcome()
    why = "It is water, with too little sugar to keep it."
    if cultures:
        why = f"{listed(list(cultures))} in it {verb_for(cultures, 'makes')} it ferment."
    severity: Severity = "error" if cultures else "warning"
    return found_moist(context, kept, severity, f"{kept.said()} {why}", _cold(context))


def _open_liquid(context: EndContext) -> bool:
    """Whether it is watery, and nothing asks for its pH, its paper or the cold."""
    stated = context.formula.formula.not_tcs
    proven = stated is not None and bool(stated.document)
    if proven or context.product.tcs or _acidified(context):
        return False
    return watery(context.product, context.house)


def _may_spoil(context: EndContext) -> bool:
    """Whether nothing asks for its pH, its dryness or the cold, and moist food is in it."""
    stated = context.formula.formula.not_tcs
    proven = stated is not None and bool(stated.document)
    if proven or context.product.tcs or _acidified(context) or _dried_here(context):
        return False
    return _perishable(context)


def _open_food(context: EndContext, food: list[Component]) -> tuple[list[str], list[str]]:
    """Of raw, moist plant ``food`` what a step presses or grinds, and what is only cut, there, in a
    formula made ahead, or before it was weighed."""
    done = opened_in(context.house, context.formula.steps)
    how = [(c.name, {c.opened, done.get(c.part, "")}, c.cut) for c in food]
    ground = [name for name, ways, _ in how if "ground" in ways]
    return ground, [name for name, ways, cut in how if cut or "cut" in ways]


def opened_in(
    house: House, steps: tuple[JoinedStep, ...]
) -> dict[str, Literal["", "cut", "ground"]]:
    """What steps do to the skin of what is in each part: the most of it."""
    inside: set[str] = set()
    found: dict[str, Literal["", "cut", "ground"]] = {}
    for step in steps:
        inside |= set(step.parts)
        if _grinds(step):
            found.update(dict.fromkeys(inside, "ground"))
        elif _cuts(house, step):
            found.update({part: "cut" for part in inside if found.get(part) != "ground"})
    return found


def _grinds(step: JoinedStep) -> bool:
    words = (step.verb, *step.step.how)
    return "comminutes" in step.effects or crushes(words)


def _cuts(house: House, step: JoinedStep) -> bool:
    return bool(step.effects & _CUT) or any(map(house.library.known_names.cuts, step.step.how))


def moist_plant(part: Component) -> bool:
    """Whether a part is moist plant food in a skin that keeps it."""
    plant = _spoils(part) and not part.raw_animal and not part.flour
    return plant and not as_dry_as_seeds(part) and not _DRY_BY_NAME.search(part.name.casefold())


def _dried_here(context: EndContext) -> bool:
    """Whether a step dries it to half its weight or less."""
    steps = (s for s in context.formula.steps if "dries" in s.effects)
    return any(s.yields is not None and s.yields.mean <= _DRIED_TO for s in steps)


def dry_by_document(context: EndContext) -> bool:
    """Whether a document has a water activity at which the code asks for no pH at all, of food that
    is not packed hot: 1-201.10(B), table B."""
    stated = context.formula.formula.not_tcs
    if stated is None or not stated.document or not stated.water_activity:
        return False
    return any(
        row.applies == "not-packed"
        and row.most is None
        and row.below is None
        and dry_enough(row, stated.water_activity)
        for _, row in context.house.pack.rows_of(AcidityRow)
    )


_SAID = re.compile(r"\b(?:water activity|a_?w)\b\D{0,12}((?:0|1)?[.,]\d+)", re.IGNORECASE)
"""A water activity in the words of a reason."""


def too_moist(context: EndContext) -> EndOutcome:
    """An error where the paper on file has a water activity at which the code lets no food be kept
    out of the cold by that alone: 1-201.10(B), tables A and B."""
    formula, product = context.formula.formula, context.product
    figure = _water_activity(formula.not_tcs) if formula.not_tcs is not None else None
    rows = _dry_by_any_ph(context)
    if figure is None or not rows or not (product.tcs or product.raw_animals):
        return EndOutcome()
    if any(dry_enough(row, figure) for row in rows):
        return EndOutcome()
    asked = listed([_dryness(row) for row in rows], "or")
    finding = Finding(
        "not-dry-enough",
        "error",
        f"{with_verb(formula.name, 'says')} it needs no temperature control at a water activity of "
        f"{plain(figure)}. By that alone the code asks for {asked}.",
        formula.key_place("not_tcs"),
        "Delete `not_tcs`. Is its pH low too? Write it under `acidified`. Does a study of this "
        "food itself show that it is safe? Name that paper alone: `not_tcs: {reason: …, "
        "document: …}`.",
        source=cited(context.house, rows[-1]),
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def _water_activity(stated: NotTcs) -> Fraction | None:
    """The water activity a formula states: by its key, else in the words of its reason."""
    if stated.water_activity is not None:
        return stated.water_activity
    said = _SAID.search(f"{stated.reason} {stated.document}")
    return Fraction(said[1].replace(",", ".")) if said is not None else None


def _dry_by_any_ph(context: EndContext) -> list[AcidityRow]:
    """The rows of the code's tables that ask for no pH, of the tables that are for this food."""
    packed = context.product.cooked and _packed_hot(context)
    tables = ("heated-then-packed", "not-packed") if packed else ("not-packed",)
    rows = (row for _, row in context.house.pack.rows_of(AcidityRow) if row.applies in tables)
    return [row for row in rows if row.most is None and row.below is None]


def _dryness(row: AcidityRow) -> str:
    """The water activity a row asks for, in words."""
    if row.aw_most is not None:
        return f"{plain(row.aw_most)} at most, packed hot"
    return f"below {plain(row.aw_below)}" if row.aw_below is not None else "none"


def _packed_hot(context: EndContext) -> bool:
    """Whether it is closed in its pack behind the last step that cooks it."""
    steps = context.formula.steps
    heated = max((s.number for s in steps if "cooks" in s.effects), default=0)
    packs = {"packs", "packs-without-air"}
    return bool(heated) and any(s.effects & packs for s in context.formula.after(heated))


def _dried_at(context: EndContext) -> list[JoinedStep]:
    return [s for s in _fermenting(context) if "dries" in s.effects]


def _what_keeps(context: EndContext) -> str:
    """Its acid, or its drying where nothing sours it."""
    sours = any(c.acid for c in context.product.components)
    dried = _dried_at(context)
    return "drying" if not sours and dried == list(_fermenting(context)) else "its acid"


def _not_shown(context: EndContext) -> str:
    """What is missing, in words."""
    stated = context.formula.formula.not_tcs
    if stated is not None and stated.water_activity is not None:
        water = plain(stated.water_activity)
        if not stated.document:
            return f"No document has its water activity, {water}."
        return f"At a water activity of {water} the code asks for a pH too."
    return "Nothing asks for its " + (
        "water activity." if _what_keeps(context) == "drying" else "pH."
    )


def _in_time(context: EndContext) -> str:
    """How long it may be kept cold instead, what the steps themselves keep it taken off."""
    days = _days_by_law(context.house)
    if days is None:
        return ""
    gone = int(_on_the_way(context) // DAY_S)
    if not gone:
        return f" Or keep it cold, for {counted(days, 'day')} at most."
    if gone >= days:
        return (
            f" The steps alone keep it {counted(gone, 'day')}. {counted(days, 'day')} is the most."
        )
    left = counted(days - gone, "day")
    return (
        f" Or keep it cold, for {left} at most: `keeps: {{cold: {left}}}`. "
        f"Its steps take {gone} of the {counted(days, 'day')}."
    )


def _for_fermenting(context: EndContext) -> str:
    """How a chef says that it ferments by a plan, which has the pH."""
    steps = [s for s in _fermenting(context) if "dries" not in s.effects]
    if not steps:
        return ""
    unsaid = [f"step {s.number}" for s in steps if "ferments" not in s.effects]
    does = f"`does: ferments` at {listed(unsaid)}, and " if unsaid else ""
    return (
        f"Does it ferment? Write {does}the variance under `authorisations` in kitchen.yaml, `for: "
        "ferment`. "
    )


_BY_DRYNESS = (
    "Is it so dry that no acid has to keep it? Write the document and the figure in it: `not_tcs: "
    "{reason: …, document: …, water_activity: …}`."
)
_BY_A_PLAN = "Or write the variance for drying under `authorisations` in kitchen.yaml, `for: dry`."


def _ways(context: EndContext) -> str:
    """What to write, by what keeps the food: the likeliest first."""
    if _what_keeps(context) == "drying":
        return f"{_BY_DRYNESS} {_BY_A_PLAN}"
    dried = context.formula.formula.not_tcs is not None or bool(_dried_at(context))
    ways = f"{_for_fermenting(context)}{ACIDIFY}"
    return f"{_BY_DRYNESS} {ways}" if dried else ways


def _acidified(context: EndContext) -> bool:
    """Whether a step acidifies it: what is wrong with that is said there."""
    return any("acidifies" in step.effects for step in context.formula.steps)


ACIDIFY = (
    "Does an acid keep it? Write `does: acidifies` at the step where it gets sour, `acidified: "
    "{ph: …, meter: …, record: …}` in the formula, and the variance under `authorisations` in "
    "kitchen.yaml, `for: acidify`."
)
"""How a chef says that an acid keeps food."""


def asked_of_sour(context: EndContext) -> str:
    """The same, to be put behind the fix of food that needs the cold and is sour; empty if it isn't
    (drying keeps it), or the law in force knows no acidified food."""
    if context.house.pack.row_for(AcidityRow, "keeping") is None or _acidified(context):
        return ""
    sour = _sour_by(context) and _what_keeps(context) != "drying"
    return f" {ACIDIFY}" if sour else ""


def _perishable(context: EndContext) -> bool:
    """Whether something moist is in it that would spoil, and it isn't baked dry, full of sugar
    or in spirits."""
    parts = context.product.components
    if in_spirits(context.product) and not any(c.tcs or c.raw_animal for c in parts):
        return False
    return (
        any(_spoils(c) for c in parts)
        and not baked_dry(context)
        and not full_of_sugar(context.product)
    )


def _spoils(part: Component) -> bool:
    """Whether a part is moist food, raw when it came or in need of the cold."""
    moist = part.form != "dry" and not (part.boils or part.dried or part.acid or part.function)
    return moist and (part.state in RAW_STATES or part.tcs)


def _beyond(context: EndContext) -> str:
    """How the food is kept beyond what cold and a date mark would allow, in words; empty if it is
    not, or nothing of it is kept here."""
    keeps = context.formula.formula.keeps
    if not context.fate.kept or (keeps is None and context.formula.used_in):
        return ""
    if keeps is not None and keeps.dry is not None:
        return "out of the cold"
    if keeps is None or keeps.cold is None:
        return "" if context.product.frozen else "for a time nobody says"
    days = _days_by_law(context.house)
    if days is None or keeps.cold.seconds + _on_the_way(context) <= days * DAY_S:
        return ""
    return f"longer than {counted(days, 'day')}"


def days_row(house: House) -> DateRow | None:
    """The row of the days ready-to-eat food has from the day it is made; None where the law sets
    none."""
    rows = house.pack.rows_of(DateRow)
    return next((r for _, r in rows if r.days is not None and r.day_one == "preparation"), None)


def _days_by_law(house: House) -> int | None:
    row = days_row(house)
    return row.days if row is not None else None


def _on_the_way(context: EndContext) -> Fraction:
    """The whole days the steps themselves keep it, from the first that begins with a part that
    spoils: what `keeps` says is counted behind them."""
    spoiling = {c.part for c in context.product.components if _spoils(c)}
    steps = context.formula.steps
    first = next((s.number for s in steps if spoiling & set(s.parts)), 1)
    times = (s.step.time for s in steps if s.number >= first)
    total = sum((time.longest for time in times if time is not None), Fraction(0))
    return total // DAY_S * DAY_S


def _sour_by(context: EndContext) -> str:
    """What sours it, in words: an acid that was put to it, or the time it stood to ferment. A plan
    on file for fermenting or drying has the pH or the water activity."""
    if any(_by_plan(context.house, s) for s in context.formula.steps):
        return ""
    acids = [c.name for c in context.product.components if c.acid]
    names = [*acids, *(f"step {s.number}, {s.verb.lower()}" for s in _fermenting(context))]
    return listed(list(dict.fromkeys(names)))


def _by_plan(house: House, step: JoinedStep) -> bool:
    """Whether a step ferments or dries by a plan that is in force."""
    plans = {plan for effect, plan in PLANS.items() if effect in step.effects}
    return any(not authorisation_problem(house, plan, "none", "") for plan in plans)


def _fermenting(context: EndContext) -> Iterator[JoinedStep]:
    """The steps in which plant food with salt or water in it stands warm for so long that it
    ferments, or that say that they ferment it."""
    inside: set[str] = set()
    for step in context.formula.steps:
        inside |= set(step.parts)
        parts = [c for c in context.product.components if c.part in inside]
        if _ferments(context, step, parts):
            yield step


def _ferments(context: EndContext, step: JoinedStep, parts: list[Component]) -> bool:
    if not any(_spoils(c) for c in parts):
        return False
    if "ferments" in step.effects:
        return True
    time = step.step.time
    stands = (time is not None and time.longest >= SOURS_AFTER) or "dries" in step.effects
    stands = stands and not step.effects & (HEATS | HELD)
    wet = any(c.function == "salt" or is_water(context.house, c) for c in parts)
    return stands and wet and not in_the_cold(context.house, step)

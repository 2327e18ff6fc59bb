"""Facts that can't be: water or wet food hotter than water boils at the kitchen's altitude, a core
hotter than its oven, a chill that freezes, °C for °F, freezing above 0 °C, meat that is said to
need no cold.

No limits: these are bounds of what is possible, each with the same figure in the other scale where
that would make sense. Warnings, but for freezing: a freezer that doesn't freeze would stop the
count of days while germs grow.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.amounts import Amount
from generator.measures.rounding import half_up, to_side, total
from generator.measures.temperature import Temperature, TemperatureDifference
from generator.measures.words import NARROW, breakable, duration, plain
from generator.records.effects import HEATS
from generator.records.equipment import Cold
from generator.resolve.joined import JoinedLine
from generator.rules.basics.check_points import boiling_point
from generator.rules.basics.context import NOTHING, EndContext, EndOutcome, Outcome, StepContext
from generator.rules.basics.product import Component
from generator.rules.basics.usual import far_above, share_of_usual, usual_of

BOILING = Temperature.of(100, "°C")
FROZEN = Temperature.of(-5, "°C")
"""Well below where food begins to freeze, so that a chill to just under 0 °C is not asked about."""
COLD = Temperature.of(10, "°C")
"""Below it no rack and no draught brings food."""
WATER_FREEZES = Temperature.of(0, "°C")
HOTTEST_OVEN = Temperature.of(550, "°C")
"""Above what any oven or grill is kept at, wood fire and all."""
HOTTEST_FAN = Temperature.of(315, "°C")
HOTTEST_OIL = Temperature.of(230, "°C")
"""The same of an oven with a fan or steam, and of oil, which smokes and burns: figures of ours,
which only ask. 350 typed with the wrong scale is above both."""
WEATHER = TemperatureDifference(Fraction(10, 9), "°F")
"""Weather moves the boiling point by a degree or two Fahrenheit (shared/check-points.yaml)."""
LEAST_COOKED = Temperature.of(130, "°F")
"""The coolest any food is cooked to (Food Code 3-401.11(B)): nothing cooler is offered for a
cook."""
SYRUP = Fraction(3, 10)
"""The share of sugar from which boiling leaves a syrup: jam, caramel, a glaze."""
SYRUP_HOTTER = TemperatureDifference(Fraction(25), "°C")
"""How much hotter than water a syrup of nine tenths sugar boils: a working rule."""
DRY = Fraction(1, 10)
"""Food with less water than this isn't wet: toasted nuts and spices get hotter than boiling
water."""


def plausible(context: StepContext) -> Outcome:
    """Ask about a temperature that can't be meant as it is written."""
    found = [
        *_of_target(context),
        *_of_what_is_set(context),
        *_of_cold_place(context),
        *_frozen_too_long(context),
    ]
    return Outcome((), tuple(found)) if found else NOTHING


def _of_target(context: StepContext) -> Iterator[Finding]:
    """A target that wet food can't get to, that freezes what is only cooled, or that is cold where
    nothing cools."""
    step, target = context.step, context.step.target
    if target is None or target.coolest is None or target.warmest is None:
        return
    coolest, warmest, place = target.coolest, target.warmest, context.target_place()
    of_food = target.kind in ("core", "to", "at")
    if of_food and _too_hot_for_water(context, warmest):
        words = (
            f"{step.verb}: {target.text} is hotter than boiling water, {_boils(context)}. Wet "
            "food doesn't get that hot."
        )
        yield _ask(context, words, warmest, target.text, place)
    elif context.cools and "freezes" not in step.effects and coolest < FROZEN:
        words = f"{step.verb}: {target.text} freezes it."
        yield _ask(context, words, coolest, target.text, place)
    if target.kind == "to" and coolest < COLD and not _may_be_cold(context):
        yield _only_chilling(context, target.text)


def _of_what_is_set(context: StepContext) -> Iterator[Finding]:
    """A setting, ``at``: water or steam hotter than it boils, an oven hotter than any is, or one
    cooler than the core it is to bring."""
    step, at = context.step, context.step.step.at
    if at is None:
        return
    place = step.step.place("at")
    if _in_water_or_steam(context) and _too_hot_for_water(context, at.warmest):
        medium = context.house.library.media.get(step.step.do)
        steam = (
            "steam without pressure gets no hotter than water boils"
            if medium and medium.medium == "its-steam"
            else "water boils"
        )
        words = f"{step.verb}: at {at}, and {steam} at {_boils(context)}."
        yield _ask(context, words, at.warmest, str(at), place)
    hottest, what = _hottest(context)
    if at.warmest > hottest:
        words = f"{step.verb}: at {at}. No {what} is that hot."
        yield _ask(context, words, at.warmest, str(at), place, hottest)
    yield from _cooler_than_its_core(context)


def _cooler_than_its_core(context: StepContext) -> Iterator[Finding]:
    """A setting that can't bring the food to its target: an error where all of the target is above
    the hottest that is set, for no food gets hotter than what heats it; a question where part of
    it is. A machine that heats the food itself, as a microwave does, sets no such figure."""
    step, at, target = context.step, context.step.step.at, context.step.target
    if at is None or target is None or target.warmest is None or target.coolest is None:
        return
    heats_itself = step.machine is not None and step.machine.kind == "microwave"
    if not step.effects & HEATS or heats_itself or at.warmest >= target.warmest:
        return
    words = f"{step.verb}: at {at} the food can't come to {target.warmest}."
    place = step.step.place("at")
    asked = _ask(context, words, at.warmest, str(at), place, HOTTEST_OVEN, target.warmest)
    if at.warmest >= target.coolest or target.kind not in ("core", "surface"):
        yield asked
        return
    help = "Set it hotter, or write the core it does reach. Check both figures and their scales."
    lines = asked.write or _as_hot(context, target.warmest)
    yield replace(asked, code="core-out-of-reach", severity="error", help=help, write=lines)


def _as_hot(context: StepContext, core: Temperature) -> tuple[str, ...]:
    """A bath's line with the core that is wanted for its setting; nobody can say an oven's."""
    place, hot = context.step.step.place("at"), breakable(str(core))
    return (place.fixed(hot),) if _in_water_or_steam(context) and core <= BOILING else ()


def _hottest(context: StepContext) -> tuple[Temperature, str]:
    """Above what a step's machine is never set, and what to call it."""
    machine = context.step.machine
    if machine is not None and machine.kind == "fryer":
        return HOTTEST_OIL, "fryer"
    if machine is not None and machine.heat in ("convection", "high-humidity"):
        return HOTTEST_FAN, "oven with a fan or steam"
    return HOTTEST_OVEN, "oven"


def _in_water_or_steam(context: StepContext) -> bool:
    """Whether a step heats by water or its steam: by its verb, by what it does, or in a bath."""
    step = context.step
    bath = step.machine is not None and step.machine.kind == "bath"
    return bath or "in-water" in step.effects or step.step.do in context.house.library.media


def _of_cold_place(context: StepContext) -> Iterator[Finding]:
    """A freezer that doesn't freeze, and a refrigerator that does."""
    step, cold = context.step, context.step.cold
    if cold is None:
        return
    if "freezes" in step.effects and cold.air.warmest >= WATER_FREEZES:
        yield _never_frozen(context, cold)
    if cold.kind == "refrigerator" and cold.air.coolest < FROZEN:
        words = f"{cold.name} is a refrigerator at {cold.air}. Food freezes there."
        yield _ask(context, words, cold.air.coolest, str(cold.air), cold.place("air"))


def _frozen_too_long(context: StepContext) -> list[Finding]:
    """Food said to stay frozen out of any cold place for longer than food may be in preparation:
    a working rule of ours, for the code gives frozen food no time."""
    step = context.step
    time, at = step.step.time, step.step.at
    rule = context.house.library.preparation
    if not step.step.stays_frozen or step.cold is not None:
        return []
    if at is not None and at.warmest < WATER_FREEZES:
        return []
    if time is not None and time.longest <= rule.most.seconds:
        return []
    where = f"at {at}" if at is not None else "out of the freezer"
    how_long = f"for {time}" if time is not None else "for an unknown time"
    words = f"{step.verb}: food doesn't stay frozen {how_long} {where}."
    most = duration(rule.most.seconds)
    help = f"Slack it in a refrigerator (`in`), or for {most} at most. That is our working rule."
    return [
        context.finding(
            "slacked-too-long",
            "error",
            words,
            help,
            place=step.step.place("time" if time is not None else "do"),
        )
    ]


def _boiling_here(context: StepContext) -> Temperature | None:
    house = context.house
    altitude = house.kitchen.altitude
    return house.once("boiling", house.kitchen, lambda: boiling_point(house.library, altitude))


def _boils(context: StepContext) -> str:
    """Where water boils here, in the kitchen's unit and to a tenth: "93 °C at 2100 m"."""
    here = _boiling_here(context) or BOILING
    shown = plain(half_up(here.in_unit(context.unit), Fraction(1, 10)))
    altitude = context.house.kitchen.altitude
    where = f" at {altitude.text}" if altitude is not None else ""
    return f"{shown}{NARROW}{context.unit}{where}"


def _too_hot_for_water(context: StepContext, temperature: Temperature) -> bool:
    """Whether water, steam or wet food can't have a temperature here: hotter than boiling, without
    pressure, and not mostly sugar or fat."""
    machine, here = context.step.machine, _boiling_here(context)
    if here is None or (machine is not None and machine.under_pressure):
        return False
    if temperature <= here + WEATHER:
        return False
    if temperature <= here + SYRUP_HOTTER and _syrup(context):
        return False
    return bool(context.before.components) and _wet(context)


def _wet(context: StepContext) -> bool:
    """Whether what is made is neither dry nor mostly sugar or fat, its own water left out.

    Raw food of an animal is wet always. What an ingredient is follows from its foodstuff, else from
    its name. Water that isn't known counts as what is the stricter: all wet, and none of it boiled
    away.
    """
    if any(c.species != "egg" for c in context.before.raw_animals):
        return True
    hot = rest = water = mass = Fraction(0)
    for c in context.before.components:
        share, boils_hot = _water_and_kind(context, c)
        mass += c.grams
        water += c.grams * (share if share is not None else 1)
        if boils_hot:
            hot += c.grams
        else:
            rest += c.grams * (1 - (share or 0))
    return water >= mass * DRY and (not hot or hot < rest)


def _water_and_kind(context: StepContext, part: Component) -> tuple[Fraction | None, bool]:
    """The share of a part that is water, None if it isn't known; and whether it is sugar or fat,
    which get hotter than boiling water."""
    library = context.house.library
    lines = context.formula.lines
    last = next((ln for ln in reversed(lines) if ln.item == part.item and ln.ingredient), None)
    facts = last.ingredient if last is not None else None
    stuff = library.foodstuffs.get((facts.foodstuff if facts is not None else None) or "")
    reported = library.known_names.of_names((part.name,))
    pure = any(t.food == "water" for t in reported)
    by_foodstuff = stuff is not None and bool(stuff.facts.boils_hot)
    boils_hot = by_foodstuff or any(t.facts.boils_hot for t in reported)
    return (Fraction(1) if pure else part.water), boils_hot


def _syrup(context: StepContext) -> bool:
    """Whether so much of it is sugar that it boils hotter than water as it thickens."""
    parts = context.before.components
    sugar = total(c.grams for c in parts if c.boils == "sugar")
    mass = total(c.grams for c in parts)
    return sugar > 0 and sugar >= mass * SYRUP and not context.before.raw_animals


def _boils_below(context: StepContext, typed: Temperature) -> bool:
    """Whether water gets as hot as that by the sea, and only here doesn't: no other scale is
    meant."""
    here = _boiling_here(context)
    return here is not None and here < typed <= BOILING + WEATHER and typed.unit == context.unit


def _as_hot_as_water_gets(
    context: StepContext, words: str, typed: Temperature, text: str, place: Place
) -> Finding:
    here = _boiling_here(context) or BOILING
    figure = breakable(context.degrees(to_side(here.in_unit(context.unit), "down")))
    fixed = breakable(text).replace(breakable(str(typed)), figure)
    return context.finding(
        "temperature-implausible",
        "warning",
        words,
        "Write what water reaches here, or name the machine that cooks under pressure.",
        (place.fixed(fixed),),
        place,
    )


def _may_be_cold(context: StepContext) -> bool:
    """Whether a step may end cold: it cools, thaws, is in a refrigerator, or the food isn't
    hot."""
    step = context.step
    cold = step.cold is not None or bool(step.effects & {"cools", "freezes", "thaws"})
    cold = cold or (step.step.at is not None and step.step.at.warmest < COLD)
    return cold or not context.before.hot


def _only_chilling(context: StepContext, target: str) -> Finding:
    place = context.step.step.place("do")
    return context.finding(
        "cold-without-chilling",
        "warning",
        f"{context.step.verb}: nothing here cools hot food {target}. The cooling clock doesn't "
        "check this step.",
        "Call the step `do: chill`. Name the refrigerator, chiller or ice bath under `in` or "
        "`with`.",
        (place.fixed("chill"),),
        place,
    )


MOST_OF_THE_BASE = 2000
"""Percent of the base beyond which anything is asked about."""
MOST_SALT = 50
"""The same of salt, whatever is made of it: a brine, a mix, a crust."""
MOST_EATEN = {"salt": 8, "gelling-agent": 10}
"""The same where it is eaten as it is: some five times what is usual, so that a lost decimal mark
is asked about. Figures of ours, which only ask."""
_DRAWS_OUT = frozenset({"dries", "ages", "brines", "soaks", "injects"})
"""Work after which the salt that was weighed isn't all eaten."""


def plausible_amounts(context: EndContext) -> EndOutcome:
    """Ask about amounts that can't be meant: a tenth of the meat's weight of salt, twenty times the
    base."""
    base = _base_grams(context)
    grams: dict[tuple[str, str], list[Fraction]] = {}
    for c in context.product.components:
        grams.setdefault((c.part, c.item), []).append(c.grams)
    found: list[Finding] = []
    for line in context.formula.lines:
        if (line.part, line.item) in context.formula.base:
            continue
        percent = _percent(line, base, grams.get((line.part, line.item), ()))
        if percent is not None and percent > _most_percent(context, line):
            found.append(_too_much(context, line, percent))
        else:
            found += _unusual(context, line)
    return EndOutcome((), tuple(found))


def _unusual(context: EndContext, line: JoinedLine) -> Iterator[Finding]:
    """The question about an amount that is far above what a source calls usual; its likely meaning,
    a tenth of it, first, where that is usual."""
    usual = usual_of(context, line)
    percent = share_of_usual(context, line, usual) if usual is not None else None
    if usual is None or percent is None or not far_above(percent, usual):
        return
    amount, place = line.line.amount, line.line.place("amount")
    tenth = "" if far_above(percent / 10, usual) else _a_tenth(amount)
    of = "the flour" if usual.of == "flour" else "all of it"
    yield Finding(
        "amount-implausible",
        "warning",
        f"{line.name}: {plain(percent, 1)} % of {of}. {plain(usual.most)} % at most is usual for "
        f"{usual.name}. {f'Did you mean {tenth}?' if tenth else 'Is that right?'}",
        place,
        "Check the figure, its decimal mark and its unit.",
        (place.fixed(tenth),) if tenth else (),
        context.house.library.source_title(usual.source),
        frozenset({context.formula.id}),
    )


def _base_grams(context: EndContext) -> Fraction:
    base = context.formula.base
    return total(c.grams for c in context.product.components if (c.part, c.item) in base)


def _percent(line: JoinedLine, base: Fraction, grams: Iterable[Fraction]) -> Fraction | None:
    """How many percent of the base, or of the part it names, a line is; None where nothing says
    it. ``grams`` is what there is of it in the end, by what it is made of."""
    amount = line.line.amount
    if amount.kind == "percent":
        return amount.value
    if amount.kind == "as-needed" or not base:
        return None
    return total(grams) / base * 100


def _most_percent(context: EndContext, line: JoinedLine) -> int:
    """How many percent of it are asked about."""
    function = line.ingredient.function if line.ingredient is not None else None
    if function in MOST_EATEN and _eaten_as_it_is(context):
        return MOST_EATEN[function]
    return MOST_SALT if function in ("salt", "cure", "gelling-agent") else MOST_OF_THE_BASE


def _eaten_as_it_is(context: EndContext) -> bool:
    """Whether what was weighed is eaten with the food: it goes into no other formula unless with
    food of an animal or cooked, and no step draws it out again."""
    effects = frozenset().union(*(step.effects for step in context.formula.steps))
    if effects & _DRAWS_OUT:
        return False
    animal = any(c.species != "none" for c in context.product.components)
    return animal or not context.formula.used_in or bool(effects & {"cooks", "bakes"})


def _too_much(context: EndContext, line: JoinedLine, percent: Fraction) -> Finding:
    """The question whether an amount is meant, with a tenth of it."""
    amount, place = line.line.amount, line.line.place("amount")
    whole = f"the {amount.of.replace('-', ' ')}" if amount.of else "the base"
    tenth = _a_tenth(amount) if percent / 10 <= _most_percent(context, line) else ""
    question = f"Did you mean {tenth}?" if tenth else "Is that right?"
    return Finding(
        "amount-implausible",
        "warning",
        f"{line.name}: {plain(percent, 1)} % of {whole}. {question}",
        place,
        "Check the figure and its decimal mark.",
        (place.fixed(tenth),) if tenth else (),
        about=frozenset({context.formula.id}),
    )


def _a_tenth(amount: Amount) -> str:
    """The amount with its decimal mark one place on, in the words it was typed in; nothing where
    it is no plain figure."""
    typed = re.fullmatch(r"([0-9]+(?:[.,][0-9]+)?)(\s*[A-Za-z%].*)", amount.text)
    if typed is None:
        return ""
    figure = Fraction(typed[1].replace(",", ".")) / 10
    return f"{plain(figure, 6, grouped=False)}{typed[2]}"


def _never_frozen(context: StepContext, cold: Cold) -> Finding:
    place = cold.place("air")
    words = f"{context.step.verb}: {cold.name} is kept at {cold.air}. Nothing freezes there."
    help = "Name a freezer under `in`, or check the sign of its `air`."
    fixes = (
        (place.fixed(breakable(f"-{cold.air}")),)
        if cold.kind == "freezer" and not cold.air.is_range
        else ()
    )
    if not fixes:
        place = context.step.step.place("in")
    return context.finding("never-freezes", "error", words, help, fixes, place)


_RANGE = re.compile(r"[0-9].*?(?: to |–|-| then )-?[0-9]")
"""A text with two figures: which of them is in the wrong scale nobody knows."""


def _ask(
    context: StepContext,
    words: str,
    typed: Temperature,
    text: str,
    place: Place,
    most: Temperature = BOILING,
    least: Temperature = FROZEN,
) -> Finding:
    """The question whether a temperature is meant, with the same figure in the other scale where
    that would make sense: at ``most`` so hot, and no colder than ``least``."""
    if _meant_to_boil(context, typed):
        return _as_hot_as_water_gets(context, words, typed, text, place)
    other = typed.swapped()
    write: tuple[str, ...] = ()
    one_figure = not _RANGE.search(text)
    if one_figure and least <= other <= most and not _leaves_it_undone(context, text, other):
        meant = breakable(str(other))
        write = (place.fixed(_in_its_place(text, meant)),)
        words = f"{words} Did you mean {meant}?"
    return context.finding(
        "temperature-implausible", "warning", words, "Check the figure and its scale.", write, place
    )


def _meant_to_boil(context: StepContext, typed: Temperature) -> bool:
    """Whether no other scale is meant: water is as hot as that by the sea, or the figure in the
    other scale is too cool to cook what the step cooks."""
    if _boils_below(context, typed):
        return True
    target = context.step.target
    wanted = target.warmest if target is not None and "cooks" in context.step.effects else None
    too_cool = wanted is not None and wanted != typed and typed.swapped() < wanted
    return too_cool and _too_hot_for_water(context, typed)


def _leaves_it_undone(context: StepContext, text: str, other: Temperature) -> bool:
    """Whether the figure in the other scale, as the target of a step that cooks, cooks nothing."""
    target = context.step.target
    target_meant = target is not None and text == target.text
    return target_meant and "cooks" in context.step.effects and other < LEAST_COOKED


def _in_its_place(text: str, meant: str) -> str:
    """A target's text with another temperature in it: its kind and its hold stay."""
    head, hold = breakable(text).partition(" for ")[::2]
    kind = head.split(" ")[0] if head[:1].isalpha() else ""
    return f"{kind} {meant}".strip() + (f" for {hold}" if hold else "")

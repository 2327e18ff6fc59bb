"""Milk, cream and cheese come in pasteurised. Food Code 3-202.14(B) to (D).

Raw milk is refused in every kitchen, as an ingredient too, unless a document on file allows it. A
cheese may be cured from raw milk where 21 CFR 133 lets its variety be; the ingredient names that
standard.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.basis import Basis
from generator.measures.words import listed, with_verb
from generator.records.ingredient import Ingredient
from generator.reference.row_kinds import ReceiveRow, WordsRow
from generator.resolve.joined import House
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    authorisation_problem,
    cited,
)
from generator.rules.basics.limit import InWords, Source
from generator.rules.basics.product import Component
from generator.rules.basics.raw_milk import CURED, raw_milk_in, why_raw
from generator.rules.basics.uncovered import not_covered
from generator.rules.heat.plant_cooking import cooked_by_rows

ON_FILE = "raw-milk"
"""What an authorisation is for that lets raw milk in."""
_MILK, _FROZEN, _CHEESE = "milk", "frozen-milk", "cheese"


def not_pasteurised(house: House, item: str, facts: Ingredient) -> tuple[Finding, ...]:
    """The error of a dairy ingredient that is raw, isn't stated to be pasteurised or ready to eat,
    or is raw by its own name; empty for any other, and for one a document in force allows."""
    why = why_raw(house, facts)
    if why is None or not authorisation_problem(house, ON_FILE, "none", ""):
        return ()
    is_cheese = facts.cheese is not None
    if is_cheese and facts.raw_milk and facts.cheese in CURED:
        return ()
    kind = _CHEESE if is_cheese else _FROZEN if facts.arrives == "frozen" else _MILK
    found = house.pack.row_for(ReceiveRow, kind)
    unstated = why.key == "name" and facts.state is None
    return (
        Finding(
            "milk-not-pasteurised",
            "error",
            f"{facts.name}: {why.words}. It must come in pasteurised.",
            facts.key_place("name") if unstated else facts.place(why.key),
            _help(is_cheese, unstated),
            source=cited(house, found[1]) if found is not None else "",
            about=frozenset({item}),
        ),
    )


THERMISED = 57
"""°C from which milk is heated to lessen its germs, and is raw still: thermisation, 57 to 68 °C for
15 s or more (Council Directive 92/46/EEC, as quoted; no row of any pack)."""
_PASTEURISES = 63
"""°C from which milk may be pasteurised, held long enough: 145 °F for 30 minutes, 21 CFR
1240.61(b)."""
_COOKS = frozenset({"cooks", "part-cooks", "reheats"})


def raw_milk(context: StepContext) -> Outcome:
    """What is said of raw milk that a document on file lets in: that document, at the step that
    takes it in; and at a step that cooks it how it is pasteurised, where the pack has rows of it.
    Warmed, it is raw milk still."""
    found = list(raw_milk_in(context.house, context.before))
    if not found or authorisation_problem(context.house, ON_FILE, "none", ""):
        return NOTHING  # without the document it is refused as it comes in
    new = [c for c in found if c.part in context.step.parts]
    said = (*_raw_again(context, new), *_only_warmed(context, found))
    permit = Outcome((_by_permit(context, new),) if new else (), said)
    if context.step.effects & _COOKS:
        heated = _pasteurised(context, found)
        if heated is not NOTHING:
            return replace(
                heated,
                limits=(*permit.limits, *heated.limits),
                findings=(*said, *heated.findings),
            )
        return not_covered(
            context,
            "cook",
            "No row here says how hot, and for how long, raw milk is pasteurised.",
            "Ask your regulatory authority for its figures. Or use pasteurised milk.",
        )
    return permit


def milk_for_the_frail(context: EndContext) -> EndOutcome:
    """An error where raw milk, or what is made of it, goes to a highly susceptible population as it
    is: Food Code 3-801.11(C)(1), milk being an animal food by 3-603.11(A). The document on file
    that lets it in says nothing of whom it is for."""
    house, formula = context.house, context.formula
    row = house.pack.row_for(WordsRow, "raw", "susceptible")
    if house.kitchen.serves != "highly-susceptible" or row is None or not context.fate.eaten:
        return EndOutcome()
    found = raw_milk_in(house, context.product)
    if not found or authorisation_problem(house, ON_FILE, "none", ""):
        return EndOutcome()
    names = listed(list(dict.fromkeys(c.name for c in found)))
    finding = Finding(
        "susceptible-raw-milk",
        "error",
        f"{formula.formula.name}: nothing pasteurises {names}. Raw milk, and what is made of it, "
        "is never served as it is to a highly susceptible population.",
        formula.formula.key_place("name"),
        "Use pasteurised milk, or what is made of it. Or pasteurise it here (`do: pasteurise`).",
        source=cited(house, row[1]),
        about=frozenset({formula.id}),
    )
    return EndOutcome((), (finding,))


def _raw_again(context: StepContext, new: list[Component]) -> tuple[Finding, ...]:
    """The error of raw milk that goes to what was heated already, and isn't heated with it."""
    step, formula = context.step, context.formula
    heated = next((s for s in formula.before(step.number) if s.effects & _COOKS), None)
    later = any("cooks" in s.effects for s in formula.since(step.number))
    if not new or heated is None or later or not context.before.cooked:
        return ()
    names = list(dict.fromkeys(c.name for c in new))
    words = (
        f"{step.verb}: {with_verb(names, 'goes')} in raw after step {heated.number}, "
        f"{heated.verb}: all of it is raw again."
    )
    help = "Add it before that step. Or use pasteurised milk. Or pasteurise all of it afterwards."
    return (context.finding("milk-raw-again", "error", words, help),)


def _only_warmed(context: StepContext, raw: list[Component]) -> tuple[Finding, ...]:
    """The warning of raw milk that is warmed as if to make it safe, by a verb that isn't judged as
    pasteurising, and isn't pasteurised later."""
    step, target = context.step, context.step.target
    core = target.coolest if target and target.kind == "core" else None
    if core is None or "heats" not in step.effects or step.effects & _COOKS:
        return ()
    if any("cooks" in s.effects for s in context.formula.after(step.number)):
        return ()
    if core.celsius < THERMISED:
        return ()
    names = list(dict.fromkeys(c.name for c in raw))
    if core.celsius < _PASTEURISES:
        words = f"{with_verb(names, 'is')} raw milk still at {core}: nothing pasteurises it."
        help = (
            "Is it to be pasteurised? Write `do: pasteurise`. If not, the name and the label say "
            "raw."
        )
    else:
        words = f"{with_verb(names, 'is')} heated to {core}, and this verb asks for no time."
        help = "Write `do: pasteurise`: then its time is asked for. Until then it counts as raw."
    words = f"{step.verb}: {words}"
    return (context.finding("milk-only-warmed", "warning", words, help),)


def _pasteurised(context: StepContext, raw: list[Component]) -> Outcome:
    """How raw milk is pasteurised at a step that cooks it through: 21 CFR 1240.61; nothing where no
    row is held, or it is cooked in part alone."""
    if "cooks" not in context.step.effects:
        return NOTHING
    group = _heated_as(context, raw)
    name = context.house.pack.groups[group].name if group in context.house.pack.groups else ""
    names = tuple(dict.fromkeys(c.name for c in raw))
    return cooked_by_rows(context, group, name, names)


_RICH = Fraction(10, 100)
"""From this share of fat on milk is heated more: 21 CFR 1240.61(b), note 1."""


def _heated_as(context: StepContext, raw: list[Component]) -> str:
    """Which rows raw milk goes by. Milk alone, whose fat is known to be low, has the least;
    whatever else is in it may sweeten it, and a mix may be for freezing."""
    parts = [c for c in context.before.components if c.grams]
    later = context.formula.after(context.step.number)
    frozen = context.formula.formula.eaten_frozen or any("freezes" in s.effects for s in later)
    if frozen or any(c.species == "egg" for c in parts):
        return "milk-mix"
    if all(c in raw and _is_lean(context.house, c) for c in parts):
        return "milk"
    return "milk-mix" if context.formula.used_in else "milk-rich"


def _is_lean(house: House, part: Component) -> bool:
    """Whether so little fat is in it, at most, by its own composition, else its foodstuff's."""
    facts = part.facts
    if facts is None:
        return False
    own = facts.composition.fat if facts.composition is not None else None
    stuff = house.library.foodstuffs.get(facts.foodstuff or "")
    fat = own or (stuff.composition.fat if stuff is not None else None)
    return fat is not None and fat.high < _RICH


def _by_permit(context: StepContext, parts: list[Component]) -> InWords:
    """The document that lets raw milk in, as a limit in words."""
    house, names = context.house, listed(list(dict.fromkeys(c.name for c in parts)))
    held = [a for a in house.kitchen.authorisations if a.for_ == ON_FILE]
    permit = next(a for a in held if a.in_force(house.as_of))
    source = Source(permit.document, "", permit.authority, ())
    words = f"Raw milk, only as the document on file allows: {permit.document}, {permit.authority}."
    return InWords(
        **context.names("receive"),
        hazard="receive",
        bound="max",
        source=source,
        group=names,
        because=(names,),
        basis=Basis((("In it", names),), words, source.words),
        words=words,
    )


def _help(is_cheese: bool, unstated: bool) -> str:
    """What to do about it: nobody is offered a word that isn't so."""
    ask = "Is it pasteurised? Write `state: pasteurised`. " if unstated else ""
    made = "cheese made from pasteurised milk"
    use = f"{ask}Use {made if is_cheese else 'pasteurised milk, even if it is cooked'}."
    if is_cheese:
        use += (
            " Was it cured from raw milk by a standard of 21 CFR 133? Name that under `raw_milk`."
        )
    return f"{use} Record a document that allows raw milk under `authorisations`, `for: {ON_FILE}`."

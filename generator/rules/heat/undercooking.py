"""Raw animal food that nothing cooks: lawful only on a guest's request and with the advisory.

Food Code 3-401.11(A) and (D) with the advisory of 3-603.11: served raw or undercooked only when a
guest asks and is named the risk; never for a highly susceptible population (3-801.11), never for
anything chilled and kept. Freezing fish against parasites is not keeping it; and fish freed of
them by freezing is ready to eat by the code (1-201.10), kept cold and dated as such.
"""

from __future__ import annotations

from collections.abc import Iterator

from generator.files.finding import Finding, Place
from generator.measures.words import listed, verb_for, with_verb
from generator.reference.row_kinds import CookRow, ParasitesRow, WordsRow
from generator.resolve.joined import House
from generator.rules.basics.context import (
    NOTHING,
    EndContext,
    EndOutcome,
    Outcome,
    StepContext,
    cited,
)
from generator.rules.basics.product import Component
from generator.rules.basics.raw_juice import COOK_IT, lay_in, only_juice, spent_names
from generator.rules.basics.raw_milk import raw_milk_in
from generator.rules.basics.uncovered import never_covered
from generator.rules.basics.without_cold import is_water
from generator.rules.heat.eggs_at_once import more_than_one, problems, way_of
from generator.rules.heat.parasites import is_fish, served_once_freed
from generator.rules.heat.to_order import raw_egg

_WAYS = "Add it before a cooking step, or use a pasteurised product."
_ON_REQUEST = " Or write under `undercooked` that a guest orders it so."


def _ways(house: House) -> str:
    """What to do about raw food; no request is offered where the guests may not have it so, nor
    where the rules held say nothing of one."""
    frail = house.kitchen.serves == "highly-susceptible"
    asks = house.pack.rows_of(WordsRow, "undercook")
    return _WAYS if frail or not asks else f"{_WAYS}{_ON_REQUEST}"


def _asked_about(house: House, raw: tuple[Component, ...]) -> tuple[Component, ...]:
    """What is raw, without the fish that the law asks only to be freed of parasites."""
    return tuple(c for c in raw if not served_once_freed(house, c))


def eaten_raw(context: StepContext) -> Outcome:
    """Served, held hot or reheated with something raw of an animal in it."""
    step = context.step
    raw = tuple(c for c in context.before.raw_animals if not c.seared)
    raw = _asked_about(context.house, raw)
    served = step.effects & {"serves", "displays", "holds-hot", "reheats"}
    if context.formula.formula.cooked_later and served == {"displays"}:
        return NOTHING  # on sale raw, to be cooked by whoever buys it
    if not served or not raw or context.formula.formula.undercooked:
        return NOTHING
    words = f"{step.verb}: {with_verb(_each(raw), 'is')} raw here. No step cooked it."
    help = _ways(context.house)
    if juice := only_juice(raw):
        spent = spent_names(context.formula)
        words = f"{step.verb}: {spent} is raw here: {lay_in(juice)}. No step cooked it since."
        help = COOK_IT
    finding = context.finding(
        "raw-not-cooked",
        "error",
        words,
        help,
        place=step.step.place("do"),
        source=_source(context.house),
    )
    return Outcome((), (finding,))


def _names(raw: tuple[Component, ...]) -> str:
    return listed(_each(raw))


def _each(raw: tuple[Component, ...]) -> list[str]:
    return list(dict.fromkeys(c.name for c in raw))


def _it(raw: tuple[Component, ...]) -> str:
    return "it" if verb_for(_each(raw), "is") == "is" else "them"


def _source(house: House) -> str:
    """What the code in force says of raw animal food: its first row on serving or on cooking it."""
    pack = house.pack
    for _, row in (*pack.rows_of(WordsRow, "undercook"), *pack.rows_of(CookRow)):
        return cited(house, row)
    return pack.facts.document


def undercooking(context: EndContext) -> EndOutcome:
    """Refuse undercooking where it is not lawful, undercooking that isn't any, and raw animal food
    that comes in after the last cooking step."""
    if not context.formula.formula.undercooked:
        return _raw_after_cooking(context)
    if not context.house.pack.rows_of(WordsRow, "undercook"):
        raw = context.product.raw_animals
        if raw and not _asked_about(context.house, raw):
            return EndOutcome((), (_no_request(context),))
        why = "The rules here say nothing about food served raw or undercooked on request."
        return never_covered(context, "cook", "serve", "Serve", why)
    return EndOutcome(
        (),
        (
            *_refused(context),
            *_undercooked_kept(context),
            *_nothing_undercooked(context),
            *_poultry(context),
        ),
    )


def _no_request(context: EndContext) -> Finding:
    """The warning of a request that the law doesn't ask for."""
    formula = context.formula.formula
    return Finding(
        "undercooked-needless",
        "warning",
        f"{formula.name}: the law here asks for no request. Fish may be served raw once it is "
        "freed of parasites.",
        formula.place("undercooked"),
        "Delete the key.",
        about=frozenset({context.formula.id}),
    )


def _refused(context: EndContext) -> Iterator[Finding]:
    """Undercooked food for the frail."""
    formula = context.formula.formula
    if context.house.kitchen.serves == "highly-susceptible":
        yield Finding(
            "undercooked-refused",
            "error",
            f"{formula.name}: never serve undercooked food to a highly susceptible population.",
            formula.place("undercooked"),
            "Cook it to its limit, or use a pasteurised product.",
            source=_for_the_frail(context.house, "raw"),
            about=frozenset({context.formula.id}),
        )


def _undercooked_kept(context: EndContext) -> Iterator[Finding]:
    """Undercooked food that is kept or chilled; fish freed of parasites, ready to eat, aside."""
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    raw = context.product.raw_animals
    if raw and context.product.eaten_as_it_is:
        return
    if not raw and raw_milk_in(context.house, context.product):
        return  # its key is needless
    kept = keeps is not None and (keeps.cold or keeps.frozen)
    if kept or _chilled(context):
        yield Finding(
            "undercooked-kept",
            "error",
            f"{formula.name}: food undercooked on request is made to order. It can't be chilled "
            "and kept.",
            formula.place("undercooked"),
            f"{_once_freed(context)}Delete `keeps` and the chilling, or cook it to its limit.",
            about=frozenset({context.formula.id}),
        )


def _once_freed(context: EndContext) -> str:
    """What makes raw fish that is alone in it ready to eat, so that it may be kept: named first."""
    raw = context.product.raw_animals
    rows = context.house.pack.rows_of(ParasitesRow)
    if not raw or not rows or not all(c.fish for c in raw):
        return ""
    return (
        "Fish that is freed of parasites may be kept: freeze it here, or write the supplier's "
        "record under the ingredient's `parasites`. If not: "
    )


def _chilled(context: EndContext) -> bool:
    """Whether a step chills or freezes it, but for the freezing of fish against parasites."""
    against_parasites = any(is_fish(context.house, c) for c in context.product.raw_animals)
    chills = {"cools"} if against_parasites else {"cools", "freezes"}
    return any(step.effects & chills for step in context.formula.steps)


def _nothing_undercooked(context: EndContext) -> Iterator[Finding]:
    formula = context.formula.formula
    if not context.product.raw_animals:
        milk = raw_milk_in(context.house, context.product)
        only = "only the milk in it is raw, and the page warns the guest of that by itself."
        yield Finding(
            "undercooked-needless",
            "warning",
            f"{formula.name}: {only if milk else 'nothing in it is raw or undercooked.'}",
            formula.place("undercooked"),
            "Delete the key.",
            about=frozenset({context.formula.id}),
        )


def _poultry(context: EndContext) -> Iterator[Finding]:
    """The warning of poultry that a guest may order undercooked: paragraph (D) names egg, fish,
    shellfish, steak tartare and rare meat, and by 1-201.10 poultry isn't meat; nor does it refuse
    it. A species that isn't stated counts as poultry."""
    house, formula = context.house, context.formula.formula
    definitions = house.pack.definitions
    birds = tuple(
        c
        for c in context.product.raw_animals
        if c.species not in definitions or definitions[c.species].group_as == "poultry"
    )
    if not birds or house.kitchen.serves == "highly-susceptible":
        return
    row = next(row for _, row in house.pack.rows_of(WordsRow, "undercook"))
    yield Finding(
        "undercooked-poultry",
        "warning",
        f"{formula.name}: the code lets a guest order raw egg, raw fish or rare meat. It doesn't "
        f"name poultry: {_names(birds)}.",
        formula.place("undercooked"),
        "Cook it to its limit. Or ask your regulatory authority before you serve it.",
        source=cited(house, row),
        about=frozenset({context.formula.id}),
    )


def susceptible(context: EndContext) -> EndOutcome:
    """Raw eggs and raw seed sprouts where a highly susceptible population is served: Food Code
    3-801.11(B) and (C).

    Raw eggs are refused and a pasteurised product is asked for, but for the ways that a formula may
    name: the two of (F) for eggs combined, and one egg for one guest.
    """
    house, formula = context.house, context.formula
    row = house.pack.row_for(WordsRow, "eggs", "susceptible")
    if house.kitchen.serves != "highly-susceptible" or row is None:
        return EndOutcome()
    sprouts = _raw_sprouts(context)
    eggs = [line for line in formula.lines if raw_egg(line.ingredient)]
    if eggs and _in_their_shells(context):
        eggs = []
    still_raw = _still_raw(context)
    if not eggs or (way_of(house, formula) is not None and not still_raw):
        return EndOutcome((), sprouts)
    why = [*problems(house, formula), *still_raw]
    reported = f" The code allows a few uses, but here {listed(why)}."
    name = listed(list(dict.fromkeys(line.name for line in eggs)))
    finding = Finding(
        "susceptible-raw-eggs",
        "error",
        f"{name}: use pasteurised eggs, not raw eggs broken together, where a highly susceptible "
        "population is served.",
        eggs[0].line.place("amount"),
        f"Use a pasteurised egg product (`state: pasteurised`).{reported}",
        source=_for_the_frail(house, "eggs"),
        about=frozenset({formula.id}),
    )
    return EndOutcome((), (finding, *sprouts))


def _in_their_shells(context: EndContext) -> bool:
    """Whether raw eggs go whole into the water that cooks them through, so that none is broken
    ((B)(2) is of eggs broken and combined): nothing but water, salt and acid is with them, and no
    step works on them before."""
    parts = {ln.part for ln in context.formula.lines if raw_egg(ln.ingredient)}
    first = next((s for s in context.formula.steps if parts & set(s.parts)), None)
    if first is None or not {"cooks", "in-water"} <= first.effects:
        return False
    there = (c for c in context.product.components if c.part in parts)
    return all(_whole_egg_or_water(context.house, c) for c in there)


def _whole_egg_or_water(house: House, part: Component) -> bool:
    """Whether a part is cooked eggs that came in their shells, or what eggs are boiled in."""
    if part.species == "egg":
        return part.form == "intact" and not part.raw_animal
    return bool(part.function) or part.acid or is_water(house, part)


def _still_raw(context: EndContext) -> list[str]:
    """What keeps the eggs of a formula from any of the ways it may name, by how it ends: raw, or
    more than one egg to a portion."""
    words = []
    if any(c.species == "egg" for c in context.product.raw_animals):
        words.append("they are raw still at the end")
    if more_than_one(context.formula, context.product.mass):
        words.append("a portion weighs more than one egg makes by the formula")
    return words


def _raw_sprouts(context: EndContext) -> tuple[Finding, ...]:
    raw = [c for c in context.product.components if c.plant == "sprouts" and not c.cooked]
    if not raw:
        return ()
    finding = Finding(
        "susceptible-raw-sprouts",
        "error",
        f"{_names(tuple(raw))}: never serve raw seed sprouts where a highly susceptible "
        "population is served.",
        context.formula.formula.key_place("name"),
        "Cook them, or leave them out.",
        source=_for_the_frail(context.house, "raw"),
        about=frozenset({context.formula.id}),
    )
    return (finding,)


def _for_the_frail(house: House, applies: str) -> str:
    found = house.pack.row_for(WordsRow, applies, "susceptible")
    return cited(house, found[1]) if found is not None else house.pack.facts.document


def _raw_after_cooking(context: EndContext) -> EndOutcome:
    """Raw animal food at the end of what is eaten as it is. What becomes of a food doesn't hang on
    its last step: unless another formula or whoever buys it cooks it, it counts as eaten."""
    raw = tuple(
        c for c in context.product.raw_animals if not c.seared and not _cooked_later(context, c)
    )
    raw = _asked_about(context.house, raw)
    served = any(
        s.effects & {"serves", "displays", "holds-hot", "reheats"} for s in context.formula.steps
    )
    if not raw or (served and not context.product.cooked):
        return EndOutcome()  # said at the step that serves it
    if not context.product.cooked and not context.fate.eaten:
        return EndOutcome()
    formula = context.formula.formula
    words = f"{formula.name}: {with_verb(_each(raw), 'is')} added raw after the last cooking step."
    if not context.product.cooked:
        words = f"{formula.name}: {with_verb(_each(raw), 'is')} raw. No step cooks {_it(raw)}."
    passed_on = "Is it sold or passed on raw? Write who cooks it under `cooked_later`."
    help = f"{_ways(context.house)} {passed_on}"
    if juice := only_juice(raw):
        spent = spent_names(context.formula)
        words = f"{formula.name}: {spent} goes in raw: {lay_in(juice)}. No step cooks it."
        help = COOK_IT
    return EndOutcome(
        (),
        (
            Finding(
                "raw-not-cooked",
                "error",
                words,
                _line(context, raw[0]),
                help,
                source=_source(context.house),
                about=frozenset({context.formula.id}),
            ),
        ),
    )


def _cooked_later(context: EndContext, component: Component) -> bool:
    """Whether a step cooks from the one on that takes a component in: what that lacks is said
    there."""
    steps = context.formula.steps
    taken = next((s.number for s in steps if component.part in s.parts), 0)
    return any("cooks" in s.effects for s in (context.formula.since(taken) if taken else steps))


def _line(context: EndContext, component: Component) -> Place:
    """Where the component is written, the line taken in last: its own, or that of the formula it
    came in by."""
    lines = [
        ln
        for step in context.formula.steps
        for ln in context.formula.lines
        if ln.part in step.parts
        and (ln.item == component.item or (ln.formula and ln.name == component.through))
    ]
    return lines[-1].line.place("amount") if lines else context.formula.formula.key_place("parts")

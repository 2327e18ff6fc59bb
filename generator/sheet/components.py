"""What a weighed line brings into the product: an ingredient's facts, or all that a made-ahead
formula is made of."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from generator.measures.rounding import total
from generator.measures.words import plural_of
from generator.records.effects import HEATS
from generator.records.ingredient import Ingredient
from generator.reference.foods import Foodstuff
from generator.reference.library import Library
from generator.resolve.joined import House, JoinedLine
from generator.rules.basics.context import DAY_S, authorisation_problem
from generator.rules.basics.course import Course
from generator.rules.basics.fate import fate_of
from generator.rules.basics.product import RAW_STATES, Component, CureFacts, changed
from generator.rules.basics.warmth import hot_by
from generator.rules.basics.without_cold import is_water
from generator.rules.cold.cultures import on_the_way_to_ferment
from generator.rules.cold.plants import needs_as_it_comes, plant_of, rinses, wets
from generator.rules.cold.wetted import as_dry_as_seeds
from generator.rules.cures.dosing import takes_up
from generator.rules.heat.parasites import SUPPLIER
from generator.rules.heat.roast import stays_whole
from generator.rules.store.natural_poisons import made_safe
from generator.rules.store.souring import opened_in
from generator.scaling.weights import UnitWeight
from generator.sheet.volumes import room_of
from generator.sheet.walked import Walk
from generator.sheet.weighing import (
    WeighedLine,
    only_in_one_piece,
    piece_words,
    salt_in,
    water_in,
)


def components_of(house: House, line: WeighedLine, made: Mapping[str, Walk]) -> list[Component]:
    """What a weighed line brings into the product; ``made`` are the walks of what is made ahead."""
    if line.joined.formula is not None:
        return _of_made_ahead(house, line, made[line.joined.formula])
    assert line.joined.ingredient is not None
    return [_of_ingredient(house, line, line.joined.ingredient)]


def _of_made_ahead(house: House, line: WeighedLine, sub: Walk) -> list[Component]:
    """All that a made-ahead formula is made of, as much of it as the line weighs."""
    whole = total(c.grams for c in sub.end.components)
    ratio = line.grams / whole if whole else Fraction(0)
    cured = any(takes_up(house, c) for c in sub.end.components)
    wet = _wetted(house, sub)
    out_s = _out_of_the_cold(house, sub)
    done = opened_in(house, sub.formula.steps)
    passed = [
        _wet_there(
            changed(
                _passed_on(c, line.joined, sub, ratio, cured),
                out_s=out_s,
                boiled=made_safe(house, sub.formula, c),
                opened=max(c.opened, done.get(c.part, ""), key=_OPENED.index),
            ),
            _stood_wet(house, c, sub, wet),
            sub,
        )
        for c in sub.end.components
    ]
    return [_kept_sour(c, sub) for c in passed] if sub.end.acidified else passed


def _passed_on(
    component: Component, joined: JoinedLine, sub: Walk, ratio: Fraction, cured: bool
) -> Component:
    """A component of a made-ahead formula in the one that takes it in; ``cured`` if any of them
    took up a cure there."""
    cold = (component.heated or component.chilled) and sub.tcs and not sub.end.hot
    return changed(
        component,
        grams=component.grams * ratio,
        held=Fraction(1),
        part=joined.part,
        through=component.through or sub.formula.formula.name,
        stuffed=sub.end.stuffed and component.raw_animal,
        chilled=cold,
        packed=False,
        to_order=False,
        seared=False,
        roast="" if joined.line.prepare else component.roast,
        pieces=component.pieces or not stays_whole(joined.line),
        came=joined.item,
        spent=component.spent or cured,
        tcs=_needs_cold(component, sub),
        comes=_comes(sub.course),
        comes_stated=sub.course.known == "stated",
        by_time=sub.end.by_time,
        aged_s=sub.aged_s,
        stood_s=sub.stood_s,
        flour=_raw_flour(component, sub),
        served=component.served or fate_of(sub.formula).to_the_guest,
        ambient=_as_the_room(component, sub),
        papered=_papered(component, sub),
        grown="before" if component.grown else "",
    )


def _wetted(house: House, sub: Walk) -> bool:
    """Whether a formula made ahead makes what is dry wet."""
    water = any(is_water(house, c) for c in sub.end.components)
    return water or any(wets(s) or rinses(s) for s in sub.formula.steps)


def _wet_there(component: Component, wet_s: Fraction | None, sub: Walk) -> Component:
    """A component that stood wet in a formula made ahead: dry goods that are eaten uncooked were
    out for as long, unless they were put into the cold last."""
    if wet_s is None:
        return component
    last = sub.formula.steps[-1]
    out = as_dry_as_seeds(component) and last.cold is None
    out_s = max(component.out_s, wet_s) if out else component.out_s
    return changed(component, wet_s=wet_s, out_s=out_s)


def _stood_wet(house: House, component: Component, sub: Walk, wet: bool) -> Fraction | None:
    """The seconds raw plant food, or a liquid that is to ferment, stood wet and warm in a formula
    made ahead, and in those that was made of; too long where it fermented there, and no plan is on
    file. None where it stayed dry, was cooked, or needs the cold since, which is asked there."""
    if on_the_way_to_ferment(component, sub.end, house):
        return max(sub.wet_s, component.wet_s or Fraction(0)) or None
    if not _still_raw(component) or component.tcs:
        return None
    moist = wet or component.form != "dry" or component.wet_s is not None
    stood = max(sub.wet_s, component.wet_s or Fraction(0))
    if stood and _ferments_unplanned(house, sub):
        stood = max(stood, house.library.preparation.most.seconds + 1)
    return stood if moist else None


def _still_raw(component: Component) -> bool:
    """Whether it is raw plant food, flour aside, that nothing heated."""
    raw = component.species == "none" and component.state in RAW_STATES
    return raw and not (component.cooked or component.heated or component.flour)


def _ferments_unplanned(house: House, sub: Walk) -> bool:
    ferments = any("ferments" in s.effects and s.cold is None for s in sub.formula.steps)
    return ferments and bool(authorisation_problem(house, "ferment", "none", ""))


_OPENED: tuple[Literal["", "cut", "ground"], ...] = ("", "cut", "ground")


def _out_of_the_cold(house: House, sub: Walk) -> Fraction:
    """The seconds it was out by the end of a formula made ahead. Where that is too long and nothing
    there was asked, as it needed no cold yet, it comes with the most it may: what it is out here is
    too much."""
    most = house.library.preparation.most.seconds
    asked = any(f.code == "between-too-long" for f in sub.findings)
    return sub.course.so_far if asked else min(sub.course.so_far, most)


def _needs_cold(component: Component, sub: Walk) -> bool:
    """Whether it needs the cold as it comes from a formula made ahead: there already, or heated in
    it as plant food."""
    return component.tcs or (sub.tcs and (component.cooked or _warmed(component, sub)))


def _warmed(component: Component, sub: Walk) -> bool:
    """Whether it is plant food of a formula made ahead in which a step warmed it that doesn't
    cook: it needs the cold from there on (Food Code 1-201.10)."""
    if not sub.end.plants_heated or component.function or component.boils or component.acid:
        return False
    return component.species == "none" and component.state in RAW_STATES


def _papered(component: Component, sub: Walk) -> bool:
    """Whether it was heated in a formula made ahead, here or further back, which needs no cold by a
    document: sugar, fat, acid and seasoning never do."""
    if component.papered:
        return True
    stated = sub.formula.formula.not_tcs
    keeps = component.boils or component.acid or component.function
    heated = component.cooked or component.heated
    return stated is not None and bool(stated.document) and heated and not keeps


def _as_the_room(component: Component, sub: Walk) -> bool:
    return component.ambient or (not component.function and _from_the_shelf(sub))


def _from_the_shelf(sub: Walk) -> bool:
    """Whether food of a formula made ahead comes in as warm as the room, like what is bought so:
    it is kept dry, or needs no cold and nothing says that it is in it. Dry goods mixed dry warm
    nothing."""
    keeps = sub.formula.formula.keeps
    if keeps is not None and keeps.dry is not None:
        return sub.end.wet
    said = keeps is not None and (keeps.cold is not None or keeps.frozen is not None)
    last = sub.formula.steps[-1]
    in_the_cold = last.cold is not None or bool(last.effects & {"cools", "freezes"})
    return sub.end.wet and not (sub.tcs or said or in_the_cold)


def _kept_sour(component: Component, sub: Walk) -> Component:
    """A component of a formula made ahead that was acidified there: what was cooked needs no cold
    as long as no food comes to it that does."""
    if not (component.cooked or component.heated):
        return component
    comes = _comes_sour(sub)
    return changed(component, sour="kept", comes=comes, ambient=comes == "between")


def _comes_sour(sub: Walk) -> Literal["cold", "between", "hot"]:
    """How warm food comes in that was cooked and acidified in a formula made ahead: hot, unless it
    was cooled there, waited, or keeps for more than a day out of the cold."""
    steps = sub.formula.steps
    heated = max((s.number for s in steps if s.effects & HEATS), default=0)
    later = [s for s in steps if s.number > heated]
    if later and later[-1].cold is not None:
        return "cold"
    rested = any(s.effects & {"cools", "waits"} or s.cold is not None for s in later)
    return "between" if rested or _kept_for_days(sub) else "hot"


def _kept_for_days(sub: Walk) -> bool:
    """Whether it keeps for more than a day out of the cold."""
    keeps = sub.formula.formula.keeps
    return keeps is not None and keeps.dry is not None and keeps.dry.seconds > DAY_S


def _raw_flour(component: Component, sub: Walk) -> bool:
    """Whether it is flour that no step of the made-ahead formula heated."""
    return component.flour and not any(s.effects & HEATS for s in sub.formula.steps)


def _of_ingredient(house: House, line: WeighedLine, facts: Ingredient) -> Component:
    """An ingredient's facts, as it comes and is prepared."""
    joined = line.joined
    item = joined.item
    known = house.once(f"component {item}", facts, lambda: _as_it_comes(house, item, facts))
    return changed(
        known,
        grams=line.grams,
        part=joined.part,
        room=house.once("room", facts, lambda: _room(house.library, line, facts)),
        cut=bool(joined.line.prepare),
        whole=joined.line.whole,
        pieces=not stays_whole(joined.line),
    )


def _as_it_comes(house: House, item: str, facts: Ingredient) -> Component:
    """An ingredient's facts, whatever line it is on."""
    plant = plant_of(item, facts, house.library.plants)
    ready = facts.state == "ready-to-eat"
    salt = salt_in(facts)
    return Component(
        item,
        facts.name,
        Fraction(0),
        facts.species,
        facts.state,
        facts.form,
        facts.tcs or needs_as_it_comes(plant, house.pack),
        facts.allergens,
        organ=facts.organ or "",
        function=facts.function or _salt_by_name(facts),
        nitrite=facts.nitrite or Fraction(0),
        cure=_cure_facts(facts),
        salt=salt,
        water=water_in(house.library, facts, salt),
        parasites=_parasites(facts),
        plant=plant,
        chilled=ready and facts.tcs and facts.arrives != "hot",
        packed=ready and facts.commercially_packed,
        no_air=_no_air(facts),
        whole_muscle=facts.whole_muscle,
        cured_roast=facts.cured_roast,
        comes=_ARRIVES[facts.arrives or "cold"],
        comes_stated=facts.arrives is not None,
        ambient=_ambient(facts),
        boils=_boils(house.library, facts, plant),
        dried=_dried(house.library, facts),
        fish=house.pack.class_of(facts.species) == "fish",
        facts=facts,
        acid=_acid(house.library, facts),
        flour=bool(facts.flour) and facts.state in RAW_STATES,
    )


def _room(library: Library, line: WeighedLine, facts: Ingredient) -> Fraction | None:
    """The most millilitres a gram of it takes up; None where only one solid piece was measured."""
    if only_in_one_piece(library, facts, line.unit_weights):
        return None
    return room_of(line.unit_weights)


_SALT = re.compile(
    r"^(?:(?:fine|coarse|sea|kosher|table|rock|flaky|flake|cooking|iodi[sz]ed) )*salt$"
    r"|^(?:sal|sel|sale|salz|meersalz)"
    r"(?: (?:marina|fina|gorda|gruesa|de mer|marino|fino|grosso))?$",
    re.IGNORECASE,
)
"""Names that are salt's alone; pink and curing salt are no such names."""


def _salt_by_name(facts: Ingredient) -> Literal["", "salt"]:
    """Salt where no `function` says what it is and its name does: it ferments what it is put to all
    the same."""
    return "salt" if _SALT.match(facts.name.replace(",", "")) else ""


_ARRIVES: dict[str, Literal["frozen", "cold", "between", "hot"]] = {
    "frozen": "frozen",
    "cold": "cold",
    "ambient": "between",
    "hot": "hot",
}


def _no_air(facts: Ingredient) -> bool | None:
    """Whether it comes frozen and packed without air; None where one of the two is stated and the
    other is neither stated nor denied."""
    if facts.arrives not in ("frozen", None) or facts.without_air is False:
        return False
    stated = (facts.arrives == "frozen", facts.without_air is True)
    return True if all(stated) else None if any(stated) else False


def _comes(course: Course) -> Literal["frozen", "cold", "between", "hot"]:
    """How warm a made-ahead formula's food is when it goes into another."""
    if hot_by(course):
        return "hot"
    if course.state == "frozen" or course.state == "cold":
        return course.state
    return "between"


def _dried(library: Library, facts: Ingredient) -> bool:
    """Whether it is dried food of an animal, or dried milk by its name; gelatine and cure aside."""
    if facts.function is not None or facts.tcs:
        return False
    if any(
        reported.dried
        for reported in library.known_names.of_names((facts.name, *facts.other_names))
    ):
        return True
    return facts.form == "dry" and facts.species not in (None, "none")


def _acid(library: Library, facts: Ingredient) -> bool:
    """Whether an ingredient is vinegar or another acid, by a name of it or of its foodstuff."""
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    names = (facts.name, *facts.other_names, *((stuff.name,) if stuff is not None else ()))
    return library.known_names.an_acid(names)


_FAT = Fraction(3, 4)
"""The share of fat from which food counts as fat: back fat does, nuts don't."""


def _boils(library: Library, facts: Ingredient, plant: str) -> Literal["", "fat", "sugar"]:
    """Whether an ingredient is fat or sugar, by its composition, its foodstuff or a name of it."""
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    reported = library.known_names.of_names((facts.name, *facts.other_names))
    if plant == "oil" or _fat_in(facts, stuff) >= _FAT or any(t.facts.fat for t in reported):
        return "fat"
    hot = (stuff is not None and stuff.facts.boils_hot) or any(t.facts.boils_hot for t in reported)
    return "sugar" if hot else ""


def _fat_in(facts: Ingredient, stuff: Foodstuff | None) -> Fraction:
    """Fat in an ingredient, as a share of its weight: its own composition's, else its foodstuff's;
    none where neither says it, the least of a range."""
    own = facts.composition
    if own is not None and own.fat is not None:
        return own.fat.low
    written = stuff.composition.fat if stuff is not None else None
    return written.low if written is not None else Fraction(0)


def _ambient(facts: Ingredient) -> bool:
    """Whether an ingredient comes in as warm as the room, stated or not said; dry goods and
    seasonings aside, which warm nothing."""
    if facts.form == "dry" or facts.function:
        return False
    return facts.arrives == "ambient" or (facts.arrives is None and not facts.tcs)


def measures_of(made: Walk) -> tuple[UnitWeight, ...]:
    """What one finished piece, one portion and one litre of a made-ahead formula weigh, so that it
    can be counted and measured."""
    return (*_pieces_of(made), *_portions_of(made), *_litre_of(made))


def portion_of(made: Walk) -> Fraction | None:
    """What one finished portion weighs, in grams; None where the formula makes none."""
    figures, makes = made.figures, made.formula.formula.makes
    if makes is None:
        return None
    if figures.portion is not None:
        return figures.portion
    if figures.per_fill and figures.fills:
        return figures.yielded / figures.fills / figures.per_fill
    return None


def _portions_of(made: Walk) -> tuple[UnitWeight, ...]:
    """What one finished portion weighs, by its word."""
    makes, grams = made.formula.formula.makes, portion_of(made)
    if makes is None or grams is None:
        return ()
    one = makes.portion_unit or "portion"
    words = dict.fromkeys(("portion", "portions", one, makes.portion_units or plural_of(one)))
    return tuple(UnitWeight(word, "", grams, None, "") for word in words)


def _litre_of(made: Walk) -> tuple[UnitWeight, ...]:
    """What a litre of it weighs, where that was weighed: with the air that is beaten in."""
    makes = made.formula.formula.makes
    if makes is None or makes.litre is None:
        return ()
    grams = makes.litre.value / (1 + (makes.overrun or Fraction(0)))
    return (UnitWeight("l", "", grams, Fraction(1000), "weighed here"),)


def _pieces_of(made: Walk) -> tuple[UnitWeight, ...]:
    figures, makes = made.figures, made.formula.formula.makes
    if makes is None or figures.fill is None:
        return ()
    if figures.pieces is not None:
        grams = figures.yielded / figures.pieces
    elif figures.filled:
        grams = figures.fill * figures.finished / figures.filled
    else:
        return ()
    words = dict.fromkeys((makes.unit, makes.plural, "each"), grams)
    if figures.to_a_fill > 1:
        line = next(ln for ln in made.lines if ln.joined.item == makes.piece)
        fill = grams * figures.to_a_fill
        words = {makes.unit: fill, makes.plural: fill} | dict.fromkeys(
            (*piece_words(line), "each"), grams
        )
    whole = figures.pieces is not None
    vessel = {makes.unit: makes.vessel, makes.plural: makes.vessel} if figures.filled else {}
    return tuple(
        UnitWeight(
            word, "", each, None, "", whole=whole and each == grams, vessel=vessel.get(word) or ""
        )
        for word, each in words.items()
    )


def _cure_facts(facts: Ingredient) -> CureFacts:
    """What curing asks of an ingredient beside its nitrite."""
    nothing = Fraction(0)
    return CureFacts(
        facts.nitrite_from, facts.nitrate or nothing, facts.erythorbate or nothing, facts.skin or ""
    )


def _parasites(facts: Ingredient) -> str:
    """What frees an ingredient of parasites, as the packs name it."""
    if facts.parasites is None:
        return ""
    by = facts.parasites.freed_by
    return SUPPLIER if by == "supplier-freezing" else by

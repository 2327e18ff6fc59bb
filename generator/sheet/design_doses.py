"""The dose of a cure in a design: the rows it is held to, what can't be dosed, and its line.

Nitrite comes from the ingredient's own share, by its label. 9 CFR 424.21(c) and 424.22(b) by the
rows held; a cure is rounded down, and never above the limit of the way it is cured.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from generator.composition.pickling import SATURATED, in_the_water
from generator.composition.pickling import Loss as Loss
from generator.composition.pickling import Uptake as Uptake
from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.marks import as_written
from generator.measures.rounding import to_side
from generator.measures.words import NARROW, plain, with_verb
from generator.reference.packs import Pack
from generator.reference.row_kinds import AdditiveRow
from generator.resolve.joined import House
from generator.rules.basics.context import authorisation_problem
from generator.rules.basics.paper import paper
from generator.scaling.scales import choose_below
from generator.sheet.design_foods import DesignFood
from generator.sheet.designed import DesignLimit, DesignLine, limit_of, weighed
from generator.sheet.station_scales import scales_at

Way = Literal[
    "comminuted", "dry", "immersion", "pumped", "bacon-dry", "bacon-immersion", "bacon-pumped"
]
Meats: TypeAlias = Sequence[tuple[DesignFood, Fraction]]
"""Foods with their grams."""
HANDBOOK = "FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook (1995), chapter 3"
BALANCE = "mass balance of what goes in"
_MEAT = ("meat", "poultry", "game", "wild-game", "ratite")
_ACCELERATOR = '--accelerator "erythorbate: erythorbate 100 %"'
_BELLY = re.compile(r"\bbell(y|ies)\b", re.IGNORECASE)
_NO_PERMISSION = (
    "This is arithmetic, never a permission. Write it into a formula: `check` holds it to every "
    "rule."
)


@dataclass(frozen=True)
class Seasoning:
    """What is wanted besides the meat: shares of the finished food. ``salt``, ``sugar`` and
    ``water`` are where they come from."""

    salt: DesignFood
    sugar: DesignFood
    water: DesignFood
    salt_share: Fraction
    sugar_share: Fraction = Fraction(0)


@dataclass(frozen=True)
class Curing:
    """A cure and its dose: ``ppm`` of ingoing nitrite, ``way`` how the meat is cured; the
    accelerator and its ppm where there is one."""

    cure: DesignFood
    ppm: Fraction | None
    way: Way
    accelerator: DesignFood | None = None
    accelerator_ppm: Fraction | None = None


@dataclass(frozen=True)
class Doses:
    """The rows a way of curing is held to, and the dose within them."""

    ppm: Fraction
    most: AdditiveRow
    least: AdditiveRow | None
    nitrite: Fraction
    skin: Fraction
    accelerator: AdditiveRow | None = None


def doses_of(house: House, meats: Meats, curing: Curing | None) -> Doses | None:
    """The rows and the dose. Raises Refused for a cure that can't be dosed, a dose outside its row,
    meat that is cured another way, and where no limits are held."""
    if curing is None:
        return None
    _check_cure(curing)
    pack = house.additives
    found = pack.row_for(AdditiveRow, curing.way) if pack is not None else None
    if pack is None or found is None or found[1].ppm is None:
        raise Refused(
            "design-no-limit",
            "The rules in force here hold no limit for curing this way.",
            "Ask your regulatory authority.",
        )
    _check_meats(house, meats, curing.way)
    ppm = _dose_within(found[1], curing.ppm)
    kept = pack.row_for(AdditiveRow, "kept-refrigerated")
    return Doses(
        ppm,
        found[1],
        kept[1] if kept is not None else None,
        curing.cure.known("nitrite"),
        _true_weight(pack, meats, curing.way),
        _accelerator_row(pack, curing),
    )


def _dose_within(row: AdditiveRow, asked: Fraction | None) -> Fraction:
    """The dose asked for, or the one that is set. Raises Refused for none, and for one outside its
    row."""
    assert row.ppm is not None
    ppm = row.ppm if asked is None and row.exact else asked
    if ppm is None:
        raise Refused(
            "design-nitrite", "How much nitrite?", "Give --nitrite.", ["--nitrite 150ppm"]
        )
    if ppm > row.ppm or (row.exact and ppm != row.ppm):
        side = "is set at" if row.exact else "may have at most"
        raise Refused(
            "dose-above-maximum" if ppm > row.ppm else "dose-below-minimum",
            f"{plain(ppm, 2)} ppm: {row.food.removeprefix('nitrite in ')} {side} "
            f"{plain(row.ppm)} ppm ({row.clause}).",
            "",
            [f"--nitrite {plain(row.ppm)}ppm"],
        )
    return ppm


def _accelerator_row(pack: Pack, curing: Curing) -> AdditiveRow | None:
    """The least of an accelerator. Raises Refused where it is required and none is named, and where
    one is named and no row is held."""
    fast = pack.row_for(AdditiveRow, f"{curing.way}-accelerator")
    if fast is not None and fast[1].bound == "max":
        if curing.accelerator is None:
            return None
        words = "An accelerator is worked out here where the law requires one: in pumped bacon."
        help = "Leave --accelerator out. A formula's own is held to its most by check."
        raise Refused("design-no-limit", words, help)
    if fast is not None and curing.accelerator is None:
        words = f"{fast[1].food}: at least {fast[1].printed_ppm} ppm ({fast[1].clause})."
        help = "Give --accelerator."
        raise Refused("accelerator-too-little", words, help, [_ACCELERATOR])
    if curing.accelerator is not None and fast is None:
        words = "The rules in force here hold no limit of an accelerator for curing this way."
        raise Refused("design-no-limit", words, "Leave --accelerator out, or ask your authority.")
    return fast[1] if fast is not None else None


def _true_weight(pack: Pack, meats: Meats, way: Way) -> Fraction:
    """The true green weight over the weighed one: of a belly whose skin isn't said to be off it is
    less."""
    skin = pack.row_for(AdditiveRow, "skin-on")
    on = way in ("bacon-dry", "bacon-pumped") and any(
        f.facts is None or f.facts.skin != "taken-off" for f, _ in meats
    )
    return (skin[1].factor or Fraction(1)) if on and skin is not None else Fraction(1)


def _check_cure(curing: Curing) -> None:
    """Raises Refused for a cure that can't be dosed."""
    facts, name = curing.cure.facts, curing.cure.name
    if facts is not None and facts.nitrite_from == "vegetable":
        raise Refused("cure-natural", f"{name}: a cure from vegetables can't be dosed.", "")
    if facts is not None and facts.nitrate is not None:
        raise Refused(
            "cure-not-covered", f"{name} has nitrate in it. There is no dose for it here.", ""
        )
    potassium = facts is not None and facts.nitrite_from == "potassium-nitrite"
    if potassium and "bacon" in curing.way:
        words = (
            f"{name}: bacon has its own dose for the potassium salt. It isn't in the rules here."
        )
        raise Refused("cure-not-covered", words, "")
    strength = curing.cure.shares["nitrite"]
    if not strength.low:
        raise Refused(
            "cure-strength-missing",
            f"{name}: how much of it is nitrite?",
            "Type it as its label says. Nothing is guessed.",
            [as_written(f'--cure "{curing.cure.id}: nitrite 6.25 %, salt 93.75 %"')],
        )


def _check_meats(house: House, meats: Meats, way: Way) -> None:
    """Raises Refused for what is no meat, a belly that may be bacon, and ground meat that another
    way of curing would allow more."""
    for food, _ in meats:
        facts = food.facts
        if facts is None:
            continue
        if house.pack.class_of(facts.species) not in _MEAT:
            raise Refused(
                "design-no-meat",
                f"{with_verb(food.name, 'is')} neither meat nor poultry: there is no dose for it.",
                "Leave --cure out.",
            )
        bacon = "bacon" in way
        if not bacon and (facts.skin is not None or _BELLY.search(food.name)):
            kind = {"dry": "dry", "immersion": "immersion", "pumped": "pumped"}.get(way, "dry")
            words = f"{food.name}: bacon has its own doses, and they are the lower ones."
            raise Refused("bacon-or-not", words, "", [f"--as bacon-{kind}"])
        ground = facts.form in (None, "comminuted")
        if ground and way != "comminuted":
            words = f"{food.name} counts as comminuted: its form isn't stated as intact."
            help = "Comminuted meat has the dose of comminuted meat, however it is cured."
            raise Refused("design-comminuted", words, help, ["--as comminuted"])


def row_ppm(doses: Doses) -> Fraction:
    assert doses.most.ppm is not None
    return doses.most.ppm


def required_ppm(doses: Doses) -> Fraction:
    assert doses.accelerator is not None and doses.accelerator.ppm is not None
    return doses.accelerator.ppm


def cure_line(
    house: House,
    station: str,
    part: str,
    curing: Curing,
    exact: Fraction,
    at: Fraction,
    most: Fraction,
    doses: Doses,
) -> DesignLine:
    """The cure, rounded down: ``at`` are the grams for its dose beside what the scale shows of the
    rest, ``most`` those of the limit."""
    food = curing.cure
    basis = Basis(
        (
            ("Nitrite wanted", f"{plain(doses.ppm, 2)}{NARROW}ppm"),
            ("Nitrite in the cure", percent(doses.nitrite, 3)),
            *skin_words(doses),
        ),
        "rounded down to the scale's step, and so far that its error stays within the limit",
        f"{doses.most.clause}; {HANDBOOK}",
    )
    found = choose_below(at, most, food.permitted, scales_at(house, station))
    return weighed(house, station, part, food, exact, basis, found)


@dataclass(frozen=True)
class Dosed:
    """A line whose dose is held to a row: ``ppm_of`` says what so many grams of it come to."""

    line: DesignLine
    ppm_of: Callable[[Fraction], Fraction]

    @property
    def off_g(self) -> Fraction:
        """What its weighings may be off, in grams, either way."""
        found = self.line.weighing
        return found.scale.uncertainty(found.count) if found.scale is not None else Fraction(0)

    @property
    def ppm(self) -> Fraction:
        """What the scale shows comes to."""
        return self.ppm_of(self.line.weighing.grams)

    @property
    def within(self) -> Between:
        """From what to what it comes by the scale's error."""
        grams, off = self.line.weighing.grams, self.off_g
        return Between(self.ppm_of(max(grams - off, Fraction(0))), self.ppm_of(grams + off))


def limits_of(
    house: House, doses: Doses, cure: Dosed, fast: Dosed | None = None
) -> tuple[DesignLimit, ...]:
    """The rows a cure is held to, and its accelerator where there is one."""
    ppm, within = cure.ppm, cure.within
    found = [limit_of(house, doses.most, "Nitrite", "max", ppm, within)]
    if doses.most.exact:
        name = "Nitrite, a set dose"
        found.append(limit_of(house, doses.most, name, "min", ppm, within, exact=True))
    elif doses.least is not None and doses.least.ppm is not None:
        name = "Nitrite, if it is kept cold"
        found.append(limit_of(house, doses.least, name, "min", ppm, within))
    if fast is not None and doses.accelerator is not None:
        name = "Erythorbate or ascorbate"
        found.append(limit_of(house, doses.accelerator, name, "min", fast.ppm, fast.within))
    return tuple(found)


def dose_notes(doses: Doses, cure: Dosed, limits: Sequence[DesignLimit]) -> tuple[str, ...]:
    """The rows that aren't surely met, each with what would."""
    found: list[str] = []
    for one in limits:
        if one.verdict != "meets":
            help = _surer(doses, cure, one) if one.bound == "min" and not one.set else ""
            help = help or "Make more at a time, or weigh it on a finer scale."
            found.append(f"{one.name}: {one.words}. {help}")
    return tuple(found)


def _surer(doses: Doses, cure: Dosed, least: DesignLimit) -> str:
    """The dose to ask for so that the least is sure; "" where this scale's next steps aren't sure
    of both ends."""
    found = cure.line.weighing
    assert found.scale is not None
    step, grams = found.scale.division * found.count, found.grams
    each = cure.ppm_of(grams + step) - cure.ppm_of(grams)
    short = least.row_ppm - cure.within.low
    grams += step * max(math.ceil(short / each), 1)
    while cure.ppm_of(grams - cure.off_g) < least.row_ppm:
        grams += step
    asked = math.ceil(cure.ppm_of(grams + step))
    surely = cure.ppm_of(grams + step + cure.off_g) <= row_ppm(doses) and asked <= row_ppm(doses)
    return f"Ask for --nitrite {asked}ppm." if surely else ""


def skin_words(doses: Doses) -> tuple[tuple[str, str], ...]:
    if doses.skin == 1:
        return ()
    return (("Skin", f"counts as left on: green weight × {plain(doses.skin)}"),)


def cure_notes(
    house: House, doses: Doses | None, cure: Dosed | None, limits: Sequence[DesignLimit]
) -> tuple[str, ...]:
    """What is to be known of a cure: its variance, the rows it may miss, that it permits nothing;
    nothing without one."""
    if doses is None or cure is None:
        return ()
    asked = paper(house)
    none = f"Curing needs a {asked}. None is on file here."
    problem = authorisation_problem(house, "cure", none, f"The {asked} for curing")
    unsure = dose_notes(doses, cure, limits)
    return tuple(one for one in (problem, *unsure, _NO_PERMISSION) if one)


def weighed_meats(house: House, station: str, part: str, meats: Meats) -> list[DesignLine]:
    """Foods as the station's scale shows them: all that is dosed on them is dosed on that."""
    return [weighed(house, station, part, f, g, Basis((), "as asked")) for f, g in meats]


def percent(share: Fraction, places: int = 2) -> str:
    return f"{plain(share * 100, places)}{NARROW}%"


def line_if(
    house: House, station: str, part: str, food: DesignFood, grams: Fraction, basis: Basis
) -> list[DesignLine]:
    return [weighed(house, station, part, food, grams, basis)] if grams else []


def amount_with(wanted: Fraction, food: DesignFood, name: str, brought: Fraction) -> Fraction:
    """How much of a food brings so much of a constituent. Raises Refused where the cure brings more
    salt than is wanted: ``brought``, as a share of what the salt wanted is a share of."""
    if wanted < 0:
        raise Refused(
            "design-too-salt",
            "The cure alone brings more salt than is wanted.",
            f"It brings {percent(brought, 2)} of salt. Ask for more salt, or less nitrite.",
            [f"--salt {plain(to_side(brought * 100, 'up', Fraction(1, 10)))}%"],
        )
    share = food.known(name) if wanted else Fraction(1)
    if not share:
        raise Refused(
            "design-figure", f"{with_verb(food.name, 'has')} no {name} in it.", f"Name a {name}."
        )
    return wanted / share


def check_brine(
    seasoning: Seasoning,
    salt: Fraction,
    cure: Fraction,
    curing: Curing | None,
    water: Fraction,
) -> None:
    """Raises Refused for more in the pickle than its water, and for salt that won't dissolve."""
    brought = cure * curing.cure.known("salt") if curing is not None else Fraction(0)
    pure = salt * seasoning.salt.known("salt") + brought if salt else brought
    if water <= 0:
        raise Refused(
            "design-too-strong",
            "What is wanted leaves no water in it to dissolve in.",
            "Ask for less salt and sugar, or for more pickle or liquid.",
        )
    if in_the_water(pure, water) > SATURATED:
        raise Refused(
            "design-too-strong",
            f"The brine would be {percent(in_the_water(pure, water), 1)} salt: more than "
            f"{percent(SATURATED, 1)} doesn't dissolve.",
            "Ask for less salt, or for more pickle or liquid.",
        )

"""Brines and jars designed backwards: food and liquid that come to one salt and one acid."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.composition.pickling import MILLION, Jar, in_the_water, most_cure_at_balance
from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.words import plain
from generator.reference.row_kinds import AcidityRow
from generator.resolve.joined import House
from generator.sheet.design_doses import (
    BALANCE,
    HANDBOOK,
    Curing,
    Dosed,
    Doses,
    Meats,
    Seasoning,
    amount_with,
    check_brine,
    cure_line,
    cure_notes,
    doses_of,
    limits_of,
    line_if,
    percent,
    row_ppm,
    weighed_meats,
)
from generator.sheet.design_foods import DesignFood
from generator.sheet.designed import (
    Design,
    DesignFigure,
    DesignLimit,
    DesignLine,
    cautions_of,
    holds,
    notes_of,
    total,
    weighed,
    yaml_of,
)

_WORTH = Fraction(1, 20)
"""In percent: less of a constituent than this isn't told."""


def brine(
    house: House,
    station: str,
    foods: Meats,
    liquid: Fraction,
    seasoning: Seasoning,
    vinegar: DesignFood | None = None,
    acid: Fraction = Fraction(0),
    curing: Curing | None = None,
) -> Design:
    """A brine or a jar that comes to balance with the food in it: salt as a share of food and
    liquid together, acid as a share of all. Raises Refused where there is no such brine."""
    solid = weighed_meats(house, station, "food", foods)
    food_g = sum((g for _, g in foods), Fraction(0))
    jar, doses = Jar(food_g, liquid), doses_of(house, foods, curing)
    salt, sugar = jar.salt(seasoning.salt_share), jar.salt(seasoning.sugar_share)
    cure = _cure_at_balance(curing, doses, food_g, liquid + salt + sugar)
    salted = cure * curing.cure.known("salt") if curing is not None else Fraction(0)
    salt = amount_with(salt - salted, seasoning.salt, "salt", salted / (food_g + liquid))
    sugar = amount_with(sugar, seasoning.sugar, "sugar", Fraction(0))
    sour = _vinegar(jar, vinegar, acid, salt + sugar + cure)
    check_brine(seasoning, salt, cure, curing, liquid)
    basis = Basis(
        (
            ("Food", kilos(food_g)),
            ("Liquid", kilos(liquid)),
            ("Food to liquid", f"1 : {plain(liquid / food_g, 2)}"),
        ),
        "salt and sugar = share × (food + liquid); acid = share × all that is in the vessel",
        BALANCE,
    )
    lines = line_if(house, station, "brine", seasoning.water, liquid - sour, basis)
    if vinegar is not None and sour:
        lines.append(weighed(house, station, "brine", vinegar, sour, basis))
    lines += line_if(house, station, "brine", seasoning.salt, salt, basis)
    lines += line_if(house, station, "brine", seasoning.sugar, sugar, basis)
    limits, extra, dosed = _cured(house, station, lines, curing, doses, total(solid), cure)
    figures = (*_balance_figures(lines, solid, liquid), *extra)
    lines += solid
    way = (f"cured_as: {curing.way}",) if curing is not None else ()
    return Design(
        "brine",
        f"Brine for {kilos(food_g)} of food in {kilos(liquid)} of liquid",
        tuple(lines),
        figures,
        (*yaml_of(lines, "food"), *way),
        ("do: soak" if sour else "do: brine", "add: [food]"),
        limits,
        cautions_of(house, ["cure"] * bool(curing), ["acidifies"] * bool(sour)),
        (*cure_notes(house, doses, dosed, limits), *_acid_notes(house, sour), *notes_of(lines)),
    )


def _cured(
    house: House,
    station: str,
    lines: list[DesignLine],
    curing: Curing | None,
    doses: Doses | None,
    food_g: Fraction,
    exact: Fraction,
) -> tuple[tuple[DesignLimit, ...], tuple[DesignFigure, ...], Dosed | None]:
    """The cure put to the lines of a brine, with its limits and its dose; nothing without one."""
    if curing is None or doses is None:
        return (), (), None
    rest = total(lines)
    at = most_cure_at_balance(doses.ppm, doses.nitrite, food_g, rest)
    most = most_cure_at_balance(row_ppm(doses), doses.nitrite, food_g, rest)
    lines.append(cure_line(house, station, "brine", curing, exact, at, most, doses))
    nitrite, whole = doses.nitrite, food_g + rest
    dosed = Dosed(lines[-1], lambda grams: grams * nitrite / (whole + grams) * MILLION)
    rule = f"nitrite × 1,000,000 ÷ (meat + brine), method two: {HANDBOOK}"
    value = Between.just(dosed.ppm)
    figure = DesignFigure("nitrite_ppm", "ppm", "Ingoing nitrite", value, Basis((), rule))
    return limits_of(house, doses, dosed), (figure,), dosed


def _cure_at_balance(
    curing: Curing | None, doses: Doses | None, food_g: Fraction, rest: Fraction
) -> Fraction:
    """The cure in a brine of ``rest`` grams besides, the salt it brings taken off the salt."""
    if curing is None or doses is None:
        return Fraction(0)
    share = doses.ppm / MILLION
    return share * (food_g + rest) / (doses.nitrite - share * (1 - curing.cure.known("salt")))


def _vinegar(jar: Jar, vinegar: DesignFood | None, acid: Fraction, dry: Fraction) -> Fraction:
    """The vinegar for so much acid. Raises Refused where even all of the liquid isn't enough."""
    if not acid:
        return Fraction(0)
    if vinegar is None:
        raise Refused(
            "design-vinegar",
            "Which vinegar?",
            "Give --vinegar with its acid, as its label says.",
            ['--vinegar "cider-vinegar: acid 5 %"'],
        )
    strength = vinegar.known("acid")
    if not strength:
        raise Refused(
            "design-vinegar",
            f"{vinegar.name}: no acid is stated.",
            "Type it as its label says.",
            [f'--vinegar "{vinegar.id}: acid 5 %"'],
        )
    found = jar.vinegar(acid, strength, dry)
    if found > jar.liquid_g:
        reach = jar.liquid_g * strength / (jar.food_g + jar.liquid_g + dry)
        raise Refused(
            "design-too-sour",
            f"Even all vinegar and no water comes to {percent(reach, 2)} of acid.",
            "Take less food, more liquid or a stronger vinegar.",
        )
    return found


def _balance_figures(
    lines: Sequence[DesignLine], foods: Sequence[DesignLine], liquid: Fraction
) -> tuple[DesignFigure, ...]:
    """Salt, sugar and acid once food and brine are one, by what is weighed."""
    food_g = total(foods)
    salt, everything = holds(lines, "salt"), food_g + total(lines)
    water = holds(lines, "water") + holds(foods, "water")
    found = [
        ("salt_pct", "Salt, of food and liquid", salt.times(100 / (food_g + liquid))),
        ("salt_of_all_pct", "Salt, of everything in it", salt.times(100 / everything)),
        (
            "salt_in_water_pct",
            "Salt, of salt and water",
            Between(
                in_the_water(salt.low, water.high) * 100, in_the_water(salt.high, water.low) * 100
            ),
        ),
        (
            "sugar_pct",
            "Sugar, of food and liquid",
            holds(lines, "sugar").times(100 / (food_g + liquid)),
        ),
        ("acid_pct", "Acid, of everything in it", holds(lines, "acid").times(100 / everything)),
    ]
    known = all(ln.food.facts is not None or ln.food.shares["water"].high for ln in foods)
    basis = Basis(
        (("Food", kilos(food_g)), ("Brine", kilos(total(lines)))),
        "what goes in ÷ the weight it spreads through; the food's own salt and acid aren't counted",
        BALANCE,
    )
    return tuple(
        DesignFigure(key, "pct", words, value, basis)
        for key, words, value in found
        if value.high >= _WORTH and (known or key != "salt_in_water_pct")
    )


def _acid_notes(house: House, sour: Fraction) -> tuple[str, ...]:
    """What a share of acid doesn't say: the pH, and what the law asks of it."""
    if not sour:
        return ()
    notes = ["A share of acid is no pH. Measure the pH of every batch at balance."]
    rows = [
        (row.below or row.most, "below" if row.below is not None else "at most", row.clause)
        for _, row in house.pack.rows_of(AcidityRow)
        if row.aw_most is None and row.aw_below is None and not (row.below is row.most is None)
    ]
    if rows:
        figure, side, clause = min((f, s, c) for f, s, c in rows if f is not None)
        notes.append(
            f"Kept out of the cold by its acid alone? It needs a plan on file, and {side} pH "
            f"{plain(figure)} ({clause})."
        )
    return tuple(notes)

"""Pickles and dry cures designed backwards: from the salt and the nitrite that are wanted in the
finished meat to what goes on the scale. The arithmetic is ``composition.pickling``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from generator.composition.pickling import MILLION, Loss, Uptake, cure_on_meat
from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.rounding import to_side
from generator.measures.words import NARROW, plain, with_verb
from generator.resolve.joined import House
from generator.scaling.scales import choose, choose_above
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
    required_ppm,
    row_ppm,
    skin_words,
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
from generator.sheet.station_scales import scales_at

_BOTH_LOSSES = (
    "The least salt is where juice takes its salt along as it cooks, the most where water alone is "
    "lost."
)


def pickle(
    house: House,
    station: str,
    meats: Meats,
    uptake: Uptake,
    seasoning: Seasoning,
    curing: Curing | None,
    loss: Loss = "water",
    spare: Fraction = Fraction(0),
) -> Design:
    """The pickle that is pumped. ``uptake`` has the green weight; ``spare`` is made beside what
    goes in, a share of it. Raises Refused where there is no such pickle."""
    doses = doses_of(house, meats, curing)
    flesh = weighed_meats(house, station, "meat", meats)
    if doses is not None:
        uptake = replace(uptake, true=doses.skin)
    if uptake.stays <= 0:
        raise Refused("design-drips", "All of the pickle would run out again.", "Check --drips.")
    made = uptake.green_g * uptake.pump * (1 + spare)
    shares = _pickle_shares(uptake, seasoning, curing, doses, loss)
    salt, sugar, cure, accelerator = (shares[n] * made for n in _INGREDIENTS)
    water = made - salt - sugar - cure - accelerator
    check_brine(seasoning, salt, cure, curing, water)
    basis = _pump_basis(uptake, loss)
    lines = [
        *line_if(house, station, "pickle", seasoning.salt, salt, basis),
        *line_if(house, station, "pickle", seasoning.sugar, sugar, basis),
    ]
    short = made - total(lines) - accelerator - cure
    lines.insert(0, _rounded_up(house, station, seasoning.water, water, short, basis))
    limits: tuple[DesignLimit, ...] = ()
    dosed: Dosed | None = None
    figures = list(_salt_figures(lines, uptake, None))
    if curing is not None and doses is not None:
        lines = _with_accelerator(house, station, lines, uptake, curing, doses, accelerator, cure)
        rest = total(lines)
        at = uptake.most_cure(doses.ppm, doses.nitrite, rest)
        most = uptake.most_cure(row_ppm(doses), doses.nitrite, rest)
        lines.append(cure_line(house, station, "pickle", curing, cure, at, most, doses))
        dosed = _in_the_pickle(lines, lines[-1], uptake, doses.nitrite)
        fast = next((ln for ln in lines if ln.food is curing.accelerator), None)
        faster = (
            _in_the_pickle(lines, fast, uptake, fast.food.known("erythorbate")) if fast else None
        )
        limits = limits_of(house, doses, dosed, faster)
        figures = list(_salt_figures(lines, uptake, curing))
        figures.append(_ppm_figure(dosed.ppm, doses, uptake))
    figures.append(_grams_figure("pickle_g", "Pickle in all", total(lines, "pickle")))
    going_in = uptake.green_g * uptake.pump
    figures.append(_grams_figure("goes_in_g", "Of it goes into the meat", going_in))
    lines += flesh
    way = curing.way if curing is not None else None
    return Design(
        "pickle",
        f"Pickle for {kilos(uptake.green_g)} of meat, pumped {percent(uptake.pump)}",
        tuple(lines),
        tuple(figures),
        (*yaml_of(lines, "meat"), *((f"cured_as: {way}",) if way else ())),
        ("do: inject", "add: [meat]", f"pump: {plain(uptake.pump * 100)} % of green weight"),
        limits,
        cautions_of(house, ["cure"] if curing else [], (), ["needles"]),
        (*cure_notes(house, doses, dosed, limits), _BOTH_LOSSES, *notes_of(lines)),
    )


_INGREDIENTS = ("salt", "sugar", "cure", "accelerator")


def _rounded_up(
    house: House,
    station: str,
    food: DesignFood,
    exact: Fraction,
    short: Fraction,
    basis: Basis,
) -> DesignLine:
    """The water, rounded up, so that no less pickle is made than is asked for: what the scale
    leaves out of the rest, a step of the cure among it, comes to it."""
    found = choose(max(exact, short), food.permitted, scales_at(house, station))
    if found.scale is not None:
        step = found.scale.division
        each = to_side(max(exact, short) / found.count, "up", step)
        each += step if each == max(exact, short) / found.count else 0
        found = replace(found, grams=each * found.count, each=each)
    return weighed(house, station, "pickle", food, exact, basis, found)


def _pickle_shares(
    uptake: Uptake,
    seasoning: Seasoning,
    curing: Curing | None,
    doses: Doses | None,
    loss: Loss,
) -> dict[str, Fraction]:
    """The shares of the pickle that are each ingredient; the salt of the cure is taken off."""
    cure = accelerator = salted = Fraction(0)
    if curing is not None and doses is not None:
        cure = uptake.cure_share(doses.ppm, doses.nitrite)
        salted = cure * curing.cure.known("salt")
        if curing.accelerator is not None:
            wanted = curing.accelerator_ppm or required_ppm(doses)
            accelerator = uptake.cure_share(wanted, curing.accelerator.known("erythorbate"))
    salt = uptake.of_the_pickle(seasoning.salt_share, loss) - salted
    return {
        "salt": amount_with(salt, seasoning.salt, "salt", uptake.in_the_meat(salted, loss)),
        "sugar": amount_with(
            uptake.of_the_pickle(seasoning.sugar_share, loss), seasoning.sugar, "sugar", Fraction(0)
        ),
        "cure": cure,
        "accelerator": accelerator,
    }


def cure(
    house: House,
    station: str,
    meats: Meats,
    seasoning: Seasoning,
    curing: Curing,
    loses: Fraction = Fraction(0),
) -> Design:
    """A cure rubbed on or mixed in: dry cured, or comminuted. ``loses`` is what it dries by, as
    water: the salt is a share of what is left. Raises Refused where there is no such cure."""
    if curing.way not in ("dry", "bacon-dry", "comminuted"):
        raise Refused(
            "design-way",
            f"`{curing.way}` needs a pickle.",
            "Ask for `design pickle` or `design brine`.",
        )
    doses = doses_of(house, meats, curing)
    assert doses is not None
    flesh = weighed_meats(house, station, "meat", meats)
    green, asked = total(flesh), sum((g for _, g in meats), Fraction(0))
    exact = cure_on_meat(doses.ppm, doses.nitrite, asked * doses.skin)
    salt, sugar = _rubbed_on(seasoning, curing, exact, asked * (1 - loses))
    basis = Basis(
        (("Green weight", kilos(green)), *skin_words(doses)),
        "cure = ppm × green weight ÷ its nitrite; salt is a share of the finished weight: what is "
        "left of the meat, with all that is rubbed on",
        HANDBOOK,
    )
    lines = [
        *line_if(house, station, "cure", seasoning.salt, salt, basis),
        *line_if(house, station, "cure", seasoning.sugar, sugar, basis),
    ]
    on, nitrite = green * doses.skin, doses.nitrite
    at, most = (cure_on_meat(ppm, nitrite, on) for ppm in (doses.ppm, row_ppm(doses)))
    lines.append(cure_line(house, station, "cure", curing, exact, at, most, doses))
    dosed = Dosed(lines[-1], lambda grams: grams * nitrite / on * MILLION)
    limits = limits_of(house, doses, dosed)
    finished = green * (1 - loses) + total(lines)
    weights = Basis(
        (("Meat that is left", kilos(green * (1 - loses))), ("Rubbed on", kilos(total(lines)))),
        "what goes in ÷ the meat that is left with all that is rubbed on",
        BALANCE,
    )
    figures = [
        DesignFigure(f"{name}_pct", "pct", words, Between.just(held * 100 / finished), weights)
        for name, words in (("salt", "Salt in the finished meat"), ("sugar", "Sugar in it"))
        if (held := holds(lines, name).low)
    ]
    dose = Between.just(dosed.ppm)
    figures.append(DesignFigure("nitrite_ppm", "ppm", "Ingoing nitrite", dose, basis))
    figures.append(_grams_figure("finished_g", "Finished weight", finished))
    lines += flesh
    return Design(
        "cure",
        f"Cure for {kilos(green)} of meat, {curing.way}",
        tuple(lines),
        tuple(figures),
        (*yaml_of(lines, "meat"), f"cured_as: {curing.way}"),
        (),
        limits,
        cautions_of(house, ["cure"]),
        (*cure_notes(house, doses, dosed, limits), *notes_of(lines)),
    )


def _rubbed_on(
    seasoning: Seasoning, curing: Curing, cure_g: Fraction, left: Fraction
) -> tuple[Fraction, Fraction]:
    """The grams of salt and sugar that are the shares wanted of ``left`` grams of meat with salt,
    sugar and ``cure_g`` of cure on it; the salt of the cure is taken off. Raises Refused where the
    shares are all of it, and where the cure alone brings more salt."""
    shares = (
        (seasoning.salt, "salt", seasoning.salt_share),
        (seasoning.sugar, "sugar", seasoning.sugar_share),
    )
    # finished = left + cure + Σ (share × finished − brought) ÷ strength, solved for it
    strength = {name: food.known(name) if share else Fraction(1) for food, name, share in shares}
    for food, name, share in shares:
        if share and not strength[name]:
            raise Refused(
                "design-figure",
                f"{with_verb(food.name, 'has')} no {name} in it.",
                f"Name a {name}.",
            )
    rest = 1 - sum((share / strength[name] for _, name, share in shares), Fraction(0))
    if rest <= 0:
        raise Refused(
            "design-too-strong",
            "Salt and sugar would be all of the finished meat.",
            "Ask for less of them.",
        )
    brought = cure_g * curing.cure.known("salt")
    salted = seasoning.salt_share > 0
    finished = (left + cure_g - (brought / strength["salt"] if salted else 0)) / rest
    salt = amount_with(
        seasoning.salt_share * finished - brought, seasoning.salt, "salt", brought / finished
    )
    return salt, seasoning.sugar_share * finished / strength["sugar"]


def _with_accelerator(
    house: House,
    station: str,
    lines: list[DesignLine],
    uptake: Uptake,
    curing: Curing,
    doses: Doses,
    exact: Fraction,
    cure: Fraction,
) -> list[DesignLine]:
    """The lines with the accelerator, rounded up."""
    food = curing.accelerator
    if food is None:
        return lines
    rest = total(lines) + cure
    strength = food.known("erythorbate")
    least = uptake.most_cure(required_ppm(doses), strength, rest)
    at = max(least, uptake.most_cure(curing.accelerator_ppm or required_ppm(doses), strength, rest))
    found = choose_above(at, least, food.permitted, scales_at(house, station))
    assert doses.accelerator is not None
    basis = Basis(
        (("Least", f"{doses.accelerator.printed_ppm}{NARROW}ppm"),),
        "rounded up to the scale's step",
        f"{doses.accelerator.document}, {doses.accelerator.clause}",
    )
    return [*lines, weighed(house, station, "pickle", food, exact, basis, found)]


def _in_the_pickle(
    lines: Sequence[DesignLine], line: DesignLine, uptake: Uptake, strength: Fraction
) -> Dosed:
    """What a line of the pickle comes to in the meat, ``strength`` of it the substance."""
    rest = total(lines) - line.weighing.grams
    return Dosed(line, lambda grams: uptake.ppm(grams, strength, rest + grams))


def _salt_figures(
    lines: Sequence[DesignLine], uptake: Uptake, curing: Curing | None
) -> tuple[DesignFigure, ...]:
    """Salt and sugar in the finished meat, by what is weighed."""
    whole = total(lines)
    found: list[DesignFigure] = []
    for name, words in (("salt", "Salt in the finished meat"), ("sugar", "Sugar in it")):
        share = holds(lines, name).low / whole
        ends = sorted(uptake.in_the_meat(share, loss) * 100 for loss in ("juice", "water"))
        if share:
            value = Between(ends[0], ends[1])
            basis = Basis(
                ((name.capitalize(), f"{percent(share, 2)} of the pickle"),),
                f"{name} in the pickle that stays ÷ finished weight",
                BALANCE,
            )
            found.append(DesignFigure(f"{name}_pct", "pct", words, value, basis))
    return tuple(found)


def _ppm_figure(ppm: Fraction, doses: Doses, uptake: Uptake) -> DesignFigure:
    basis = Basis(
        (("Pump", f"{percent(uptake.pump, 2)} of green weight"), *skin_words(doses)),
        "nitrite × pump × 1,000,000 ÷ pickle; what drips out again counts",
        HANDBOOK,
    )
    return DesignFigure("nitrite_ppm", "ppm", "Ingoing nitrite", Between.just(ppm), basis)


def _grams_figure(key: str, words: str, grams: Fraction) -> DesignFigure:
    return DesignFigure(key, "g", words, Between.just(grams), Basis((), "what is weighed"))


def _pump_basis(uptake: Uptake, loss: Loss) -> Basis:
    inputs = [("Green weight", kilos(uptake.green_g)), ("Pump", percent(uptake.pump, 2))]
    if uptake.drips:
        inputs.append(("Drips out", percent(uptake.drips, 2)))
    if uptake.loses:
        inputs.append(("Cook loss", f"{percent(uptake.loses, 2)}, as {loss}"))
    rule = "share of the pickle = share wanted × finished weight ÷ pickle that stays"
    return Basis(tuple(inputs), rule, BALANCE)

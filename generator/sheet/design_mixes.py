"""Mixes and blends designed backwards: from fat, milk solids, sugar and solids, or from fat alone,
to what goes on the scale. The arithmetic is ``composition.blending``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from generator.composition.blending import MOST_FOODS, Food, NoMix, Reach, mixed_to, square, to_add
from generator.files.finding import Refused
from generator.measures.basis import Basis
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, counted, listed, plain
from generator.resolve.joined import House
from generator.sheet.design_foods import CALLED, DesignFood
from generator.sheet.designed import (
    Design,
    DesignFigure,
    DesignLine,
    holds,
    notes_of,
    total,
    weighed,
    yaml_of,
)

_HUNDREDTH = Fraction(1, 100)
TARGETS = ("fat", "msnf", "sugar", "solids")
_METHOD = (
    "one equation for the weight and one a target, solved exactly (the algebraic method; Goff, Ice "
    "Cream Technology, University of Guelph)"
)
_SQUARE = "Pearson's square: parts are the differences across it"


def mix(
    house: House,
    station: str,
    foods: Sequence[DesignFood],
    wanted: Mapping[str, Fraction],
    whole: Fraction,
    fixed: Sequence[tuple[DesignFood, Fraction]] = (),
) -> Design:
    """The mix of some foods that has every constituent ``wanted`` and the ``fixed`` foods at their
    share, ``whole`` grams of it. Raises Refused where there is no such mix, naming what binds."""
    every = [*foods, *(food for food, _ in fixed)]
    _check_foods(every, wanted)
    grams = _solved(foods, wanted, whole, fixed)
    inputs = tuple((_called(n), _percent(w)) for n, w in wanted.items())
    basis = Basis((("Mix", kilos(whole)), *inputs), _METHOD, _sources(every))
    lines = [
        weighed(house, station, "mix", food, g, basis)
        for food, g in zip(every, grams, strict=True)
        if g
    ]
    nothing = [f.name for f, g in zip(every, grams, strict=True) if not g]
    notes = tuple(f"{name} isn't needed for it." for name in nothing)
    return Design(
        "mix",
        f"Mix, {kilos(whole)}",
        tuple(lines),
        _figures(lines, TARGETS, "of the mix"),
        yaml_of(lines),
        notes=(*notes, *notes_of(lines)),
    )


def _solved(
    foods: Sequence[DesignFood],
    wanted: Mapping[str, Fraction],
    whole: Fraction,
    fixed: Sequence[tuple[DesignFood, Fraction]],
) -> tuple[Fraction, ...]:
    """The grams of the foods and of those of a fixed share. Raises Refused."""
    alone = {_only(food): part for food, part in fixed}
    blend = [Food(f.name, {n: f.known(n) for n in wanted}) for f in foods]
    for food, _ in fixed:
        shares = {n: food.known(n) for n in wanted}
        blend.append(Food(food.name, {**shares, _only(food): Fraction(1)}))
    try:
        return mixed_to(blend, {**wanted, **alone}, whole)
    except NoMix as none:
        raise _refused(none, blend, {**wanted, **alone}) from None


def blend(
    house: House,
    station: str,
    foods: tuple[DesignFood, DesignFood],
    fat: Fraction,
    whole: Fraction,
) -> Design:
    """Two foods blended to a share of fat, ``whole`` grams of it, by Pearson's square. Raises
    Refused for a share that isn't between theirs."""
    one, other = foods
    try:
        parts = square(one.known("fat"), other.known("fat"), fat)
    except ValueError:
        raise _out_of_reach(foods, fat) from None
    inputs = tuple(
        (
            food.name,
            f"{_percent(food.known('fat'))} fat, "
            f"{counted(half_up(part * 100, _HUNDREDTH), 'part')}",
        )
        for food, part in zip(foods, parts, strict=True)
    )
    basis = Basis(inputs, _SQUARE, _sources(foods))
    lines = [
        weighed(house, station, "meat", food, whole * part / sum(parts), basis)
        for food, part in zip(foods, parts, strict=True)
        if part
    ]
    return _blended(lines, f"Blend, {kilos(whole)}, {_percent(fat)} fat")


def topped_up(
    house: House, station: str, have: tuple[DesignFood, Fraction], added: DesignFood, fat: Fraction
) -> Design:
    """What there is brought to a share of fat by adding fat or lean. Raises Refused where no amount
    does."""
    food, grams = have
    try:
        more = to_add(grams, food.known("fat"), added.known("fat"), fat)
    except ValueError:
        raise _out_of_reach((food, added), fat) from None
    inputs = (
        (food.name, f"{kilos(grams)}, {_percent(food.known('fat'))} fat"),
        (added.name, f"{_percent(added.known('fat'))} fat"),
    )
    rule = "to add = what there is × (its fat − wanted) ÷ (wanted − fat of what is added)"
    basis = Basis(inputs, rule, _sources((food, added)))
    lines = [weighed(house, station, "meat", food, grams, Basis((), "as asked"))]
    if more:
        lines.append(weighed(house, station, "meat", added, more, basis))
    return _blended(lines, f"{food.name} brought to {_percent(fat)} fat")


def _blended(lines: Sequence[DesignLine], title: str) -> Design:
    figures = _figures(lines, ("fat",), "of the blend")
    return Design("blend", title, tuple(lines), figures, yaml_of(lines), notes=notes_of(lines))


def _only(food: DesignFood) -> str:
    """The constituent that a food of a fixed share alone has: itself."""
    return f"={food.id}"


def _called(name: str) -> str:
    if name.startswith("="):
        return f"the share of {name[1:]}"
    return CALLED.get(name, name)


def _check_foods(foods: Sequence[DesignFood], wanted: Mapping[str, Fraction]) -> None:
    """Raises Refused for a food twice, for too many, and for no target."""
    ids = [food.id for food in foods]
    twice = next((ident for ident in ids if ids.count(ident) > 1), None)
    if twice is not None:
        raise Refused("design-twice", f"{twice} is named twice.", "Leave one out.")
    if len(foods) > MOST_FOODS:
        raise Refused("design-too-many", f"A mix has at most {MOST_FOODS} foods here.", "")
    if not wanted:
        raise Refused(
            "design-no-target", "What is wanted of it?", "Give --fat, --msnf, --sugar or --solids."
        )


def _refused(none: NoMix, foods: Sequence[Food], asked: Mapping[str, Fraction]) -> Refused:
    """Why there is no such mix, or more than one, and which target binds."""
    if none.free:
        targets = [n for n in TARGETS if n not in asked]
        more = (
            f" Or add a target: {listed([_called(n) for n in targets], 'or')}." if targets else ""
        )
        return Refused(
            "design-many",
            f"Many mixes of these {len(foods)} foods meet what is wanted.",
            f"Leave out {counted(none.free, 'food')}, or fix one's share with --with.{more}",
        )
    words = [_reach_words(reach) for reach in none.reaches]
    less = f" It would need less than nothing of {none.short_of}." if none.short_of else ""
    return Refused(
        "design-none",
        f"There is no such mix.{less} {' '.join(words)}".strip(),
        "Change that target, or take another food.",
    )


def _reach_words(reach: Reach) -> str:
    ends = Between(reach.low * 100, reach.high * 100).words(2)
    name = _called(reach.constituent)
    beside = "with the others met" if reach.beside else "by itself"
    return (
        f"{name[0].upper()}{name[1:]} binds: {_percent(reach.wanted)} is wanted, and {beside} "
        f"these foods come to {ends}{NARROW}%."
    )


def _out_of_reach(foods: tuple[DesignFood, DesignFood], fat: Fraction) -> Refused:
    ends = sorted(food.known("fat") for food in foods)
    return Refused(
        "design-none",
        f"There is no such blend. Fat binds: {_percent(fat)} is wanted, and these come to "
        f"{Between(ends[0] * 100, ends[1] * 100).words(2)}{NARROW}%.",
        "Take a fatter or a leaner food.",
    )


def _figures(
    lines: Sequence[DesignLine], names: Sequence[str], of: str
) -> tuple[DesignFigure, ...]:
    whole = total(lines)
    basis = Basis((("Weighed", kilos(whole)),), "what the lines hold, as weighed, ÷ their weight")
    return tuple(
        DesignFigure(
            f"{name}_pct",
            "pct",
            f"{_called(name)[0].upper()}{_called(name)[1:]} {of}",
            holds(lines, name).times(100 / whole),
            basis,
        )
        for name in names
    )


def _sources(foods: Sequence[DesignFood]) -> str:
    return "; ".join(dict.fromkeys(f"{food.name}: {food.source}" for food in foods))


def _percent(share: Fraction) -> str:
    return f"{plain(share * 100, 3)}{NARROW}%"

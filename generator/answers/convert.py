"""Conversions: exact between units, about through an ingredient's unit weights."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.answers.numbers import basis_record, number
from generator.files.finding import Refused
from generator.measures.amounts import Amount, read_amount
from generator.measures.basis import Basis
from generator.measures.marks import as_written
from generator.measures.rounding import significant
from generator.measures.temperature import Degree, read_difference, read_temperature
from generator.measures.units import BASE, Unit, Units
from generator.measures.words import kitchen_fraction, nearest_pieces, plain
from generator.scaling.weights import UnitWeight, Weighed, piece_of, to_grams, to_volume

_DEGREES: dict[str, Degree] = {
    "degc": "°C",
    "°c": "°C",
    "c": "°C",
    "celsius": "°C",
    "degf": "°F",
    "°f": "°F",
    "f": "°F",
    "fahrenheit": "°F",
}

_SETS = {
    "us": "us",
    "american": "us",
    "imperial": "imperial",
    "uk": "imperial",
    "british": "imperial",
    "metric": "metric",
    "australian": "australian",
}
_WHOSE = re.compile(rf"(?<![\w-])({'|'.join(_SETS)})\s+(?=[a-z])", re.IGNORECASE)


@dataclass(frozen=True)
class Conversion:
    """A converted value in ``unit``; ``exact`` unless an ingredient's unit weight was needed, and
    then with as many ``digits`` as that has; ``piece``: in pieces of a food."""

    value: Fraction
    unit: str
    exact: bool
    basis: Basis
    digits: int = 0
    piece: bool = False


_BARE = re.compile(r"[-−]?[0-9]{1,4}(?:[.,][0-9]{1,2})?")
"""A bare figure, as a cook types an oven's."""


def _units_of(figure: str) -> tuple[str, ...]:
    """What a bare figure may be of: one below zero is a temperature."""
    return ("°C", "°F") if figure[0] in "-−" else ("°C", "°F", "g")


def split_words(words: list[str], units: Units, weights: tuple[UnitWeight, ...]) -> tuple[str, str]:
    """The amount and the unit wanted, from the words of a command line; where it names none, the
    unit of the other system that is nearest in size. Raises Refused."""
    words = [w for w in " ".join(words).split() if w]
    found = _named(words, units, tuple(w.word for w in weights if w.ml is None))
    if found is not None:
        return found
    other = _other(words, units, weights)
    if other:
        return " ".join(words), other
    if len(words) == 1 and _BARE.fullmatch(words[0]):
        raise Refused(
            "convert-usage",
            f"{words[0]} of what: °C or °F, or a weight?",
            "Write the scale or the unit behind the figure.",
            [f"kitchen-manual convert -- {words[0]} {one}" for one in _units_of(words[0])],
        )
    raise Refused(
        "convert-usage",
        "An amount and the unit you want are needed.",
        units.did_you_mean(words[-1]) if words else "",
        ["kitchen-manual convert -- 1 1/2 cup ml", "kitchen-manual convert -- 165 degF degC"],
    )


def _named(words: list[str], units: Units, pieces: tuple[str, ...]) -> tuple[str, str] | None:
    """The amount and the unit wanted where the last words are one, and not the amount's own."""
    for take in (2, 1):
        if len(words) <= take:
            continue
        rest, wanted = _parted(words, take)
        bare = _WHOSE.sub("", wanted)
        of_two_words = bare in units.aliases or bare.lower() in units.aliases
        if (take == 1 or of_two_words) and _known(bare, units, pieces):
            return None if _FIGURE.fullmatch(rest[-1].lstrip("-−")) else (" ".join(rest), wanted)
    return None


_FIGURE = re.compile(r"[\d.,/½¼¾⅓⅔⅛⅜⅝⅞⁄]+")


def is_figure(word: str) -> bool:
    """Whether a word is a bare figure, without a unit: `3`, `1/2`, `2.5`."""
    return _FIGURE.fullmatch(word) is not None


_OTHERS = {
    "g": "oz",
    "kg": "lb",
    "oz": "g",
    "lb": "kg",
    "ml": "fl oz",
    "cl": "fl oz",
    "dl": "cup",
    "l": "qt",
    "tsp": "ml",
    "tbsp": "ml",
    "fl oz": "ml",
    "cup": "ml",
    "pt": "ml",
    "qt": "l",
    "gal": "l",
    "mm": "in",
    "cm": "in",
    "in": "cm",
    "°C": "°F",
    "°F": "°C",
}
"""The unit of the other system that is nearest in size."""


def _other(words: list[str], units: Units, weights: tuple[UnitWeight, ...]) -> str:
    """The unit an amount becomes where none is named: of a temperature the other scale; of a food
    grams, and a weight of it cups; else the other system's; empty for what isn't known."""
    scale = _DEGREE.search(" ".join(words))
    if scale is not None:
        return _OTHERS[_DEGREES[scale[1].lower()]]
    bare = _FIGURE.split(" ".join(words))[-1].strip()
    unit, detail = units.find(bare)
    if not weights:
        return _OTHERS.get(unit.name, "") if unit is not None and not detail else ""
    if unit is not None and unit.kind == "mass":
        return "cup"
    return "g" if unit is not None or piece_of(bare, weights) is not None else ""


_DEGREE = re.compile(r"(?<![a-z])(deg[cf]|°[cf]|[cf]|celsius|fahrenheit)$", re.IGNORECASE)


def _parted(words: list[str], take: int) -> tuple[list[str], str]:
    """The words before the last ``take``, and these as the unit wanted, with whose it is; a `to`
    between them is left out."""
    rest, wanted = words[:-take], " ".join(words[-take:])
    if len(rest) > 1 and rest[-1].lower() in _SETS:
        rest, wanted = rest[:-1], f"{rest[-1]} {wanted}"
    if len(rest) > 1 and rest[-1].lower() in ("to", "into"):
        rest = rest[:-1]
    return rest, wanted


def _whose(text: str, units: Units, sets: Callable[[str], Units]) -> tuple[str, Units]:
    """An amount or a unit without the word that says whose measure it is (imperial, metric), and
    the units it is read by: that set's, else the kitchen's."""
    found = _WHOSE.search(text)
    if found is None:
        return text, units
    return text[: found.start()] + text[found.end() :], sets(_SETS[found[1].lower()])


def _known(word: str, units: Units, pieces: tuple[str, ...]) -> bool:
    return word.lower() in _DEGREES or units.find(word)[0] is not None or word.lower() in pieces


def convert(
    words: list[str],
    units: Units,
    weights: tuple[UnitWeight, ...],
    name: str,
    difference: bool,
    source_title: Callable[[str], str],
    sets: Callable[[str], Units],
) -> Conversion:
    """Convert what a command line says.

    ``sets`` gives another country's measures for `1 imperial pint`; ``weights`` are the unit
    weights of the ingredient ``name``, empty without one; ``difference`` takes temperatures as
    differences. Raises Refused.
    """
    text, wanted = split_words(words, units, weights)
    degree = _DEGREES.get(wanted.lower())
    if degree is not None:
        return _temperature(text, degree, difference)
    bare, given = _whose(text, units, sets)
    amount = read_amount(bare, given, pieces=bool(weights))
    wanted, asked = _whose(wanted, units, sets)
    unit, detail = asked.find(wanted)
    if unit is not None and unit.missing:
        raise Refused("unit-not-in-set", f"The {asked.set_name} measures have no {unit.name}.", "")
    if unit is not None and unit.kind == amount.kind and not detail and not amount.detail:
        measures = " to ".join(dict.fromkeys((given.set_name, asked.set_name)))
        inputs = (("Amount", text), ("Measures", measures))
        return _of_a_kind(amount, given.by_name[amount.unit], unit, inputs, source_title)
    if amount.kind == "percent" or not weights:
        raise _needs_an_ingredient(amount, text, unit, wanted)
    return _through(amount, text, unit, detail, wanted, weights, name, source_title, units)


def _of_a_kind(
    amount: Amount,
    given: Unit,
    unit: Unit,
    inputs: tuple[tuple[str, str], ...],
    source_title: Callable[[str], str],
) -> Conversion:
    """An amount in ``given`` as one in ``unit``, both of one kind: exact, by the units' factors."""
    used = [u for u in dict.fromkeys((given, unit)) if u.source]
    rule = "; ".join(
        f"1 {u.name} = {plain(u.factor, 12, grouped=False)} {BASE[u.kind]}" for u in used
    )
    titles = "; ".join(dict.fromkeys(source_title(u.source) for u in used))
    basis = Basis(inputs, rule or "the same unit", titles)
    return Conversion(amount.value / unit.factor, unit.name, True, basis)


def _needs_an_ingredient(amount: Amount, text: str, unit: Unit | None, wanted: str) -> Refused:
    """A weight that is to become a volume or pieces, or the other way, of nobody knows what."""
    other = unit.kind if unit is not None else "count"
    return Refused(
        "convert-needs-ingredient",
        f"`{text}` to {wanted}: a {_word(amount.kind)} becomes a {_word(other)} only for a "
        "named ingredient.",
        "Name it with --of.",
        [f"kitchen-manual convert --of INGREDIENT -- {text} {wanted}"],
    )


def _word(kind: str) -> str:
    return {"mass": "weight", "percent": "percentage"}.get(kind, kind)


def _through(
    amount: Amount,
    text: str,
    unit: Unit | None,
    detail: str,
    wanted: str,
    weights: tuple[UnitWeight, ...],
    name: str,
    source_title: Callable[[str], str],
    units: Units,
) -> Conversion:
    weighed = to_grams(amount, weights, name, units=units)
    inputs = [("Amount", text), ("Ingredient", name)]
    if weighed.words:
        inputs.append(("Unit weight", weighed.words))
    used: list[UnitWeight] = []
    if unit is None:
        weight = next(w for w in weights if w.ml is None and w.word == wanted.lower())
        inputs.append(("Piece", f"one {weight.word} weighs {plain(weight.grams)} g"))
        value, shown = weighed.grams / weight.grams, weight.word
        used.append(weight)
    elif unit.kind == "mass":
        value, shown = weighed.grams / unit.factor, unit.name
    elif unit.kind == "volume":
        found = to_volume(weighed.grams, weights, unit.name, detail)
        if found is None:
            raise Refused(
                "unit-weight-missing",
                f"{name}: what does a measure of it weigh?",
                "Enter it under `weighs`.",
            )
        ml, weight = found
        inputs.append(("Unit weight", f"one {weight.label} weighs {plain(weight.grams)} g"))
        value, shown = ml / unit.factor, unit.name
        used.append(weight)
    else:
        raise Refused("convert-usage", f"`{wanted}` is a length.", "Ask for a weight or a volume.")
    rule = "measure × unit weight; about, because unit weights differ by up to 7 %"
    title, digits = _of_the_data(weighed, used, source_title)
    basis = Basis(tuple(inputs), rule, title)
    return Conversion(value, shown, False, basis, digits, piece=unit is None)


def _of_the_data(
    weighed: Weighed, used: list[UnitWeight], source_title: Callable[[str], str]
) -> tuple[str, int]:
    """The first source of the unit weights that were used, and the fewest digits they have."""
    sources = [s for s in (weighed.source, *(w.source for w in used)) if s]
    digits = [d for d in (weighed.digits, *(w.digits for w in used)) if d]
    return (source_title(sources[0]) if sources else ""), min(digits, default=2)


def _temperature(text: str, degree: Degree, difference: bool) -> Conversion:
    sp = "NIST SP 811 (2008), B.8"
    if difference:
        change = read_difference(text)
        return Conversion(
            change.in_unit(degree),
            degree,
            True,
            Basis((("Difference", text),), as_written("a difference of 1 °C is 1.8 °F"), sp),
        )
    reading = read_temperature(text)
    rule = as_written("°C = (°F − 32) / 1.8; °F = 1.8 °C + 32")
    return Conversion(
        reading.in_unit(degree), degree, True, Basis((("Temperature", text),), rule, sp)
    )


def conversion_record(found: Conversion) -> dict[str, Any]:
    """A conversion as JSON."""
    return {
        "value": number(found.value),
        "unit": found.unit,
        "exact": found.exact,
        "basis": basis_record(found.basis),
    }


def conversion_text(found: Conversion) -> str:
    """A conversion for the terminal: exact in full, about to the digits of its data."""
    unit = found.unit
    figure = plain(significant(found.value, found.digits))
    if found.piece and (pieces := nearest_pieces(found.value)):
        first = f"about {kitchen_fraction(pieces) or plain(pieces)} {unit}"
        first += f" ({figure} by weight)" if pieces != found.value else ""
    elif found.exact:
        first = f"{plain(found.value, 10)} {unit}"
    else:
        first = f"about {figure} {unit}"
    lines = [
        first,
        *(f"  {name}: {words}" for name, words in found.basis.inputs),
        f"  Rule: {found.basis.rule}",
    ]
    if found.basis.source:
        lines.append(f"  Source: {found.basis.source}")
    return "\n".join(lines)

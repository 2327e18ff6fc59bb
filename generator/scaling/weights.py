"""Volume and count to grams, once, by a unit weight that names its source."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Protocol

from generator.files.finding import Refused
from generator.measures.amounts import Amount
from generator.measures.rounding import significant
from generator.measures.units import Units
from generator.measures.words import (
    NARROW,
    kitchen_fraction,
    listed,
    nearest_kitchen_fraction,
    nearest_pieces,
    plain,
)

BARE_PIECES = ("each", "ea", "piece", "pieces")
"""Words for a piece that are not said beside a count."""
METRIC_VOLUMES = ("ml", "cl", "dl", "l")
UnitsOf = Callable[[str], Units]
"""Gives the units under a named set of household measures."""


class Measured(Protocol):
    """What one piece or measure weighs, in grams, and as typed."""

    @property
    def value(self) -> Fraction: ...

    @property
    def text(self) -> str: ...


@dataclass(frozen=True)
class UnitWeight:
    """What one measure or piece weighs: ``grams`` for ``ml`` millilitres, or for one piece.

    ``whose`` names the set of measures where it isn't the kitchen's own: a US cup in Australia.
    ``low`` and ``high`` are the lightest and the heaviest piece weighed, where pieces differ.
    ``digits`` is how many its source gives: 3 for 113 g. ``whole``: one piece of a formula that is
    made in pieces. ``vessel`` is what one fill of a formula made ahead comes in.
    """

    word: str
    detail: str
    grams: Fraction
    ml: Fraction | None
    source: str
    whose: str = ""
    low: Fraction | None = None
    high: Fraction | None = None
    digits: int = 2
    whole: bool = False
    vessel: str = ""

    @property
    def label(self) -> str:
        """The measure as people say it: "cup packed", "US tbsp"."""
        owner = self.whose.upper() if self.whose == "us" else self.whose
        return f"{owner} {self.word} {self.detail}".strip()


@dataclass(frozen=True)
class Weighed:
    """Grams with the way they were found; ``exact`` if no unit weight was needed, else with so many
    ``digits`` as that has."""

    grams: Fraction
    exact: bool
    words: str = ""
    source: str = ""
    digits: int = 0


def read_unit_weights(
    weighs: Mapping[str, Measured],
    source: str,
    measures: str | None,
    units: Units,
    units_of: UnitsOf,
) -> tuple[UnitWeight, ...]:
    """Unit weights from their words: ``each``, ``clove``, ``cup packed``, ``us cup``, ``ml``.

    A volume is the kitchen's own unless ``measures`` or the first word names another set: a
    published cup is the cup of its source.
    """
    found: list[UnitWeight] = []
    for word, amount in weighs.items():
        text = unicodedata.normalize("NFC", word.strip().lower())
        chosen = units_of(measures) if measures else units
        first, _, rest = text.partition(" ")
        if rest and first in ("us", "metric", "imperial", "australian"):
            text, chosen = rest, units_of(first)
        unit, detail = chosen.find(text)
        if unit is not None and unit.kind == "volume" and not unit.missing:
            own = units.by_name[unit.name]
            whose = chosen.set_name if own.missing or own.factor != unit.factor else ""
            weight = UnitWeight(unit.name, detail, amount.value, unit.factor, source, whose)
        else:
            weight = UnitWeight(text, "", amount.value, None, source)
        found.append(replace(weight, digits=_digits(amount)))
    return tuple(found)


def _digits(amount: Measured) -> int:
    """How many digits a weight was written with: 3 for 113 g, 2 for 0.60 g; at least 2."""
    written = re.match(r"[0-9]*[.,]?[0-9]*", amount.text)
    figure = written.group().replace(".", "").replace(",", "").lstrip("0") if written else ""
    return max(2, len(figure))


def _singulars(word: str) -> tuple[str, ...]:
    forms = [word]
    if word.endswith("ves"):
        forms.append(word[:-3] + "f")
    if word.endswith("es"):
        forms.append(word[:-2])
    if word.endswith("s"):
        forms.append(word[:-1])
    if word.endswith("ies"):
        forms.append(word[:-3] + "y")
    return tuple(forms)


def piece_of(word: str, weights: tuple[UnitWeight, ...]) -> UnitWeight | None:
    """The unit weight of a piece by the word typed for it: singular or plural."""
    for form in _singulars(word):
        for weight in weights:
            if weight.ml is None and weight.word in (form, "each" if form == "piece" else form):
                return weight
    return None


def _volume(amount: Amount, weights: tuple[UnitWeight, ...]) -> UnitWeight | None:
    """The listed measure of the same unit, else the nearest in size, of the same detail."""
    fitting = [w for w in weights if w.ml is not None and w.detail == amount.detail]
    if not fitting:
        return None
    for weight in fitting:
        if weight.word == amount.unit:
            return weight
    return min(fitting, key=lambda w: abs(float(w.ml or 1) / float(amount.value) - 1))


def to_grams(
    amount: Amount,
    weights: tuple[UnitWeight, ...],
    name: str,
    made_ahead: bool = False,
    units: Units | None = None,
) -> Weighed:
    """An amount of an ingredient in grams. ``units`` are asked which of them a word misspells.

    ``made_ahead``: it is another formula, which has no `weighs`.

    Raises Refused if a volume or count has no unit weight to go by, or the amount is a percent.
    """
    if amount.kind == "mass":
        return Weighed(amount.value, True)
    if amount.kind not in ("count", "volume"):
        raise Refused(
            "amount-wrong-kind", f"{name}: `{amount.text}` can't be weighed.", "Write grams."
        )
    if amount.kind == "count" and units is not None and not _known(amount, weights):
        _refuse_misspelt(amount, weights, name, units)
    if made_ahead and not _known(amount, weights):
        raise Refused(
            "unit-weight-missing",
            f"{name} is made ahead. What does `{amount.text}` of it weigh?",
            _of_made_ahead(amount, _known_words(weights)),
        )
    if amount.kind == "count":
        return _count_in_grams(amount, weights, name)
    return _volume_in_grams(amount, weights, name)


def _known_words(weights: tuple[UnitWeight, ...]) -> str:
    """The measures and pieces that are known of a food, as the end of a help."""
    words = dict.fromkeys(f"{w.word} {w.detail}".strip() for w in weights)
    return f" Known: {', '.join(words)}." if words else ""


def _of_made_ahead(amount: Amount, known: str) -> str:
    """How to write an amount of a formula that nothing gives in grams."""
    if amount.kind == "volume":
        return (
            "Weigh a litre of it. Write that in its formula, as in `makes: {litre: 1030 g}`. Or "
            f"write a weight or a percentage here.{known}"
        )
    if known:
        return f"Write a weight or a percentage, or count what it makes.{known}"
    return (
        "Write a weight or a percentage here. To count it, say under its `makes` what one `unit` "
        "weighs, as `fill_weight`."
    )


def _refuse_misspelt(
    amount: Amount, weights: tuple[UnitWeight, ...], name: str, units: Units
) -> None:
    """Raises Refused for a piece nobody knows that is one letter away from a unit or from a piece
    of this food."""
    pieces = dict.fromkeys(w.word for w in weights if w.ml is None)
    near = units.one_letter_off(amount.unit, pieces)
    if not near:
        return
    figure = amount.text[: amount.text.lower().rfind(amount.unit)].strip()
    meant = listed([f"`{one}`" for one in near], "or")
    raise Refused(
        "unit-unknown",
        f"{name}: did you mean {meant}? No unit and no piece is called `{amount.unit}`.",
        f"If it is a piece, enter `{_singulars(amount.unit)[-1]}` under the ingredient's `weighs`.",
        [f"{figure} {one}" for one in near if figure],
    )


def _count_in_grams(amount: Amount, weights: tuple[UnitWeight, ...], name: str) -> Weighed:
    """Pieces by what one weighs. Raises Refused where nothing says it."""
    weight = piece_of(amount.unit, weights)
    if weight is None:
        raise Refused(
            "unit-weight-missing",
            f"{name}: what does one `{amount.unit}` weigh?",
            f"Enter `{_singulars(amount.unit)[-1]}` under the ingredient's `weighs` with "
            "what you weighed and its "
            f"`source`, or write grams here.{_known_words(weights)}",
        )
    words = f"{plain(amount.value)} × {plain(weight.grams)}{NARROW}g ({weight.word})"
    return Weighed(amount.value * weight.grams, False, words, weight.source, weight.digits)


def _volume_in_grams(amount: Amount, weights: tuple[UnitWeight, ...], name: str) -> Weighed:
    """A volume by what a measure weighs. Raises Refused where nothing says it."""
    weight = _volume(amount, weights)
    if weight is None or weight.ml is None:
        details = dict.fromkeys(w.detail for w in weights if w.ml is not None and w.detail)
        listed = [] if amount.detail else [f"{amount.text} {d}" for d in details]
        raise Refused(
            "unit-weight-missing",
            f"{name}: what does a measure of it weigh?",
            "Enter a cup or another measure under the ingredient's `weighs` with what you "
            "weighed and its "
            f"`source`, or write grams here.{_known_words(weights)}",
            listed,
        )
    words = f"one {weight.label} weighs {plain(weight.grams)}{NARROW}g"
    grams = amount.value * weight.grams / weight.ml
    return Weighed(grams, False, words, weight.source, weight.digits)


def _known(amount: Amount, weights: tuple[UnitWeight, ...]) -> bool:
    if amount.kind == "count":
        return piece_of(amount.unit, weights) is not None
    found = _volume(amount, weights)
    return found is not None and found.ml is not None


def to_volume(
    grams: Fraction, weights: tuple[UnitWeight, ...], unit: str, detail: str = ""
) -> tuple[Fraction, UnitWeight] | None:
    """Grams as millilitres by the unit weight listed for ``unit``, or the largest listed."""
    fitting = [w for w in weights if w.ml is not None and w.detail == detail]
    if not fitting:
        return None
    chosen = next((w for w in fitting if w.word == unit), None)
    if chosen is None:
        chosen = max(fitting, key=lambda w: w.ml or Fraction(0))
    assert chosen.ml is not None
    return grams * chosen.ml / chosen.grams, chosen


def household(
    grams: Fraction, typed: Amount, weights: tuple[UnitWeight, ...], units: Units
) -> tuple[Fraction | None, str]:
    """The nearest count and the words beside a weight: ``(None, "about 240 ml")``, ``(4, "about
    4")``, ``(1/2, "about ½ medium")``.

    Two digits and "about", never more: unit weights of different sources differ by up to 7 %.
    """
    match typed.kind:
        case "count":
            return _pieces(grams, typed, weights)
        case "volume":
            return None, _as_typed(grams, typed, weights, units)
        case _:
            return None, _by_the_spoon(grams, weights, units)


def _pieces(
    grams: Fraction, typed: Amount, weights: tuple[UnitWeight, ...]
) -> tuple[Fraction | None, str]:
    """So many pieces, in words; nothing where no piece has a weight."""
    weight = piece_of(typed.unit, weights)
    if weight is None:
        return None, ""
    pieces = nearest_pieces(grams / weight.grams)
    if not pieces:
        return pieces, "less than ¼"
    word = "" if typed.unit in BARE_PIECES else f" {typed.unit}"
    if pieces <= 1 and word:
        word = f" {weight.word}"  # as typed it may be a plural
    return pieces, f"about{NARROW}{kitchen_fraction(pieces) or plain(pieces)}{word}"


def _as_typed(grams: Fraction, typed: Amount, weights: tuple[UnitWeight, ...], units: Units) -> str:
    """A weight in the measure it was typed in."""
    found = to_volume(grams, weights, typed.unit, typed.detail)
    if found is None:
        return ""
    detail = f" {typed.detail}" if typed.detail else ""
    return "about" + NARROW + _volume_words(found[0], typed.unit, units) + detail


def _by_the_spoon(grams: Fraction, weights: tuple[UnitWeight, ...], units: Units) -> str:
    """A weight in the largest spoon or cup that fits it, of those with a weight."""
    plain_measures: dict[str, UnitWeight] = {}
    for weight in weights:
        if weight.ml is not None and not weight.detail:
            plain_measures.setdefault(weight.word, weight)
    for unit, least, most in _SPOONS:
        known = plain_measures.get(unit)
        if known is None or known.ml is None or not _fits(grams, known.grams, least, most):
            continue
        return "about" + NARROW + _volume_words(grams * known.ml / known.grams, unit, units)
    return ""


def _fits(grams: Fraction, each: Fraction, least: Fraction, most: Fraction) -> bool:
    """Whether so many grams are ``least`` to ``most`` measures of so many grams each: in whole
    numbers, as each line of each batch is asked."""
    (over, under), (above, below) = grams.as_integer_ratio(), each.as_integer_ratio()
    (low, of_low), (high, of_high) = least.as_integer_ratio(), most.as_integer_ratio()
    measures, of = over * below, under * above
    return low * of <= measures * of_low and measures * of_high <= high * of


_SPOONS = (
    ("cup", Fraction(1, 4), Fraction(16)),
    ("tbsp", Fraction(1), Fraction(8)),
    ("tsp", Fraction(1, 8), Fraction(6)),
)
"""Which spoon or cup a weight is reported in: never forty tablespoons."""


def _volume_words(ml: Fraction, unit: str, units: Units) -> str:
    known = units.by_name.get(unit)
    if known is None or known.missing or unit in METRIC_VOLUMES:
        if ml >= 1000:
            return f"{plain(significant(ml / 1000))}{NARROW}l"
        return f"{plain(significant(ml))}{NARROW}ml"
    figure = nearest_kitchen_fraction(ml / known.factor)
    if figure is None:
        return f"{plain(significant(ml))}{NARROW}ml"
    return f"{figure}{NARROW}{unit}"

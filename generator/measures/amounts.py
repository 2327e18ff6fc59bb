"""Amounts as a cook writes them: ``1.5 kg``, ``2 lb 6 oz``, ``1 1/2 cup``, ``3 each``, ``1.7 %``.

The grammar is closed and read in constant time; the unit library never sees a user's text.
What could mean two things is refused with both readings to choose from.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.files.finding import Refused
from generator.measures.fractions import mixed
from generator.measures.marks import (
    as_written,
    decimal_mark,
    decimal_sign,
    figure_of,
    refuse_point,
    typed_line,
    whole_figures,
)
from generator.measures.meant import meant
from generator.measures.units import Unit, Units
from generator.measures.words import plain

Kind = Literal["mass", "volume", "length", "count", "percent", "as-needed"]
AS_NEEDED = "as needed"
PPM = "ppm"
"""Parts of a million by weight: a percentage of ten thousandths."""
MOST_LETTERS = 60
ACCENTED = "À-ÖØ-öø-ÿĀ-ſ"
"""The Latin letters with a sign of their own, for a class of a pattern: a unit may be an éclair."""
_PERCENT_OF = re.compile(
    r"(.+?(?:%|\bppm))\s+of\s+(?:the\s+)?([A-Za-z][A-Za-z0-9 -]*)", re.IGNORECASE
)

_NUMBER = (
    r"(?:(?P<whole>\d{1,7})\s*(?P<vulgar>[½¼¾⅓⅔⅛⅜⅝⅞⅙⅚⅕])"
    r"|(?P<only>[½¼¾⅓⅔⅛⅜⅝⅞⅙⅚⅕])"
    r"|(?:(?P<int>\d{1,7})\s+)?(?P<top>\d{1,4})\s*[/⁄]\s*(?P<bottom>\d{1,4})"
    r"|(?P<decimal>\d{0,7}[.,]\d{1,9}|\d{1,9}))"
)
_PIECE = re.compile(
    rf"\s*{_NUMBER}\s*"
    rf"(?P<unit>%|[A-Za-z{ACCENTED}µ°#\"'][A-Za-z{ACCENTED} .\-#\"']*)?",
    re.ASCII,
)
_DOUBTFUL = {
    "T": ("tablespoon or tonne", [("tbsp", 1), ("kg", 1000)]),
    "t": ("teaspoon or tonne", [("tsp", 1), ("kg", 1000)]),
    "c": ("cup or degree", [("cup", 1)]),
    "C": ("cup or degree", [("cup", 1)]),
    "#": ("pound or number", [("lb", 1), ("each", 1)]),
    '"': ("inch or second", [("in", 1)]),
}


@dataclass(frozen=True)
class Amount:
    """One amount.

    ``value`` is exact, in the kind's base unit: g, ml, mm, pieces, or percent. ``unit`` is the
    canonical unit it was written in (for a count the piece: ``each``, ``clove``), ``detail`` what
    was behind a volume (``packed``), ``of`` what a percent is of (empty: the base).
    """

    value: Fraction
    kind: Kind
    unit: str
    text: str = ""
    detail: str = ""
    of: str = ""


def _refuse_number(typed: str) -> Refused:
    help, fixes = meant(typed)
    help = help or "Write a figure and a unit, as in 1.5 kg, 1 1/2 cup, 3 each or 1.7 %."
    words = f"`{typed}` is not an amount."
    return Refused("amount-unreadable", words, as_written(help), fixes)


def _number(match: re.Match[str], typed: str) -> Fraction:
    if match["decimal"]:
        return _decimal(match["decimal"], typed)
    try:
        return mixed(match)
    except ZeroDivisionError:
        raise Refused(
            "amount-unreadable", f"`{typed}` divides by zero.", "Check the fraction."
        ) from None


def _decimal(digits: str, typed: str) -> Fraction:
    if decimal_mark() == "comma":
        return figure_of(digits)
    mark = "," if "," in digits else "."
    whole, _, part = digits.partition(mark)
    if len(part) == 3 and whole.strip("0") and (mark == "," or part.endswith("0")):
        before, _, rest = typed.partition(digits)
        large, small = whole + part, f"{whole}.{part}".rstrip("0").rstrip(".")
        if not (before or rest):
            rest = _BARE  # a figure alone is asked for its unit next: what is offered has one
        help = "A point before three digits with a zero at the end can be read two ways."
        if mark == ",":
            help = "A comma before three digits can be read two ways."
        raise Refused(
            "amount-doubtful",
            f"`{typed}`: {large} or {small}?",
            help,
            [f"{before}{large}{rest}", f"{before}{small}{rest}"],
        )
    return figure_of(digits)


def _one_point(typed: str) -> list[str]:
    """``1.000,5 g`` or ``1,000.5 g`` with the marks of its thousands left out."""
    match = re.fullmatch(r"(\d{1,3}(?:([.,])\d{3})(?:\2\d{3})*)([.,])(\d+)(\D.*)?", typed)
    if match is None or match[2] == match[3]:
        return []
    return [f"{match[1].replace(match[2], '')}{decimal_sign()}{match[4]}{match[5] or ''}"]


def read_amount(text: str, units: Units, *, pieces: bool = True) -> Amount:
    """Read one amount.

    ``units`` knows the unit names; with ``pieces`` an unknown word is taken for a countable piece
    (``2 cloves``), to be joined with the ingredient's unit weights later. Raises Refused.
    """
    typed = typed_line(text)
    if not typed:
        raise Refused(
            "amount-missing",
            "There is no amount here.",
            as_written("Write one, as in 1.5 kg or 1.7 %."),
        )
    if len(typed) > MOST_LETTERS:
        raise Refused(
            "amount-unreadable", "An amount has at most 60 letters.", "Put the rest in a note."
        )
    if typed[0] in "-−+":
        raise Refused(
            "amount-negative", f"`{typed}`: an amount must be above zero.", "Leave the sign out."
        )
    _refuse_marks(typed, units)
    if re.fullmatch(r"[\d.,]+\.[\d.]*,\d+.*|[\d.,]*,\d+[.,].*|\d+\.\d+\.\d.*", typed):
        raise Refused(
            "amount-doubtful",
            f"`{typed}` has two kinds of points.",
            f"Write digits and one decimal {decimal_mark()}, as in 1000{decimal_sign()}5 g.",
            _one_point(typed),
        )
    of = ""
    body = typed
    percent_of = _PERCENT_OF.fullmatch(typed)
    if percent_of:
        body, of = percent_of[1], percent_of[2].strip().replace(" ", "-").lower()
    pieces_read = list(_pieces(body, typed))
    if len(pieces_read) == 1:
        number, unit = pieces_read[0]
        amount = _single(number, unit, typed, units, pieces)
        if of and amount.kind != "percent":
            raise _refuse_number(typed)
        return Amount(
            amount.value, amount.kind, amount.unit, typed, amount.detail, "" if of == "base" else of
        )
    return _compound(pieces_read, typed, units)


_BARE = " g"
_MARKED = re.compile("([1-9][0-9]{0,2}(?:([ '’_])[0-9]{3})(?:\\2[0-9]{3})*)(?![0-9.,/⁄])(.*)")


def _refuse_marks(typed: str, units: Units) -> None:
    """Refuses a point under a decimal comma, and a space or an apostrophe between thousands, with
    fixes that are read. Raises Refused."""
    try:
        refuse_point(typed)
    except Refused as refused:
        if re.search(r"[^0-9.,]", typed):
            raise
        write = [fix + _BARE for fix in refused.write]
        raise Refused(refused.code, refused.message, refused.help, write) from None
    match = _MARKED.fullmatch(typed)
    if match is None:
        return
    fix = f"{whole_figures(match[1])[0]}{match[3] or _BARE}"
    try:
        read_amount(fix, units)
    except Refused:
        return
    words = f"`{typed}` is not an amount."
    raise Refused("amount-unreadable", words, "Write nothing between the thousands.", [fix])


def _pieces(body: str, typed: str) -> list[tuple[Fraction, str]]:
    found: list[tuple[Fraction, str]] = []
    position = 0
    while position < len(body):
        match = _PIECE.match(body, position)
        if match is None or match.end() == position:
            raise _refuse_number(typed)
        found.append((_number(match, typed), (match["unit"] or "").strip()))
        position = match.end()
    return found


def _single(number: Fraction, unit: str, typed: str, units: Units, pieces: bool) -> Amount:
    """One figure with its unit: a percent, a measure, or so many pieces. Raises Refused."""
    if not unit:
        raise _no_unit(typed, pieces)
    if unit in _DOUBTFUL:
        raise _doubtful_unit(number, unit, typed)
    if number == 0:
        raise Refused("amount-zero", f"`{typed}` is zero.", "Delete the line or write how much.")
    if unit == "%":
        return Amount(number, "percent", "%")
    if unit.lower() == PPM:
        return Amount(number / 10_000, "percent", PPM)
    known, detail = units.find(unit)
    if known is not None:
        return _measure(number, known, detail, typed, units)
    return _count(number, unit, typed, units, pieces)


def _no_unit(typed: str, pieces: bool) -> Refused:
    """A bare figure; where pieces are counted, a whole one may be so many of them."""
    each = [f"{typed} each"] if pieces and typed.isdigit() else []
    return Refused(
        "amount-without-unit",
        f"{typed} of what?",
        "A bare number has no unit, so nothing can be weighed from it.",
        [f"{typed} %", f"{typed} g", *each],
    )


def _doubtful_unit(number: Fraction, unit: str, typed: str) -> Refused:
    """A unit that is two, with the amount in each."""
    meaning, choices = _DOUBTFUL[unit]
    figure = typed[: -len(unit)].strip()
    return Refused(
        "amount-doubtful",
        f"`{unit}` may mean {meaning}.",
        "Write the whole unit.",
        [f"{figure if n == 1 else plain(number * n, 6, False)} {u}" for u, n in choices],
    )


def _measure(number: Fraction, known: Unit, detail: str, typed: str, units: Units) -> Amount:
    """So many of a known unit, in the base unit of its kind. Raises Refused for one the kitchen's
    set lacks, and for a weight with words behind it."""
    _refuse_of(detail, typed)
    if detail and known.kind != "volume":
        raise Refused(
            "amount-unreadable",
            f"`{typed}`: `{detail}` doesn't belong to a weight.",
            "Write only the amount. How it is prepared goes under `prepare`.",
        )
    if known.missing:
        raise Refused(
            "unit-not-in-set",
            f"The kitchen's {units.set_name} measures have no {known.name}.",
            "Write millilitres or grams, or change `cup` in kitchen.yaml.",
        )
    return Amount(number * known.factor, known.kind, known.name, detail=detail)


def _refuse_of(words: str, typed: str) -> None:
    """Refuses what an amount is of, as in "3 cups of cream": the line's id says it. Raises
    Refused."""
    amount, of, item = typed.partition(" of ")
    if of and f" {words}".endswith(f" of {item}"):
        raise Refused(
            "amount-unreadable",
            f"`{typed}`: `of {item}` doesn't belong to an amount.",
            "Write only the amount. What it is of is the line's id.",
            [amount.strip()],
        )


_PERCENT_WORD = re.compile(r"(?:percent|per cent|pct|procent|prozent)\b\.?", re.IGNORECASE)


def _count(number: Fraction, unit: str, typed: str, units: Units, pieces: bool) -> Amount:
    """So many pieces, or dozens of them. Raises Refused for what is no piece."""
    if (percent := _PERCENT_WORD.match(unit)) is not None:
        figure, rest = typed[: len(typed) - len(unit)].strip(), unit[percent.end() :]
        raise Refused(
            "unit-unknown",
            f"`{percent[0]}` is not how the unit is written.",
            "",
            [f"{figure} %{rest}"],
        )
    _refuse_of(unit, typed)
    word = unit.lower().strip(". ")
    dozen, _, piece = word.partition(" ")
    if dozen == "dozen" and (pieces or not piece):
        number, word = number * 12, piece or "each"
        if word == "each":
            return Amount(number, "count", word)
    one = word.removesuffix("s")
    if one != word and units.find(one)[0] is not None:  # "3 kgs" is a weight, never so many pieces
        figure = typed[: len(typed) - len(unit)].strip()
        raise Refused(
            "unit-unknown", f"`{unit}` is not how the unit is written.", "", [f"{figure} {one}"]
        )
    if pieces and re.fullmatch(rf"[a-z{ACCENTED}][a-z{ACCENTED} -]{{1,30}}", word):
        return Amount(number, "count", word)
    figure = typed[: len(typed) - len(unit)].strip()
    fixes = [f"{figure} {near}" for near in units.one_letter_off(unit)]
    help = units.did_you_mean(unit)
    raise Refused("unit-unknown", f"`{unit}` is not a unit known here.", help, fixes)


def _compound(found: list[tuple[Fraction, str]], typed: str, units: Units) -> Amount:
    """Two or more figures in one kind of unit, the larger unit first: ``2 lb 6 oz``. Raises
    Refused."""
    total, measures = Fraction(0), list[Unit]()
    for number, unit in found:
        known = _plain_unit(unit, typed, units)
        if measures and known.kind != measures[0].kind:
            raise _refuse_number(typed)
        if measures and known.factor >= measures[-1].factor:
            raise Refused(
                "amount-doubtful", f"`{typed}`: the larger unit comes first.", "As in 2 lb 6 oz."
            )
        total += number * known.factor
        measures.append(known)
    if total == 0:
        raise _refuse_number(typed)
    return Amount(total, measures[0].kind, measures[0].name, typed)


def _plain_unit(unit: str, typed: str, units: Units) -> Unit:
    """A unit the kitchen has, with no words behind it. Raises Refused."""
    known, detail = units.find(unit) if unit else (None, "")
    if known is None or detail or known.missing:
        raise _refuse_number(typed)
    return known

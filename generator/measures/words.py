"""Numbers as people read them: leading zero, no trailing zero, a space before the unit.

The decimal mark is the one in force (:mod:`generator.measures.marks`).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from fractions import Fraction

from generator.measures.marks import THIN, decimal_sign
from generator.measures.rounding import decimals_of, half_up, nearest, significant

NARROW = "\u00a0"  # between figure and unit: never broken
_EIGHTHS = {
    Fraction(1, 8): "⅛",
    Fraction(1, 4): "¼",
    Fraction(1, 3): "⅓",
    Fraction(3, 8): "⅜",
    Fraction(1, 2): "½",
    Fraction(5, 8): "⅝",
    Fraction(2, 3): "⅔",
    Fraction(3, 4): "¾",
    Fraction(7, 8): "⅞",
}
_MINUS = re.compile(r"(?<![^\s(\"])-(?=\d)")
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def fixed(value: Fraction, places: int, grouped: bool = True) -> str:
    """``value`` half-up with exactly ``places`` decimals; a thin space from five digits on."""
    over, under = value.as_integer_ratio()
    scaled = nearest(over * 10**places, under)
    sign = "-" if scaled < 0 else ""
    digits = str(abs(scaled)).rjust(places + 1, "0")
    whole, part = (digits[:-places], digits[-places:]) if places else (digits, "")
    if grouped and len(whole) >= 5:
        groups: list[str] = []
        while whole:
            groups.insert(0, whole[-3:])
            whole = whole[:-3]
        whole = THIN.join(groups)
    return sign + whole + (decimal_sign() + part if part else "")


def true_minus(text: str) -> str:
    """``text`` with a minus sign (U+2212) before a figure below zero, for pages and paper. The
    terminal, JSON and CSV keep the ASCII sign, since programs read them; every reader of ours takes
    both. A hyphen within a word, a clause or a date stays."""
    return _MINUS.sub("−", text)


def as_scale_shows(value: Fraction, division: Fraction) -> str:
    """A weight in the scale's unit with as many decimals as its division has: 138.0, 1426."""
    return fixed(value, decimals_of(division))


def plain(value: Fraction, most_places: int = 6, grouped: bool = True) -> str:
    """``value`` with at most so many decimals and no trailing zero: 1.5, 0.25, 240."""
    if value.denominator == 1:
        return fixed(value, 0, grouped)
    text = fixed(value, most_places, grouped)
    mark = decimal_sign()
    return text.rstrip("0").rstrip(mark) if mark in text else text


def at_the_mark(shown: str) -> tuple[str, str]:
    """A shown figure parted before its decimal mark: 138.0 → ("138", ".0")."""
    whole, mark, decimals = shown.partition(decimal_sign())
    return whole, mark + decimals


def kitchen_fraction(value: Fraction) -> str | None:
    """A spoon or cup figure as kitchens write it (1½, ⅓, 3), or None for anything finer."""
    whole, rest = divmod(value, 1)
    if rest == 0:
        return str(int(whole))
    sign = _EIGHTHS.get(Fraction(rest))
    if sign is None:
        return None
    return (str(int(whole)) if whole else "") + sign


_PARTED = 24
_SIGN_OF = {int(part * _PARTED): sign for part, sign in _EIGHTHS.items()}
_PARTS = (0, *_SIGN_OF, _PARTED)
"""The parts of a spoon or cup as so many 24ths, the smallest first: whole numbers, since each line
of each batch is asked."""


def nearest_kitchen_fraction(value: Fraction) -> str | None:
    """The spoon or cup figure nearest to ``value``, or None below a sixteenth."""
    over, under = value.as_integer_ratio()
    if over * 16 < under:
        return None
    whole, rest = divmod(over, under)
    if whole >= 10:
        return plain(significant(value))
    parts = _PARTS if whole else _PARTS[1:]
    best = min(parts, key=lambda part: abs(part * under - rest * _PARTED))  # the lower of two
    if best in (0, _PARTED):
        return str(whole + best // _PARTED)
    return (str(whole) if whole else "") + _SIGN_OF[best]


_OF_A_PIECE = (*(Fraction(n, d) for n, d in ((1, 4), (1, 3), (1, 2), (2, 3), (3, 4))), Fraction(1))
_HALVES_BELOW = 5


def nearest_pieces(value: Fraction) -> Fraction:
    """So many pieces as a cook parts them: quarters and thirds below one, halves below five, whole
    ones from there. 0 below an eighth."""
    if value < Fraction(1, 8):
        return Fraction(0)
    if value < 1:
        return min(_OF_A_PIECE, key=lambda c: (abs(c - value), c))
    return half_up(value, Fraction(1, 2) if value < _HALVES_BELOW else Fraction(1))


def duration(seconds: Fraction, *, days: bool = True) -> str:
    """Seconds as a cook says them: 17 s, 4 min, 1 h 52 min, 7 days.

    Without ``days`` hours are counted on, as on a clock: 48 h are not two dates. 24 h stay hours
    always, since "1 day" may be read as the day on the calendar.
    """
    return _joined(_counts(seconds, days))


def duration_figure(seconds: Fraction, *, days: bool = True) -> tuple[str, str]:
    """A duration as a figure and its unit, the last: ("30", "min"), ("1 h 30", "min")."""
    *before, (count, unit) = _counts(seconds, days)
    return " ".join([_joined(before), count]).strip(), unit


def duration_first(seconds: Fraction, *, days: bool = True) -> tuple[str, str]:
    """A duration as its first figure and the rest: ("4", "h"), ("1", "h 30 min")."""
    (count, unit), *rest = _counts(seconds, days)
    return count, f"{unit} {_joined(rest)}".strip(" ")


def _joined(counts: list[tuple[str, str]]) -> str:
    return " ".join(f"{count}{NARROW}{unit}" for count, unit in counts)


def _counts(seconds: Fraction, days: bool) -> list[tuple[str, str]]:
    """What a duration is said in: counts with their units, the largest first; never empty."""
    left = half_up(seconds)
    if days and left > 86400 and left % 86400 == 0:
        return [(str(int(left // 86400)), "days")]
    parts: list[tuple[str, str]] = []
    for size, name in ((3600, "h"), (60, "min"), (1, "s")):
        count, left = divmod(left, size)
        if count:
            parts.append((str(int(count)), name))
    return parts or [("0", "s")]


def date(day: datetime.date) -> str:
    """A date for people: 14 Sep 2026."""
    return f"{day_and_month(day)}{NARROW}{day.year}"


def day_and_month(day: datetime.date) -> str:
    """A date within its year: 14 Sep."""
    return f"{day.day}{NARROW}{_MONTHS[day.month - 1]}"


def breakable(text: str) -> str:
    """A text with ordinary spaces in the place of those that never break, as it is typed."""
    return text.replace(NARROW, " ")


def listed(words: list[str] | tuple[str, ...], joint: str = "and") -> str:
    """Words as a sentence lists them: "a", "a and b", "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return ", ".join(words[:-1]) + f" {joint} {words[-1]}"


_MANY = {
    "is": "are",
    "is not": "are not",
    "has": "have",
    "needs": "need",
    "keeps": "keep",
    "was": "were",
    "goes": "go",
    "comes": "come",
    "says": "say",
    "lies": "lie",
    "makes": "make",
    "cools": "cool",
    "does": "do",
}
_SHORT = {"is not": "isn't", "are not": "aren't"}
_HEAD = re.compile(r"[,;:()\[\]/]|\s-\s|\b(?:of|in|with|on|for|from|without|au|aux|de|al|alla)\b")
"""What ends the words that a food's name is counted by."""
_ONE = re.compile(r"(?:ss|us|lasses|(?:hagg|cass|past|an|petit-su|d'an)is|schnapps|swiss|\bgas)$")
"""The end of a word that is one thing, though it ends in s: cress, asparagus, haggis, gas."""


def is_plural(name: str) -> bool:
    """Whether a food's name is of many, as a sentence counts it: eggs, chicken thighs, boneless;
    not asparagus, leg of lamb, chicken and barley soup."""
    head = _HEAD.split(name.casefold(), 1)[0].split()
    if not head:
        return False
    return head[-1] in ("leaves", "mice", "geese") or (
        head[-1].endswith("s") and _ONE.search(head[-1]) is None
    )


def verb_for(names: str | Sequence[str], verb: str) -> str:
    """A ``verb`` in the third person, as one of _MANY, that agrees with a food's name, or with
    several foods."""
    one = (names,) if isinstance(names, str) else names
    word = _MANY[verb] if len(one) > 1 or is_plural(one[0]) else verb
    return _SHORT.get(word, word)


def with_verb(names: str | Sequence[str], verb: str) -> str:
    """A food's name, or several, and a verb that agrees: "Egg is", "Eggs are", "Milk and cream
    are"."""
    shown = names if isinstance(names, str) else listed(list(names))
    return f"{shown} {verb_for(names, verb)}"


_TO_VES = re.compile(r"(?:loa|\b(?:hal|cal|lea|shea|shel|kni))(fe?)$", re.IGNORECASE)
"""Loaf, half, calf, leaf, sheaf, shelf, knife; never a roof, a chef or a puff."""


def plural_of(one: str) -> str:
    """The plural of a noun where nobody wrote it: loads, glasses, boxes, dishes, patties, loaves.
    One that ends otherwise in the plural (tooth) has to be written."""
    if ending := _TO_VES.search(one):
        return f"{one[: ending.start(1)]}ves"
    if one.endswith(("s", "x", "z", "ch", "sh")):
        return f"{one}es"
    if one.endswith("y") and one[-2:-1] not in ("", *"aeiou"):
        return f"{one[:-1]}ies"
    return f"{one}s"


def counted(count: int | Fraction, one: str, many: str | None = None) -> str:
    """A count with its noun: 1 load, 2 loads."""
    return NARROW.join(counted_figure(count, one, many))


def counted_figure(count: int | Fraction, one: str, many: str | None = None) -> tuple[str, str]:
    """The same as a figure and the noun: ("2", "loads")."""
    noun = one if count == 1 else (many or plural_of(one))
    return plain(Fraction(count)), noun

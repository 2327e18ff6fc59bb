"""Batch sizes as a chef writes them: a weight of something, or a count."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Literal

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused
from generator.measures.amounts import ACCENTED, Amount, read_amount
from generator.measures.marks import typed_line, whole_figures
from generator.measures.units import Units
from generator.records.fields import refusal, text_of, units_of

SizeKind = Literal["total", "base", "yield", "portions", "fills"]


@dataclass(frozen=True)
class Size:
    """A batch size: so many grams in all (``total``), of the base or of the yield, or so
    many portions or fills; of a weight ``amount`` is it as typed, without what is weighed.
    ``by_volume``: the value is millilitres of a base that is measured; of one that is counted it is
    so many of the ``piece``."""

    kind: SizeKind
    value: Fraction
    text: str = ""
    amount: str = ""
    by_volume: bool = False
    piece: str = ""


def read_size(text: str, units: Units) -> Size:
    """``5 fills``, ``40 portions``, ``3 kg base``, ``5 kg total``, ``4 kg yield``. Raises Refused.

    Any other counted noun is taken for the formula's own word for a fill or a portion and is
    checked when the formula is joined; its kind is then ``fills`` with the word in ``text``.
    """
    typed = typed_line(text)
    found = _weighed_size(typed, units) or _counted_size(typed, units)
    if found is not None:
        return found
    _refuse_marks(typed, units)
    _refuse_bare(typed, units)
    raise Refused(
        "size-unreadable",
        f"`{typed[:60]}` is not a batch size.",
        "Count fills or portions, or weigh, as in 5 fills, 40 portions, 3 kg base, 5 kg total or "
        "4 kg yield.",
    )


def _refuse_marks(typed: str, units: Units) -> None:
    """Refuses a count with marks between its thousands, with what it may mean. Raises Refused."""
    write = [fix for fix in unmarked_counts(typed) if _is_read(fix, units)]
    if write:
        raise Refused(
            "size-unreadable",
            f"`{typed}`: did you mean {' or '.join(write)}?",
            "Write nothing between the thousands.",
            write,
        )


def _refuse_bare(typed: str, units: Units) -> None:
    """Refuses a figure, or a weight, that doesn't say of what. Raises Refused."""
    bare = re.fullmatch(r"[0-9.,]+ ?(kg|g|lb|oz)?", typed) if len(typed) <= 20 else None
    if bare is None:
        return
    words = ("fills", "portions") if typed.isdigit() else ("base", "total", "yield")
    unit = "" if typed.isdigit() or bare[1] else " kg"
    write = [fix for word in words if _is_read(fix := f"{typed}{unit} {word}", units)]
    raise Refused(
        "size-unreadable", f"{typed} of what?", "Write what is counted or weighed.", write
    )


_MARKED = re.compile("([1-9][0-9., '’_]*[0-9])(?:\\s+([^0-9\\s].*))?")


def unmarked_counts(typed: str) -> list[str]:
    """What a count with marks between its thousands may mean, without them: ``1,000 slices`` is
    ``1000 slices``; ``1,000`` alone counts nothing yet: fills or portions. None for any other
    text."""
    match = _MARKED.fullmatch(typed)
    if match is None:
        return []
    words = [match[2]] if match[2] else ["fills", "portions"]
    return [f"{figure} {word}" for figure in whole_figures(match[1]) for word in words]


def _is_read(typed: str, units: Units) -> bool:
    try:
        return (_weighed_size(typed, units) or _counted_size(typed, units)) is not None
    except Refused:
        return False


def _weighed_size(typed: str, units: Units) -> Size | None:
    """``3 kg base``, ``5 kg total``, ``4 kg yield``, ``3 l base``. Raises Refused for an amount
    that is none, and for a volume of what isn't measured."""
    match = re.fullmatch(r"(.+?)\s+(?:of\s+)?(total|base|yield)", typed)
    if match is None:
        return None
    try:
        amount = read_amount(match[1], units, pieces=False)
    except Refused as refused:
        counted = counted_base(match[1], units) if match[2] == "base" else None
        if counted is not None:
            return Size("base", counted.value, typed, match[1], piece=counted.unit)
        write = [fix + typed[len(match[1]) :] for fix in refused.write]
        raise Refused(refused.code, refused.message, refused.help, write) from None
    if amount.kind == "volume" and match[2] == "base":
        return Size("base", amount.value, typed, match[1], by_volume=True)
    if amount.kind == "volume":
        raise Refused(
            "size-unreadable",
            f"`{typed}`: what a batch weighs or yields is a weight, not a volume.",
            "Write its weight, as in 5 kg yield. Or count fills or portions of a `fill_volume` or "
            "`portion_volume`. Only a `base` that is given by volume may be asked for so.",
        )
    if amount.kind != "mass":
        return None
    return Size(match[2], amount.value, typed, match[1])  # type: ignore[arg-type]


def counted_base(text: str, units: Units) -> Amount | None:
    """So many pieces of a base that is counted: ``20 apples``; None for what is no count, or may
    be a misspelt unit."""
    try:
        amount = read_amount(text, units)
    except Refused:
        return None
    if amount.kind != "count" or units.one_letter_off(amount.unit):
        return None
    return amount


def _counted_size(typed: str, units: Units) -> Size | None:
    """``5 fills``, ``40 portions``, ``12 custard cups``: a whole number of something counted."""
    match = re.fullmatch(rf"([0-9]{{1,5}})\s+([a-z{ACCENTED}][a-z{ACCENTED} -]*)", typed)
    if match is None or int(match[1]) == 0:
        return None
    unit = units.find(match[2])[0]
    if unit is not None and unit.kind != "volume":  # a cup may be one of custard
        return None
    kind: SizeKind = "portions" if match[2] in ("portions", "portion") else "fills"
    return Size(kind, Fraction(int(match[1])), match[2])


def _size(value: object, info: ValidationInfo) -> Size:
    try:
        return read_size(text_of(value), units_of(info))
    except Refused as refused:
        raise refusal(refused) from None


SizeField = Annotated[
    Size,
    PlainValidator(_size),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A weight in total, of the base or of the yield, or a count of fills or "
            "portions by their word.",
            "examples": [
                "5 kg total",
                "3 kg base",
                "4 kg yield",
                "8 fills",
                "12 loaves",
                "40 portions",
            ],
            "pattern": f"[A-Za-z{ACCENTED}]",
        }
    ),
]

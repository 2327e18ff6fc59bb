"""What a formula may be at least and at most when it is made of other amounts: fat, salt, solids,
hydration, the share of an ingredient, the weight of a batch."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, ValidationInfo

from generator.files.finding import Refused, clipped
from generator.measures.amounts import Amount, read_amount
from generator.measures.marks import as_written, typed_line
from generator.measures.units import Units
from generator.records.fields import LISTED, Id, one_or_many, refusal, text_of, units_of
from generator.records.record import Record

_LEAST = re.compile(r"(?:at least|from|min(?:imum|\.)?|≥|>=)\s*(?=[0-9½¼¾.,])", re.IGNORECASE)
_MOST = re.compile(r"(?:at most|up to|max(?:imum|\.)?|≤|<=)\s*(?=[0-9½¼¾.,])", re.IGNORECASE)
_ENDS = re.compile(r"(.*?[^\s–—-])\s*(?:\bto\b|–|—|(?<=[0-9½¼¾%A-Za-z])\s*-)\s*(\S.*)")
_IN = re.compile(r"(.+?%)\s+in\s+(?:the\s+)?([A-Za-z][A-Za-z0-9 -]*)", re.IGNORECASE)
_OF_BASE = re.compile(r"%\s+(?:of|in)\s+(?:the\s+)?base$", re.IGNORECASE)
_NONE = re.compile(r"0+(?:[.,]0+)?\s*%?")
_MOST_LETTERS = 80


@dataclass(frozen=True)
class Bound:
    """What something is at least and at most, as a share or, of a ``total``, in grams; None where
    it has no such end. ``of`` names what a share is of (empty: of all that is weighed);
    ``inside``: what is counted is in that alone, too. ``text`` is as typed."""

    least: Fraction | None
    most: Fraction | None
    of: str = ""
    inside: bool = False
    text: str = ""


def read_bound(text: str, units: Units, kind: Literal["percent", "mass"]) -> Bound:
    """``24 to 30 %``, ``at least 14 %``, ``1.6 to 2 % of meat``, ``24 to 30 % in meat``; of a
    batch's weight ``9 to 11 kg``. Raises Refused."""
    typed = typed_line(text)
    if len(typed) > _MOST_LETTERS:
        raise Refused("bound-unreadable", "A bound has at most 80 letters.", _example(kind))
    inside = _IN.fullmatch(typed)
    body = f"{inside[1]} of {inside[2]}" if inside else typed
    for pattern, is_least in ((_LEAST, True), (_MOST, False)):
        match = pattern.match(body)
        if match is not None and not _ENDS.fullmatch(body[match.end() :]):
            amount = _end(body[match.end() :], typed, units, kind)
            return (
                _bound(amount, None, typed, inside)
                if is_least
                else _bound(None, amount, typed, inside)
            )
    ends = _ENDS.fullmatch(_LEAST.sub("", body, count=1) if _LEAST.match(body) else body)
    if ends is None:
        raise _one_figure(body, typed, units, kind)
    high = _end(ends[2], typed, units, kind)
    low = _end(_with_unit(ends[1], high, kind), typed, units, kind)
    _ordered(low, high, typed, ends)
    return _bound(low, high, typed, inside)


def _bound(
    low: Amount | None, high: Amount | None, typed: str, inside: re.Match[str] | None
) -> Bound:
    """A bound of its ends; a percentage as a share."""
    ends = [
        None if e is None else e.value / (100 if e.kind == "percent" else 1) for e in (low, high)
    ]
    of = next((one.of for one in (high, low) if one is not None and one.of), "")
    of = "base" if _OF_BASE.search(typed) else of  # an amount's bare percentage is of the base
    return Bound(ends[0], ends[1], "" if of in ("all", "formula") else of, bool(inside), typed)


def _with_unit(figure: str, high: Amount, kind: str) -> str:
    """The lower end with the unit of the upper one, where it has none."""
    bare = re.fullmatch(r"[0-9½¼¾.,/ ]+", figure.strip())
    return f"{figure} {'%' if kind == 'percent' else high.unit}" if bare else figure


def _end(text: str, typed: str, units: Units, kind: str) -> Amount:
    """One end. Raises Refused for what is no percentage, or no weight."""
    if kind == "percent" and _NONE.fullmatch(text.split(" of ")[0].strip()):
        return Amount(Fraction(0), "percent", "%", text)
    body = text if kind == "mass" or "%" in text else text.replace(" of ", " % of ", 1)
    if kind == "percent" and "%" not in body:
        words = f"`{clipped(typed)}`: a bound needs its sign, %."
        raise Refused("bound-unreadable", words, _example(kind))
    amount = read_amount(body, units, pieces=False)
    if amount.kind != kind:
        what = "a weight" if kind == "mass" else "a percentage"
        words = f"`{clipped(typed)}` is not {what}."
        raise Refused("bound-unreadable", words, _example(kind))
    if kind == "percent" and not amount.of and amount.value > 100:
        words = f"`{clipped(typed)}` is over 100 % of all."
        raise Refused("bound-unreadable", words, "Name what it is of, as in % of meat.")
    return amount


def _ordered(low: Amount, high: Amount, typed: str, ends: re.Match[str]) -> None:
    """Raises Refused for ends that contradict each other."""
    if low.value == high.value:
        raise Refused(
            "bound-without-room",
            f"`{clipped(typed)}`: both ends are one figure. No scale weighs that.",
            _example("percent" if low.kind == "percent" else "mass"),
        )
    if low.value > high.value:
        fixed = f"{_figure(ends[2])} to {ends[1].strip()}{_after(ends[2])}"
        raise Refused(
            "bound-upside-down",
            f"`{clipped(typed)}`: the first figure is above the second. Nothing is both.",
            "Write the lower figure first.",
            [fixed] if re.fullmatch(r"[0-9.,]+", ends[1].strip()) else [],
        )


def _figure(text: str) -> str:
    """The figure that an end begins with."""
    found = re.match(r"[0-9.,]+", text)
    return found[0] if found else text


def _after(text: str) -> str:
    """What is behind the figure of an end."""
    return text[len(_figure(text)) :]


def _one_figure(body: str, typed: str, units: Units, kind: str) -> Refused:
    """One figure without a side: at least, or at most?"""
    _end(body, typed, units, kind)  # what is no amount at all has its own words
    words = f"`{clipped(typed)}`: at least that, or at most?"
    write = [f"at least {typed}", f"at most {typed}"]
    return Refused("bound-without-side", words, "A bound has a side, or two ends.", write)


def _example(kind: str) -> str:
    return as_written("As in 9.5 to 11 kg." if kind == "mass" else "As in 24 to 30 %.")


def _share_bound(value: object, info: ValidationInfo) -> Bound:
    try:
        return read_bound(text_of(value), units_of(info), "percent")
    except Refused as refused:
        raise refusal(refused) from None


def _weight_bound(value: object, info: ValidationInfo) -> Bound:
    try:
        return read_bound(text_of(value), units_of(info), "mass")
    except Refused as refused:
        raise refusal(refused) from None


_FORM = "At least, at most or from … to … percent: of all, `of` a part or line, or `in` it alone."
_ITEM = {"type": "string", "pattern": "%"}
ShareBounds = Annotated[
    tuple[Annotated[Bound, PlainValidator(_share_bound)], ...],
    LISTED,
    one_or_many(
        _FORM, _ITEM, "24 to 30 %", "at most 2 %", "1.6 to 2 % of meat", "24 to 30 % in meat"
    ),
]
WeightBounds = Annotated[
    tuple[Annotated[Bound, PlainValidator(_weight_bound)], ...],
    LISTED,
    one_or_many(
        "At least, at most or from … to … so much weight.",
        {"type": "string", "pattern": "[A-Za-z]"},
        "9 to 11 kg",
        "at most 12 kg",
    ),
]


class Bounds(Record):
    """What the formula stays within when `reformulate` makes it of what there is. All is counted
    as it is weighed, before a step takes from it."""

    fat: ShareBounds = Field((), description="Fat.")
    lean: ShareBounds = Field((), description="All that isn't fat: 70 % lean is 30 % fat.")
    protein: ShareBounds = Field((), description="Protein.")
    water: ShareBounds = Field((), description="Water, that in the ingredients too.")
    solids: ShareBounds = Field((), description="All but the water.")
    carbohydrate: ShareBounds = Field((), description="Carbohydrate, its fibre too.")
    sugar: ShareBounds = Field((), description="Sugars of all kinds.")
    fibre: ShareBounds = Field((), description="Dietary fibre.")
    ash: ShareBounds = Field((), description="Ash: minerals, salt too.")
    salt: ShareBounds = Field((), description="Salt, that in the ingredients too.")
    acid: ShareBounds = Field((), description="Acids of all kinds.")
    alcohol: ShareBounds = Field((), description="Alcohol by weight.")
    milk_solids: ShareBounds = Field((), description="Milk without its water.")
    msnf: ShareBounds = Field((), description="Milk solids without the milk's fat.")
    hydration: ShareBounds = Field(
        (),
        description="For a dough: its liquids on its flour, preferments opened. Always of the "
        "flour.",
        examples=["62 to 68 %"],
    )
    total: WeightBounds = Field(
        (), description="What a batch weighs in all, as for a bowl that must be full enough."
    )
    shares: dict[Id, ShareBounds] = Field(
        default_factory=dict,
        description="The share of an ingredient, a made-ahead formula or a part, by its id.",
        examples=["{liver: at most 30 % of meat}"],
    )

    @property
    def by_key(self) -> list[tuple[tuple[str, ...], int, Bound]]:
        """Every bound with its keys here and its number there, in the order of the keys."""
        found: list[tuple[tuple[str, ...], int, Bound]] = []
        for name in type(self).model_fields:
            if name != "shares":
                found += [((name,), n, one) for n, one in enumerate(getattr(self, name))]
        for ident, bounds in self.shares.items():
            found += [(("shares", ident), n, one) for n, one in enumerate(bounds)]
        return found

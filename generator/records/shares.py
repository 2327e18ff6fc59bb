"""Percentages that say of what: a strength, or a share of green weight."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.amounts import Amount, read_amount
from generator.measures.words import NARROW, plain
from generator.records.fields import percent_value, refusal, text_of, units_of

_GREEN = " of green weight"


@dataclass(frozen=True)
class ShareRange:
    """A share of what goes into a step, from ``low`` to ``high``; one figure is both."""

    low: Fraction
    high: Fraction

    @property
    def mean(self) -> Fraction:
        """The middle of the two, which counts for weights."""
        return (self.low + self.high) / 2

    @property
    def words(self) -> str:
        """As people read it: "6 %", "5 to 8 %"."""
        low, high = plain(self.low * 100), plain(self.high * 100)
        return f"{low if low == high else f'{low} to {high}'}{NARROW}%"


def _percentage(value: Any, info: ValidationInfo) -> Amount:
    try:
        amount = read_amount(text_of(value), units_of(info), pieces=False)
    except Refused as refused:
        raise refusal(refused) from None
    if amount.kind != "percent":
        raise refusal(
            Refused(
                "amount-wrong-kind", f"`{clipped(str(value))}` is not a percentage.", "As in 6 %."
            )
        )
    return amount


def _strength(value: Any, info: ValidationInfo) -> Fraction:
    amount = _percentage(value, info)
    if amount.of or not 0 < amount.value <= 100:
        raise refusal(
            Refused(
                "strength-out-of-range",
                f"`{clipped(str(value))}`: a strength must be a plain percentage, 100 % at most.",
                "As the label says, in percent.",
            )
        )
    return percent_value(amount)


def read_constituent(value: Any, info: ValidationInfo) -> Fraction:
    """A percentage from 0 to 100 % as a share. Raises a refusal for anything else."""
    if re.fullmatch(r"0+([.,]0+)?\s*%", text_of(value).strip()):
        return Fraction(0)  # a food without fat, which is no slip
    return _strength(value, info)


def _of_green(value: Any, info: ValidationInfo) -> Fraction:
    text = " ".join(text_of(value).split())
    if text.lower().endswith(_GREEN):
        text = text[: -len(_GREEN)]
    amount = _percentage(text, info)
    if amount.of or not 0 < amount.value < 100:
        raise refusal(
            Refused(
                "pump-out-of-range",
                f"`{clipped(str(value))}`: what the meat takes up must be a share of its green "
                "weight.",
                "As in 10 % of green weight.",
            )
        )
    return percent_value(amount)


_ZERO = re.compile(r"0+([.,]0+)?\s*%")
_FROM_TO = re.compile(r"\s*(?:-|–|\bto\b)\s*", re.IGNORECASE)


def _range(value: Any, info: ValidationInfo) -> ShareRange:
    """One percentage, or two with *to* between them: 5 to 8 %."""
    text = text_of(value).strip()
    ends = _ends_of(text)
    low, high = (_end(end, info) for end in (ends[0], ends[-1]))
    if low > high:
        fixed = f"{plain(high * 100)} to {plain(low * 100)} %"
        words = f"`{clipped(text)}`: the first figure is above the second."
        raise refusal(Refused("share-range", words, "Write the lower figure first.", [fixed]))
    if not high:
        _percentage(text, info)  # nothing lost or gained is no line at all
    return ShareRange(low, high)


def _ends_of(text: str) -> list[str]:
    """The one figure of a text or both, each with its sign."""
    ends = _FROM_TO.split(text)
    if len(ends) > 2 or not all(ends):
        raise _no_range(text)
    if len(ends) == 1:
        return ends
    if "%" not in text:
        words = f"`{clipped(text)}`: two percentages need their sign."
        raise refusal(Refused("share-range", words, "As in 5 to 8 %.", [f"{text} %"]))
    return [ends[0] if "%" in ends[0] else f"{ends[0]} %", ends[1]]


def _end(text: str, info: ValidationInfo) -> Fraction:
    """One end of a range; it may begin at nothing."""
    if _ZERO.fullmatch(text):
        return Fraction(0)
    amount = _percentage(text, info)
    if amount.of:
        raise _no_range(text)
    return percent_value(amount)


def _no_range(value: Any) -> Exception:
    words = f"`{clipped(str(value))}` is neither a percentage nor two with `to` between them."
    return refusal(Refused("share-range", words, "As in 6 %, or 5 to 8 %."))


def _loss(value: Any, info: ValidationInfo) -> ShareRange:
    found = _range(value, info)
    if found.high >= 1:
        words = f"`{clipped(str(value))}`: a loss must be a plain percentage below 100 %."
        raise refusal(Refused("share-out-of-range", words, "As in 6 %, or 5 to 8 %."))
    return found


MOST_GAIN = 20
"""Times its own weight: the most that food takes up. Agar and sago come near it, nothing passes."""


def _gain(value: Any, info: ValidationInfo) -> ShareRange:
    found = _range(value, info)
    if found.high > MOST_GAIN:
        most = f"{MOST_GAIN * 100} %"
        words = f"`{clipped(str(value))}`: no food gains more than {most} of its weight."
        help = "Write what is gained, not what it weighs after: rice from 1 to 3 kg gains 200 %."
        raise refusal(Refused("share-out-of-range", words, help))
    return found


def _left_share(value: Any, info: ValidationInfo) -> Fraction:
    amount = _percentage(value, info)
    if amount.of or not 0 < amount.value <= 100:
        words = f"`{clipped(str(value))}`: what stays must be a plain percentage, 100 % at most."
        raise refusal(Refused("share-out-of-range", words, "As in 40 %."))
    return percent_value(amount)


Loss = Annotated[
    ShareRange,
    PlainValidator(_loss),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage below 100 %, or two with *to* between them.",
            "examples": ["6 %", "5 to 8 %"],
            "pattern": "%",
        }
    ),
]
Gain = Annotated[
    ShareRange,
    PlainValidator(_gain),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage, or two with *to* between them.",
            "examples": ["180 %", "170 to 190 %"],
            "pattern": "%",
        }
    ),
]
LeftShare = Annotated[
    Fraction,
    PlainValidator(_left_share),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage, 100 % at most.",
            "examples": ["40 %"],
            "pattern": "%",
        }
    ),
]
Strength = Annotated[
    Fraction,
    PlainValidator(_strength),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage, 100 % at most.",
            "examples": ["6.25 %"],
            "pattern": "%",
        }
    ),
]
OfGreenWeight = Annotated[
    Fraction,
    PlainValidator(_of_green),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage of the green weight of the meat.",
            "examples": ["10 % of green weight"],
            "pattern": "%",
        }
    ),
]

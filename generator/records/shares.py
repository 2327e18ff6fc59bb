"""Percentages that say of what: a strength, or a share of green weight."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.amounts import Amount, read_amount
from generator.records.fields import percent_value, refusal, text_of, units_of

_GREEN = " of green weight"


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

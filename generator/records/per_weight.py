"""Small amounts in 100 g of a food, as a table or a label prints them: 215 mg, 1.7 µg."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.between import Between
from generator.measures.marks import as_written, figure_of, refuse_point
from generator.records.fields import refusal, text_of

UNITS = {"g": Fraction(1), "mg": Fraction(1, 1000), "µg": Fraction(1, 10**6)}
"""What a unit is in grams."""
_SPELT = {"g": "g", "mg": "mg", "µg": "µg", "μg": "µg", "ug": "µg", "mcg": "µg"}
_FIGURE = r"(\d{1,6}(?:[.,]\d{1,4})?)"
_FORM = re.compile(
    rf"{_FIGURE}\s*(?P<first>[a-zµμ]+)?(?:\s*(?:\bto\b|–|-)\s*{_FIGURE}\s*(?P<unit>[a-zµμ]+))?"
    r"(?:\s*(?:per|in|/)\s*100\s*g)?"
)


def _per_weight(value: Any, info: ValidationInfo) -> Between:
    text = " ".join(text_of(value).split())
    try:
        refuse_point(text)
        return _between(text)
    except Refused as refused:
        raise refusal(refused) from None


def _between(text: str) -> Between:
    """Both ends of a text, as shares of the weight. Raises Refused for anything else."""
    found = _FORM.fullmatch(text.lower())
    last = _SPELT.get(found["unit"] or found["first"] or "") if found is not None else None
    if found is None or last is None or (found["first"] or "g") not in _SPELT:
        words = f"`{clipped(text)}` is no weight in 100 g of the food."
        raise Refused("nutrient-form", words, as_written("As in 215 mg, 1.7 µg, or 10 to 12 mg."))
    first = _SPELT[found["first"]] if found["first"] else last
    low = figure_of(found[1]) * UNITS[first] / 100
    high = figure_of(found[3]) * UNITS[last] / 100 if found[3] else low
    if low > high:
        words = f"`{clipped(text)}`: the lower figure comes first."
        raise Refused("range-upside-down", words, "As in 10 to 12 mg.")
    if high > 1:
        words = f"`{clipped(text)}` is more than the 100 g it is in."
        raise Refused("nutrient-form", words, "Check its unit: g, mg or µg.")
    return Between(low, high)


InHundredGrams = Annotated[
    Between,
    PlainValidator(_per_weight),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A weight in 100 g of the food, in g, mg or µg, or a range.",
            "examples": ["215 mg", "1.7 µg", "10 to 12 mg"],
            "pattern": "[gG]",
        }
    ),
]

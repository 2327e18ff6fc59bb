"""Field types: how the text under a key becomes a value, and how a refusal reaches the chef."""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Callable
from fractions import Fraction
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BeforeValidator, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from generator.files.finding import Refused, clipped
from generator.measures.amounts import ACCENTED, AS_NEEDED, Amount, read_amount
from generator.measures.dates import read_date
from generator.measures.marks import as_written, refuse_point, whole_figures
from generator.measures.power import Power, read_power
from generator.measures.ranges import (
    Humidity,
    Span,
    TemperatureSpan,
    read_humidity,
    read_span,
    read_temperatures,
)
from generator.measures.temperature import (
    Temperature,
    TemperatureDifference,
    read_difference,
    read_temperature,
)
from generator.measures.times import Time, read_time
from generator.measures.units import Units
from generator.measures.words import listed

_T = TypeVar("_T")
ID_PATTERN = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
MOST_ID = 60


def refusal(refused: Refused) -> PydanticCustomError:
    """A refusal as pydantic carries it: the code as type, words and fixes in the context."""
    context = {"words": refused.message, "help": refused.help, "write": list(refused.write)}
    return PydanticCustomError(refused.code, "{words}", context)


def text_of(value: Any) -> str:
    """The text under a key. Raises a refusal for a mapping, a list or nothing."""
    if not isinstance(value, str):
        raise refusal(
            Refused("text-expected", "Write a single value here, not a list or a group of keys.")
        )
    if not value.strip():
        raise refusal(
            Refused(
                "value-missing",
                "There is nothing after the colon.",
                "Write a value or delete the key.",
            )
        )
    return value


def reader(read: Callable[[str], _T]) -> Callable[[Any], _T]:
    """A field validator from a function that reads text or raises Refused."""

    def validate(value: Any) -> _T:
        try:
            return read(text_of(value))
        except Refused as refused:
            raise refusal(refused) from None

    return validate


def units_of(info: ValidationInfo) -> Units:
    """The kitchen's units, handed to validation as its context."""
    context = info.context
    assert isinstance(context, dict), "records are validated with a context"
    units = context["units"]
    assert isinstance(units, Units)
    return units


def _amount_of(*kinds: str, pieces: bool = False) -> Callable[[Any, ValidationInfo], Amount]:
    examples = {
        "mass": "250 g",
        "volume": "240 ml",
        "length": "12 mm",
        "percent": "6 %",
        "count": "3 each",
    }

    def validate(value: Any, info: ValidationInfo) -> Amount:
        try:
            if pieces and " ".join(str(value).lower().split()) == AS_NEEDED:
                return Amount(Fraction(0), "as-needed", AS_NEEDED, AS_NEEDED)
            try:
                amount = read_amount(text_of(value), units_of(info), pieces=pieces)
            except Refused as refused:
                raise _fitting(refused, str(value).strip(), kinds, examples) from None
            if amount.kind not in kinds:
                wanted = " or ".join(f"a {_KIND_WORD[k]}" for k in kinds)
                raise Refused(
                    "amount-wrong-kind",
                    f"`{value}` is a {_KIND_WORD[amount.kind]}; you need {wanted} here.",
                    f"As in {listed([examples[k] for k in kinds], 'or')}.",
                )
            return amount
        except Refused as refused:
            raise refusal(refused) from None

    return validate


def _fitting(
    refused: Refused, typed: str, kinds: tuple[str, ...], examples: dict[str, str]
) -> Refused:
    """A refusal whose fixes are of a kind that may be under the key."""
    write = refused.write
    if refused.code == "amount-without-unit" and len(kinds) == 1:
        write = tuple(f"{typed} {unit}" for unit in _UNITS_TO_ADD.get(kinds[0], ()))
        if "mass" not in kinds:
            help = "A number needs its unit."
            return Refused(refused.code, refused.message, help, write)
    elif refused.code == "amount-without-unit" and "percent" not in kinds:
        write = tuple(fix for fix in write if "%" not in fix)
    elif _by_examples(refused, kinds):
        help = f"Write it as in {listed([examples[kind] for kind in kinds], 'or')}."
        return Refused(refused.code, refused.message, help)
    return Refused(refused.code, refused.message, refused.help, write)


def _by_examples(refused: Refused, kinds: tuple[str, ...]) -> bool:
    """Whether a refusal gives examples, which are to be of a kind that may be under the key: all
    but those of a line's amount that say what is likely meant. A line may be any of it, `as needed`
    too."""
    of_a_line = {"percent", "mass"} <= set(kinds)
    likely = of_a_line and (refused.write or AS_NEEDED in refused.help)
    unread = refused.code in ("amount-unreadable", "amount-missing")
    return unread and " as in " in refused.help and not likely


_UNITS_TO_ADD = {
    "percent": ("%",),
    "mass": ("g",),
    "volume": ("ml", "l"),
    "length": ("mm", "cm"),
}
_KIND_WORD = {
    "mass": "weight",
    "volume": "volume",
    "length": "length",
    "percent": "percentage",
    "count": "count",
}


measure_or_count = _amount_of("mass", "volume", "count", pieces=True)
"""Reads a weight, a volume or a count. Raises a refusal for anything else."""


def _schema(form: str, *examples: str, **more: Any) -> WithJsonSchema:
    """What a schema says of a field type: ``form`` in words, which the schemas put behind the key's
    own description, examples, and whatever else JSON Schema can say of it."""
    return WithJsonSchema({"type": "string", "form": form, "examples": list(examples), **more})


def as_id(text: str) -> str:
    """A name people read as an id, as far as it goes: "Crème brûlée" → creme-brulee.

    What comes out may still be no id (empty, or starting with a digit).
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")


def _identity(text: str) -> str:
    if len(text) > MOST_ID:
        raise Refused(
            "id-form", f"`{clipped(text)}` is over {MOST_ID} letters long.", "Shorten it."
        )
    if ID_PATTERN.fullmatch(text):
        return text
    fixed = as_id(text)
    raise Refused(
        "id-form",
        f"`{clipped(text)}` is not an id: small letters, digits and single hyphens.",
        "Write ids like file names. The name people read is under `name`.",
        [fixed] if ID_PATTERN.fullmatch(fixed) else [],
    )


def read_words(text: str) -> str:
    words = unicodedata.normalize("NFC", " ".join(text.split()))
    if len(words) > 2000:
        raise Refused(
            "text-too-long", "This text has over 2,000 letters.", "Split it over several lines."
        )
    return words


MOST_DIGITS = 6


def _whole(text: str) -> int:
    if not re.fullmatch(rf"[0-9]{{1,{MOST_DIGITS}}}", text.strip()):
        raise Refused(
            "whole-number-expected",
            f"`{clipped(text)}` is not a whole number.",
            "Write digits only, as in 3.",
            [figure for figure in whole_figures(text) if len(figure) <= MOST_DIGITS],
        )
    return int(text)


def read_figure(text: str) -> Fraction:
    """A plain figure without a unit, as 0.91 or 4.3. Raises Refused."""
    refuse_point(text.strip()[:MOST_ID])
    typed = text.strip().replace(",", ".")
    if not re.fullmatch(r"[0-9]{1,2}(?:\.[0-9]{1,3})?", typed):
        raise Refused(
            "figure-expected",
            f"`{clipped(text)}` is not a plain figure.",
            as_written("As in 0.91 or 4.3."),
        )
    return Fraction(typed)


def _yes_no(text: str) -> bool:
    word = text.strip().lower()
    if word not in ("yes", "no", "true", "false"):
        raise Refused("yes-or-no", f"`{clipped(text)}`: is it yes or no?", "", ["yes", "no"])
    return word in ("yes", "true")


def _keeping(text: str) -> Time:
    try:
        time = read_time(text)
    except Refused as refused:
        if refused.code != "time-without-unit":
            raise
        figure = text.strip()
        unit = "day" if figure == "1" else "days"
        help = "Keeping counts in days. Day 1 is the day it is made."
        raise Refused(
            refused.code, f"{figure} of what: days, weeks?", help, [f"{figure} {unit}"]
        ) from None
    if time.seconds < 86400:
        raise Refused(
            "time-unreadable",
            f"`{clipped(text)}` is less than a day. Keeping counts in days.",
            "Write whole days, as in 4 days. Day 1 is the day it is made.",
        )
    return time


def _picture(text: str) -> str:
    name = text.strip()
    parts = name.split("/")
    simple = all(re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]*", part) for part in parts)
    if not simple or ".." in name or not name.lower().endswith((".png", ".jpg", ".jpeg", ".webp")):
        raise Refused(
            "picture-refused",
            f"`{name[:60]}` is not a picture's file name.",
            "Name a .png, .jpg or .webp file in the pages folder by letters, digits, - and _, "
            "as pictures/roll.jpg.",
        )
    return name


def percent_value(amount: Amount) -> Fraction:
    """A percentage as a share: 6 % → 6/100."""
    return amount.value / 100


def _share(value: Any, info: ValidationInfo) -> Fraction:
    amount = _amount_of("percent")(value, info)
    if amount.of or amount.value >= 100:
        raise refusal(
            Refused(
                "share-out-of-range",
                f"`{value}`: a loss must be a plain percentage below 100 %.",
                "As in 6 %.",
            )
        )
    return percent_value(amount)


MOST_OVERRUN = 300
"""Percent: ours. Beyond it a figure is a slip."""


def _overrun(value: Any, info: ValidationInfo) -> Fraction:
    amount = _amount_of("percent")(value, info)
    if amount.of or amount.value > MOST_OVERRUN:
        raise refusal(
            Refused(
                "overrun-out-of-range",
                f"`{value}`: overrun must be a plain percentage, {MOST_OVERRUN} % at most.",
                as_written("1 l of mix that becomes 1.8 l has 80 %."),
            )
        )
    return percent_value(amount)


_ID = {"pattern": f"^{ID_PATTERN.pattern}$", "maxLength": MOST_ID}
_UNIT = {"pattern": f"[A-Za-z{ACCENTED}%]"}
"""Whatever else an amount is, it has a unit: a bare number is refused."""
SCALE = {"pattern": "[0-9] ?(°|º|deg|degree|degrees)? ?[CcFf]"}
_TEXT = ["string", "number", "boolean"]
"""A text as a YAML reader that guesses types may have taken it: `edition: 2022`, `name: No`."""

TEXT_SCHEMA = _schema("Text.", type=_TEXT)
Words = Annotated[str, PlainValidator(reader(read_words)), TEXT_SCHEMA]
Id = Annotated[
    str,
    PlainValidator(reader(_identity)),
    _schema("An id.", **_ID),
]
WholeNumber = Annotated[
    int,
    PlainValidator(reader(_whole)),
    _schema("A whole number.", "3", type=["integer", "string"], minimum=0, pattern="^[0-9]{1,6}$"),
]
NUMBER_SCHEMA = _schema("A figure without a unit.", "4.3", type=["number", "string"])
PureNumber = Annotated[Fraction, PlainValidator(reader(read_figure)), NUMBER_SCHEMA]
PictureFile = Annotated[
    str,
    PlainValidator(reader(_picture)),
    _schema("A .png, .jpg or .webp file in the pages folder.", "pictures/roll.jpg"),
]
YesNo = Annotated[
    bool, PlainValidator(reader(_yes_no)), WithJsonSchema({"enum": ["yes", "no", True, False]})
]
Date = Annotated[
    datetime.date,
    PlainValidator(reader(read_date)),
    _schema("A day as year-month-day.", "2026-09-14", pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}$"),
]
Degrees = Annotated[
    Temperature,
    PlainValidator(reader(read_temperature)),
    _schema("A temperature with its scale.", "74 °C", "165 °F", "-18 °C", **SCALE),
]
DIFFERENCE_SCHEMA = _schema("A difference of temperatures.", "1 °C", "2 °F", **SCALE)
Difference = Annotated[
    TemperatureDifference, PlainValidator(reader(read_difference)), DIFFERENCE_SCHEMA
]
Duration = Annotated[
    Time,
    PlainValidator(reader(read_time)),
    _schema("A time with its unit.", "45 min", "1 h 30 min", "17 s", **_UNIT),
]
DegreeSpan = Annotated[
    TemperatureSpan,
    PlainValidator(reader(read_temperatures)),
    _schema(
        "A temperature with its scale, or a range.", "180 °C", "160 to 180 °C", "350 °F", **SCALE
    ),
]
TimeSpan = Annotated[
    Span,
    PlainValidator(reader(read_span)),
    _schema("A time with its unit, or a range.", "45 min", "36 to 40 min", "1 h 30 min", **_UNIT),
]
RelativeHumidity = Annotated[
    Humidity,
    PlainValidator(reader(read_humidity)),
    _schema("Percent, or a range.", "75 %", "70 to 75 %", pattern="%"),
]
Keeping = Annotated[
    Time, PlainValidator(reader(_keeping)), _schema("A day or more.", "4 days", "2 weeks", **_UNIT)
]
Mass = Annotated[
    Amount,
    PlainValidator(_amount_of("mass")),
    _schema("A weight.", "250 g", "2.4 kg", "2 lb 6 oz", **_UNIT),
]
Length = Annotated[
    Amount, PlainValidator(_amount_of("length")), _schema("A length.", "70 mm", "2.5 cm", **_UNIT)
]
Volume = Annotated[
    Amount, PlainValidator(_amount_of("volume")), _schema("A volume.", "6.9 l", "2 gal", **_UNIT)
]
Watts = Annotated[
    Power,
    PlainValidator(reader(read_power)),
    _schema("A power.", "800 W", "3.5 kW", "12000 Btu/h", **_UNIT),
]
LineAmount = Annotated[
    Amount,
    PlainValidator(_amount_of("mass", "volume", "count", "percent", pieces=True)),
    _schema(
        "A weight, a volume, a count, or a percentage of the base, of a part or of a line.",
        *("1.5 kg", "1 1/2 cup", "4 each", "6 cloves", "1.7 %", "5 % of meat", "as needed"),
        "9 % of the whole pickle",
        **_UNIT,
    ),
]
Share = Annotated[
    Fraction, PlainValidator(_share), _schema("A percentage below 100 %.", "6 %", pattern="%")
]
Overrun = Annotated[
    Fraction, PlainValidator(_overrun), _schema("A percentage.", "80 %", pattern="%")
]
LISTED = BeforeValidator(lambda value: [value] if isinstance(value, str) else value)
"""A single text where a list may be is a list of one."""


def one_or_many(form: str, item: dict[str, Any], *examples: str) -> WithJsonSchema:
    """What a schema says of a list where a single text means a list of one."""
    return WithJsonSchema(
        {
            "anyOf": [item, {"type": "array", "items": item}],
            "form": form,
            "examples": list(examples),
        }
    )


_SAID = {"anyOf": [{"type": _TEXT}, {"type": "array", "items": {"type": _TEXT}}]}
_IN_LANGUAGES = {
    "type": "object",
    "propertyNames": {"pattern": "^[a-z]{2}$"},
    "additionalProperties": _SAID,
}
"""One text in several languages, by their codes; ``intake.told`` leaves the kitchen's own."""

Told = Annotated[
    str,
    PlainValidator(reader(read_words)),
    WithJsonSchema({"anyOf": [{"type": _TEXT}, _IN_LANGUAGES], "form": "Text.", "examples": []}),
]

WordList = Annotated[
    tuple[Words, ...], LISTED, one_or_many("One text, or a list.", {"type": _TEXT})
]

ToldList = Annotated[
    tuple[Words, ...],
    LISTED,
    WithJsonSchema(
        {
            "anyOf": [
                {"type": _TEXT},
                {"type": "array", "items": {"anyOf": [{"type": _TEXT}, _IN_LANGUAGES]}},
                _IN_LANGUAGES,
            ],
            "form": "One text, or a list.",
            "examples": [],
        }
    ),
]


def _ids_listed(value: Any) -> Any:
    """A single id is a list of one; several in one text are asked about."""
    if isinstance(value, str) and "," in value:
        ids = [as_id(word) for word in value.split(",") if word.strip()]
        words = f"`{clipped(value)}` is one text. Several ids must be a list."
        fits = all(ID_PATTERN.fullmatch(ident) for ident in ids)
        fixes = [f"[{', '.join(ids)}]"] if fits else []
        raise refusal(Refused("id-form", words, "Put a list in brackets.", fixes))
    return [value] if isinstance(value, str) else value


IdList = Annotated[
    tuple[Id, ...],
    BeforeValidator(_ids_listed),
    one_or_many("One id, or a list of ids.", {"type": "string", **_ID}),
]
Degree = Literal["°C", "°F"]
DegreeList = Annotated[
    tuple[Degree, ...],
    LISTED,
    one_or_many("One, or a list of both.", {"enum": ["°C", "°F"]}, "°C", "[°C, °F]"),
]

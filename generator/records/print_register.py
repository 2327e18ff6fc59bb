"""The print register: which sheets were printed, with which number and at which hash."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.records.fields import Date, Id, WholeNumber, Words, reader
from generator.records.record import Record

_HASH = re.compile(r"[0-9a-f]{8}")
_COMMIT = re.compile(r"[0-9a-f]{40}([0-9a-f]{24})?")
_KEY = re.compile(r"[a-z0-9-]+(/[a-z0-9-]+)+")


def _number(text: str) -> int:
    if not re.fullmatch(r"[1-9][0-9]{0,4}", text.strip()):
        raise Refused(
            "register-number",
            f"`{clipped(text)}` is not a sheet's number.",
            "Numbers are whole, from 1, without a leading zero.",
        )
    return int(text)


def _hash(text: str) -> str:
    if not _HASH.fullmatch(text):
        raise Refused(
            "register-hash",
            f"`{clipped(text)}` is not a sheet's hash.",
            "Copy the eight digits and letters (0 to 9, a to f) at the foot of the printed sheet.",
        )
    return text


def _commit(text: str) -> str:
    if not _COMMIT.fullmatch(text):
        raise Refused(
            "register-commit",
            f"`{clipped(text)}` is not a commit's whole id.",
            "Delete the line if it isn't known.",
        )
    return text


def _key(text: str) -> str:
    if not _KEY.fullmatch(text):
        raise Refused(
            "register-sheet",
            f"`{clipped(text)}` is not a sheet's key.",
            "It is the station, the standard and the kind, as in larder/roll/batch/8-rolls.",
        )
    return text


SheetNumber = Annotated[
    int,
    PlainValidator(reader(_number)),
    WithJsonSchema({"type": "string", "pattern": "^[1-9][0-9]{0,4}$"}),
]
SheetHash = Annotated[
    str,
    PlainValidator(reader(_hash)),
    WithJsonSchema({"type": "string", "pattern": f"^{_HASH.pattern}$", "examples": ["7c19e2a0"]}),
]
Commit = Annotated[
    str,
    PlainValidator(reader(_commit)),
    WithJsonSchema({"type": "string", "pattern": f"^{_COMMIT.pattern}$"}),
]
SheetKey = Annotated[
    str,
    PlainValidator(reader(_key)),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": f"^{_KEY.pattern}$",
            "examples": ["larder/roll/batch/8-rolls"],
        }
    ),
]


def formula_of(key: str) -> str:
    """The formula a sheet's key is of; empty for a sheet of no formula."""
    _, _, rest = key.partition("/")
    ident, _, kind = rest.partition("/")
    return ident if kind.partition("/")[0] == "batch" else ""


class PrintedSheet(Record):
    """One sheet as it was last printed, under its number."""

    sheet: SheetKey = Field(description="Which sheet: station, standard, kind and size.")
    id: Words = Field(
        description="Its id as printed at its foot.", examples=["roll, batch sheet, 8 rolls"]
    )
    kind: Words = Field(description="Its kind.", examples=["batch"])
    revision: Words = Field(description="Its revision as printed.", examples=["4"])
    hash: SheetHash = Field(description="Its hash as printed.")
    printed: Date = Field(description="The day it was printed.")
    discarded: Date | None = Field(None, description="The day it was taken out of the binder.")
    commit: Commit | None = Field(
        None, description="The commit it was printed from. Left out where files weren't committed."
    )
    made_with: SheetHash | None = Field(
        None,
        description="The hash of the program and the reference data it was computed with.",
    )


class PrintedBinder(Record):
    """What one station's binder holds."""

    issue: WholeNumber = Field(description="Goes up by 1 with every recorded printing.")
    cover: SheetHash | None = Field(None, description="The hash of its cover as printed.")
    sheets: dict[SheetNumber, PrintedSheet] = Field(
        description="The sheets by number. A number is given once and never used again."
    )
    given_twice: dict[SheetNumber, PrintedSheet] = Field(
        {},
        description="Sheets in the binder whose number another branch gave to another sheet as "
        "well. `binder --merge-register` lists them. Print each again under a new number: then "
        "it leaves the list.",
    )


class PrintRegister(Record):
    """standards/print-register.yaml: written by `binder --register`, kept and committed with the
    standards."""

    binders: dict[Id, PrintedBinder] = Field(description="The binders by station.")

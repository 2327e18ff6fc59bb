"""Where a limit is, as JSON: its source, and a house limit's standing to the code."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import without_none
from generator.rules.basics.house_rule import HouseRule
from generator.rules.basics.limit import Source


def source_record(source: Source) -> dict[str, Any]:
    """Document, edition, clause, and the copies it was read in."""
    return {
        "document": source.document,
        "edition": source.edition,
        "clause": source.clause,
        "read_in": list(source.read_in),
        "checked_on": source.checked_on,
        "standing": source.standing,
    }


def house_record(house: HouseRule) -> dict[str, Any]:
    """A house limit as JSON: how it compares with the code, and what allows a looser one."""
    return without_none(
        {
            "standing": house.standing,
            "words": house.words,
            "limit": house.text,
            "reason": house.reason or None,
            "authority": house.authority or None,
            "document": house.document or None,
            "until": house.until.isoformat() if house.until is not None else None,
        }
    )

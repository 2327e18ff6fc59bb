"""Which key is meant by one a record doesn't know: one that reads the value that is written."""

from __future__ import annotations

import difflib
import functools
import typing
from typing import Any

from pydantic import ValidationError

from generator.records.record import Record

_NEAR = 0.6
"""From how near a spelling is proposed."""
_NOT = ("not_", "no_", "non_", "without_", "never_")
"""How a key begins that says the contrary of the one without it."""
_SAME = {
    "animal": "species",
    "food": "species",
    "weight_each": "weighs",
    "unit_weight": "weighs",
    "unit": "weighs",
    "units": "weighs",
    "piece": "weighs",
    "pieces": "weighs",
    "amount": "parts",
    "ingredients": "parts",
    "recipe": "parts",
    "method": "steps",
    "shelf_life": "keeps",
    "use_by": "keeps",
    "temperature": "at",
    "temp": "at",
    "duration": "time",
    "machine": "with",
    "equipment": "with",
    "action": "do",
    "verb": "do",
    "holds": "capacity",
    "waste": "trim",
    "yields": "makes",
    "fridge": "cold",
    "refrigerator": "cold",
    "refrigerated": "cold",
    "chilled": "cold",
    "freezer": "frozen",
    "room": "dry",
    "ambient": "dry",
    "cupboard": "dry",
}
"""Words of the trade for what a key of ours says."""


def fits(record: type[Record], key: str, value: Any, context: Any) -> bool:
    """Whether a record could read this value under this key, whatever else it lacks."""
    try:
        record.model_validate({key: value}, context=context)
    except ValidationError as error:
        return not any(fault["loc"][:1] == (key,) for fault in error.errors(include_url=False))
    return True


def nearest(word: str, known: list[str], cutoff: float = _NEAR) -> str:
    """The known word nearest to ``word``, or nothing: words only, never acted on."""
    return _nearest(_folded(word), tuple(known), cutoff)


def key_meant(
    record: type[Record], typed: str, value: Any, known: list[str], context: Any
) -> tuple[str, bool]:
    """The key that is likely meant by one that isn't known, and whether it reads the value as it
    is: then it is a fix that holds. Nothing where no key is like it.

    A spelling that only lacks the word "not" says the contrary and is never meant.
    """
    near = nearest(typed, known)
    if _says_the_contrary(typed, near):
        return "", False
    slip = near if near and nearest(typed, [near], _SURE) else ""
    same = _SAME.get(_folded(typed), "")
    begun = _begun(typed, known)
    for key in (slip, *_by_value(record, value, known), same, begun, near):
        if key in known and fits(record, key, value, context):
            return key, True
    return slip or begun or (same if same in known else ""), False


_OF_VOLUME = {
    "capacity": "bowl",
    "fill_weight": "fill_volume",
    "portion": "portion_volume",
}
"""For a key that takes a weight, the one beside it that takes a volume."""


def key_of_volume(record: type[Record], key: str, value: Any, context: Any) -> str:
    """The key beside one for weights that reads this value, a volume; nothing if none does."""
    other = _OF_VOLUME.get(key, "")
    return other if other and fits(record, other, value, context) else ""


def _by_value(record: type[Record], value: Any, known: list[str]) -> list[str]:
    """The keys that take this value as a word of their list."""
    return [key for key in known if isinstance(value, str) and value in _words(record, key)]


def _begun(typed: str, known: list[str]) -> str:
    """The one key that begins as this one does."""
    begun = [key for key in known if len(typed) > 2 and key.startswith(_folded(typed))]
    return begun[0] if len(begun) == 1 else ""


def _folded(typed: str) -> str:
    return typed.lower().replace("-", "_")


def _says_the_contrary(typed: str, near: str) -> bool:
    """Whether one of them denies what the other says."""
    return any(_folded(typed).startswith(word) and not near.startswith(word) for word in _NOT)


_SURE = 0.8
"""From how near a spelling is a slip of the finger, whatever stands under it."""


@functools.cache
def _words(record: type[Record], key: str) -> frozenset[str]:
    """The words a key takes, where it takes one of a list."""
    for name, field in record.model_fields.items():
        if key in (name, field.alias):
            return frozenset(_literals(field.annotation))
    return frozenset()


def _literals(annotation: Any) -> list[str]:
    if typing.get_origin(annotation) is typing.Literal:
        return [word for word in typing.get_args(annotation) if isinstance(word, str)]
    return [word for one in typing.get_args(annotation) for word in _literals(one)]


@functools.lru_cache(1024)
def _nearest(word: str, known: tuple[str, ...], cutoff: float) -> str:
    if len(word) > 2 * max(map(len, known), default=0):
        return ""  # no word twice as long is near; and it may be a megabyte
    near = difflib.get_close_matches(word, known, n=1, cutoff=cutoff)
    return near[0] if near else ""

"""Keys and words of the standards that had another name before, and where a tree still has them.

A renamed key is never read under its old name: it is a finding that says the new one, and one
command rewrites a kitchen (``records.upgrading``). Nothing but the word is changed: no figure, no
comment, no order.
"""

from __future__ import annotations

import functools
import re
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from generator.files.finding import Place
from generator.files.source_text import Mapping, Sequence, Text
from generator.records.record import Record, field_of, inner_record

Kind = Literal["key", "word", "id", "words"]


@dataclass(frozen=True)
class Rename:
    """One name that changed, in the version it did.

    ``record`` is the record's class by name. A ``key`` is one of its keys; a ``word`` is the value,
    or one of the values, of its key ``under``; an ``id`` is a key in the group ``under``; ``words``
    are the end of a text under the key, as in ``5 kg raw``.
    """

    kind: Kind
    record: str
    old: str
    new: str
    why: str
    under: str = ""


def _keys(record: str, why: str, **renamed: str) -> tuple[Rename, ...]:
    return tuple(Rename("key", record, old, new, why) for old, new in renamed.items())


def _words(record: str, under: str, why: str, renamed: dict[str, str]) -> tuple[Rename, ...]:
    return tuple(Rename("word", record, old, new, why, under) for old, new in renamed.items())


_LIMITS = "One word for one limit: cook, cool, hold-hot, hold-cold, reheat, receive, date."
_ROOM = "One pair of words for the most and the least that anything takes."
_FILLS = "`fill` was a weight, a share of a bowl and a verb."
_BY = "`by` meant four things."
_PROCESS = "A process reads like work, and names what the formula names."
_SEARCH = "It says what it holds."
_COLD = "One word for food kept cold."
_AIR = "One name for packing without air."
_DEGREE = {"degC": "°C", "degF": "°F"}

RENAMES: tuple[Rename, ...] = (
    *_keys("Process", _PROCESS, needs="parts"),
    *_keys("Step", _PROCESS, take="add", using="with"),
    *_keys("Step", _BY, by="schedule"),
    *_keys("Step", "The trade's word for a microwave's.", stands="standing_time"),
    *_keys("WithoutAir", _BY, by="criterion"),
    *_keys("HouseLimit", _BY, by="allowed_by"),
    *_keys("KitchenLimit", _BY, by="allowed_by"),
    *_keys("Makes", _FILLS, fill="fill_weight"),
    *_keys("Makes", "What one is called, and several.", one="unit", many="units"),
    *_keys(
        "Makes",
        "What one is called, and several.",
        serving="portion_unit",
        servings="portion_units",
    ),
    *_keys("Machine", _FILLS, fill="fill_level"),
    *_keys("Machine", _ROOM, most="capacity", least="minimum"),
    *_keys("Cold", _ROOM, most="capacity", least="minimum"),
    *_keys("Scale", _ROOM, least="minimum"),
    *_keys("Vessel", _ROOM, holds="capacity"),
    *_keys("Vessel", "Pieces are food.", pieces="count"),
    *(
        Rename("key", record, "at", "station", "`at` is a temperature.")
        for record in ("Scale", "Thermometer", "Machine", "Cold", "Vessel")
    ),
    *_keys("Keeps", _COLD, refrigerated="cold"),
    *_keys("Ingredient", _SEARCH, also="other_names"),
    *_keys("Formula", _SEARCH, also="other_names"),
    *_words("Ingredient", "arrives", _COLD, {"chilled": "cold"}),
    *_words("Kitchen", "temperature", "As it is written everywhere else.", _DEGREE),
    *_words("Thermometer", "reads", "As it is written everywhere else.", _DEGREE),
    *_words("KitchenLimit", "for", _LIMITS, {"date-mark": "date"}),
    *_words(
        "Authorisation",
        "for",
        _LIMITS,
        {
            "curing": "cure",
            "smoking": "smoke",
            "acidifying": "acidify",
            "reduced-oxygen": "pack-without-air",
            "cooking": "cook",
            "cooling": "cool",
            "hot-holding": "hold-hot",
            "cold-holding": "hold-cold",
            "reheating": "reheat",
            "date-marking": "date",
            "receiving": "receive",
            "non-continuous-cooking": "part-cook",
            "fermenting": "ferment",
            "drying": "dry",
        },
    ),
    Rename("id", "Formula", "date-mark", "date", _LIMITS, "house_limits"),
    *_words("WithoutAir", "criterion", "The code's words.", {"raw": "competing-organisms"}),
    *_words(
        "Step",
        "does",
        _AIR,
        {"excludes-air": "packs-without-air"},
    ),
    *_words("Step", "does", _LIMITS, {"hot-holds": "holds-hot", "time-controls": "holds-by-time"}),
    Rename("words", "Formula", "raw", "total", "Raw is how food is, not a sum.", "batches"),
)
"""Every rename, newest version last; the guide lists them."""


@dataclass(frozen=True)
class Old:
    """An old name in a tree: where it is typed, and what it is called now."""

    place: Place
    rename: Rename


def renamed_key(record: type[Record], key: str) -> Rename | None:
    """The rename of an old key of a record, or None."""
    return next((r for r in _of(record, "key") if r.old == key), None)


def renamed_word(record: type[Record], under: str, word: str) -> Rename | None:
    """The rename of an old word under a record's key, or None."""
    return next((r for r in _of(record, "word") if r.under == under and r.old == word), None)


def old_names(tree: Any, record: type[Record], both: bool = False) -> Iterator[Old]:
    """Every old name in the tree of a record, in typed order, with its place; where old and new are
    both there only if ``both`` is asked for, and then no other."""
    if not isinstance(tree, Mapping):
        if record.short and isinstance(tree, (Text, Sequence)):
            yield from _old_values(tree, record, record.short, both)
        return
    for key, value in tree.items():
        rename = renamed_key(record, key)
        if rename is not None and (rename.new in tree) == both:
            yield Old(tree.keys_at[key], rename)
            key = rename.new
        yield from _old_values(value, record, key, both)


def _old_values(value: Any, record: type[Record], key: str, both: bool) -> Iterator[Old]:
    """The old names at or below the value of a record's key."""
    if not both:
        yield from _old_words(value, record, key)
    if isinstance(value, Mapping):
        ids = [r for r in _of(record, "id") if r.under == key]
        there = [r for r in ids if r.old in value and (r.new in value) == both]
        yield from (Old(value.keys_at[r.old], r) for r in there)
    annotation = field_of(record, key)
    inner = inner_record(annotation)
    if inner is not None:
        for tree in _records_in(value, _groups(annotation)):
            yield from old_names(tree, inner, both)


def _old_words(value: Any, record: type[Record], key: str) -> Iterator[Old]:
    """The old words a key's value is, or lists."""
    words = [r for r in _of(record, "word", "words") if r.under == key]
    texts = [t for t in (value if isinstance(value, Sequence) else [value]) if isinstance(t, Text)]
    found = (_old_word(text, rename) for text in texts for rename in words)
    yield from (old for old in found if old is not None)


_WEIGHED = re.compile(r"[0-9].*\b(?:kg|g|lb|oz)\s+(?P<word>\S+)")


def _old_word(text: Text, rename: Rename) -> Old | None:
    if rename.kind == "word":
        return Old(text.place, rename) if text == rename.old else None
    found = _WEIGHED.fullmatch(text)  # a size by weight: a piece may be called as it likes
    return Old(text.place, rename) if found and found["word"] == rename.old else None


def _groups(annotation: Any) -> int:
    """In how many groups by id, one in the other, what an annotation holds stands."""
    inner = max(map(_groups, typing.get_args(annotation)), default=0)
    return inner + (typing.get_origin(annotation) is dict)


def _records_in(value: Any, depth: int) -> Iterator[Any]:
    """The trees of records in a value: itself, those of a list, those under their ids."""
    if depth and isinstance(value, Mapping):
        for one in value.values():
            yield from _records_in(one, depth - 1)
    elif isinstance(value, Sequence):
        yield from value
    else:
        yield value


@functools.cache
def _of(record: type[Record], *kinds: Kind) -> list[Rename]:
    """The renames of a kind of record; asked of every key of every file."""
    return [r for r in RENAMES if r.record == record.__name__ and r.kind in kinds]

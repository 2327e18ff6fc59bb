"""A validation error of a record as a finding a chef can act on."""

from __future__ import annotations

import functools
import re
import typing
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from generator.files.finding import MOST_READ, Finding, Place, clipped
from generator.files.source_text import Mapping, copied, locate, place_of
from generator.intake.near_keys import fits, key_meant, key_of_volume, nearest
from generator.measures.marks import as_written
from generator.records.record import Record, field_of, inner_record
from generator.records.renames import Rename, renamed_key, renamed_word

_R = TypeVar("_R", bound=Record)
_ONE_VALUE = "Write a single value here, not a list or a group of keys."
_UPGRADE = "`kitchen-manual upgrade` renames it everywhere and keeps comments."
_GROUP = "Write a group of keys here, one on each line, with two spaces before each."


def keys_of(model: type[Record]) -> list[str]:
    """The keys a record knows, in the order of its fields."""
    return [field.alias or name for name, field in model.model_fields.items()]


@functools.cache
def _kinds(annotation: Any) -> tuple[str, dict[str, type[Record]]]:
    """The key that distinguishes a union of records, and the record of each word; nothing for any
    other annotation."""
    if typing.get_origin(annotation) is not typing.Annotated:
        return "", {}
    union, *metadata = typing.get_args(annotation)
    key = next(
        (f.discriminator for f in metadata if isinstance(f, FieldInfo) and f.discriminator), ""
    )
    if not isinstance(key, str) or not key:
        return "", {}
    members: tuple[type[Record], ...] = typing.get_args(union)
    words = [(w, m) for m in members for w in typing.get_args(m.model_fields[key].annotation)]
    return key, dict(words)


@dataclass(frozen=True)
class _Inside:
    """What a key is in: the record, if it is one, and the key and the word that say which of
    several it is, if that is how it is known."""

    record: type[Record] | None
    by: tuple[str, str] | None = None


def _followed(model: type[Record], loc: tuple[Any, ...]) -> tuple[tuple[Any, ...], _Inside]:
    """Where a fault is as its keys are written, and what is there. The validator names, after a
    key under which one of several records is, the word that says which."""
    current: Any = model
    keys: list[Any] = []
    by: tuple[str, str] | None = None
    for key in loc:
        said_by, kinds = _kinds(current)
        if key in kinds:
            current, by = kinds[key], (said_by, key)
            continue
        keys.append(key)
        if isinstance(current, type) and issubclass(current, Record):
            current, by = field_of(current, key), None
        elif (values := typing.get_args(current)) and _kinds(values[-1])[0]:
            current = values[-1]
        elif (inner := inner_record(current)) and not isinstance(key, int):
            taken = field_of(inner, key)
            current = taken if taken is not None else current
    return tuple(keys), _Inside(inner_record(current), by)


def _as_written(fault: Any, model: type[Record]) -> Any:
    """A complaint of the validator with the keys it is under as they are written: one about
    which of several records is meant becomes one about the key that says so. ``inside`` is what the
    last key is in."""
    loc, inside = _followed(model, fault["loc"])
    if fault["type"] not in ("union_tag_invalid", "union_tag_not_found"):
        return {**fault, "loc": loc, "inside": _followed(model, fault["loc"][:-1])[1]}
    context = fault["ctx"]
    key = context["discriminator"].strip("'")
    whole = fault["input"]
    if not isinstance(whole, Mapping):
        return {**fault, "type": "model_type", "loc": loc, "inside": inside}
    if key not in whole:
        kind: dict[str, Any] = {"type": "missing"}
    else:
        kind = {"type": "literal_error", "input": whole[key]}
        kind["ctx"] = {"expected": context.get("expected_tags", "")}
    return {**fault, **kind, "loc": (*loc, key), "inside": inside}


def _complaints(error: ValidationError, model: type[Record]) -> list[Any]:
    """Every complaint of the validator about a record, each where it is written; as it is
    where no key has several kinds of record under it."""
    faults: list[Any] = list(error.errors(include_url=False, include_input=True))
    return [_as_written(f, model) for f in faults] if _has_kinds(model) else faults


@functools.cache
def _has_kinds(annotation: Any) -> bool:
    """Whether a record, or what an annotation holds, has one of several kinds of record in it."""
    if _kinds(annotation)[0]:
        return True
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return any(_has_kinds(_whole(field)) for field in annotation.model_fields.values())
    return any(_has_kinds(one) for one in typing.get_args(annotation))


def _whole(field: FieldInfo) -> Any:
    """A field's annotation, with the key that distinguishes its kinds, if it has one."""
    return typing.Annotated[field.annotation, field] if field.discriminator else field.annotation


_SAME = {
    "minced": "comminuted",
    "ground": "comminuted",
    "mince": "comminuted",
    "fridge": "refrigerator",
    "cooler": "refrigerator",
    "walk-in": "refrigerator",
    "scales": "scale",
    "probe": "thermometer",
    "tin": "vessel",
    "mould": "vessel",
    "mold": "vessel",
    "pan": "vessel",
    "tray": "vessel",
    "combi": "oven",
    "combi-oven": "oven",
    "rice-cooker": "pot",
    "food-processor": "cutter",
    "bowl-cutter": "cutter",
    "meat-slicer": "slicer",
    "mincer": "grinder",
    "sheeter": "other",
    "churn": "other",
    "ice-cream-machine": "other",
    "tumbler": "other",
    "smoker": "other",
    "dehydrator": "other",
    "proofer": "other",
    "prover": "other",
    "press": "other",
    "machine": "other",
    "°c": "°C",
    "c": "°C",
    "celsius": "°C",
    "°f": "°F",
    "f": "°F",
    "fahrenheit": "°F",
    "pasteurized": "pasteurised",
    "tenderized": "tenderised",
    "rte": "ready-to-eat",
    "refrigerated": "cold",
    "fresh": "cold",
    "room temperature": "ambient",
    "cooking": "cook",
    "cooling": "cool",
    "chill": "cool",
    "hot-hold": "hold-hot",
    "hot-holding": "hold-hot",
    "cold-hold": "hold-cold",
    "cold-holding": "hold-cold",
    "reheating": "reheat",
    "receiving": "receive",
    "date-mark": "date",
    "date-marking": "date",
    "vacuum-packing": "pack-without-air",
}
"""Words of the trade that say the same as one of ours."""


def _word_meant(typed: str, expected: list[str]) -> str:
    """Which of the words a key knows is meant: one that says the same, or one misspelt."""
    same = _SAME.get(" ".join(typed.split()).casefold(), "")
    if same in expected:
        return same
    return nearest(typed, [w.replace("-", "_") for w in expected], 0.8).replace("_", "-")


def salvage(model: type[_R], tree: Any, context: Any) -> _R | None:
    """What is left of a record without its faulty keys, or None if too little is."""
    rest = copied(tree)
    for _ in range(8):
        try:
            return model.model_validate(rest, context=context)
        except ValidationError as error:
            if not all(_drop(rest, fault) for fault in _complaints(error, model)):
                return None
    return None


def _drop(tree: Any, fault: Any) -> bool:
    """Take the key a fault is under out of the tree; false if there is none to take."""
    if fault["type"] == "missing":
        return False
    node, parent, key = tree, None, None
    for step in fault["loc"]:
        if not (isinstance(node, Mapping) and step in node):
            break
        parent, key, node = node, step, node[step]
    if parent is None or not isinstance(key, str):
        return False
    parent.pop(key, None)
    return True


def findings_of(
    error: ValidationError,
    model: type[Record],
    tree: Any,
    start: Place,
    about: str,
    reading: Any = None,
) -> list[Finding]:
    """Every fault of one record. ``start`` is where the record is, ``about`` its id, ``reading``
    the context it was read in."""
    faults = _complaints(error, model)
    unknown: dict[tuple[Any, ...], list[str]] = {}
    for fault in faults:
        if fault["type"] == "extra_forbidden":
            unknown.setdefault(fault["loc"][:-1], []).append(str(fault["loc"][-1]))

    def misspelt(fault: Any) -> bool:
        """A missing key whose misspelling is beside it is reported once."""
        typed = unknown.get(fault["loc"][:-1], [])
        return fault["type"] == "missing" and any(
            nearest(key, [str(fault["loc"][-1])]) for key in typed
        )

    def emptied(fault: Any) -> bool:
        """A list that is short only because its entries can't be read."""
        loc, size = fault["loc"], len(fault["loc"])
        return fault["type"] == "too_short" and any(
            len(f["loc"]) > size and f["loc"][:size] == loc for f in faults
        )

    by_type: dict[str, list[Any]] = {}
    for fault in faults:
        if not misspelt(fault) and not emptied(fault):
            by_type.setdefault(fault["type"], []).append(fault)
    return [
        finding
        for alike in by_type.values()
        for finding in _first(
            [_finding(f, model, tree, start, about, reading) for f in alike[:MOST_READ]], alike
        )
    ]


def _first(findings: list[Finding], alike: list[Any]) -> list[Finding]:
    """The findings of the first faults of a kind; the last says how many more there are."""
    rest = len(alike) - len(findings)
    return [*findings[:-1], replace(findings[-1], more=rest)] if rest else findings


@dataclass(frozen=True)
class _Fault:
    """One of the validator's complaints about a record, and where its value and its key are."""

    loc: tuple[Any, ...]
    kind: str
    input: Any
    context: Any
    words: str
    inside: type[Record]
    by: tuple[str, str] | None
    value_at: Place
    key_at: Place
    parent_at: Place
    about: str
    reading: Any

    def finding(
        self, code: str, place: Place, message: str, help: str = "", write: tuple[str, ...] = ()
    ) -> Finding:
        """An error about the record, each fix in its line."""
        fixed = tuple(place.fixed(fix) for fix in write)
        return Finding(code, "error", message, place, help, fixed, about=frozenset({self.about}))


_PLAIN = {
    "model_type": ("group-expected", _GROUP, ""),
    "dict_type": ("group-expected", _GROUP, ""),
    "model_attributes_type": ("group-expected", _GROUP, ""),
    "tuple_type": ("list-expected", "Write a list here.", "As in [one, two]."),
    "list_type": ("list-expected", "Write a list here.", "As in [one, two]."),
    "too_short": ("list-empty", "There must be at least one entry here.", ""),
    "string_type": ("text-expected", _ONE_VALUE, ""),
}
"""Complaints that only need words: the finding's code, its message, its help."""


def _finding(
    fault: Any, model: type[Record], tree: Any, start: Place, about: str, reading: Any
) -> Finding:
    loc: tuple[Any, ...] = fault["loc"]
    inside = fault["inside"] if "inside" in fault else _followed(model, loc[:-1])[1]
    _, value_at, key_at = locate(tree, loc, place_of(tree, start), start)
    _, _, parent_at = locate(tree, loc[:-1], start, start)
    one = _Fault(
        loc,
        fault["type"],
        fault["input"],
        fault.get("ctx", {}),
        fault["msg"],
        inside.record or model,
        inside.by,
        value_at,
        key_at,
        parent_at,
        about,
        reading or {"units": None},
    )
    match one.kind:
        case "missing":
            return _key_missing(one)
        case "extra_forbidden":
            return _key_unknown(one)
        case "literal_error" | "enum":
            return _word_unknown(one)
    if "words" in one.context:
        return _refused(one)
    if one.kind in _PLAIN:
        code, message, help = _PLAIN[one.kind]
        return one.finding(code, value_at, message, help, _as_group(one) or _as_entry(one))
    return one.finding("value-unreadable", value_at, f"This value can't be read: {one.words}.")


def _own_line(fault: _Fault) -> bool:
    """Whether a key and its one value are a whole line of the file."""
    typed = isinstance(fault.input, str) and bool(fault.loc)
    line = fault.value_at.text.strip() if typed else ""
    return typed and line == f"{fault.loc[-1]}: {fault.input}"


def _as_group(fault: _Fault) -> tuple[str, ...]:
    """The line with a value under the first key of its group that reads it; none where no key
    does."""
    if fault.kind != "model_type" or not _own_line(fault):
        return ()
    key, value = str(fault.loc[-1]), fault.input
    group = inner_record(field_of(fault.inside, key))
    inner = keys_of(group) if group is not None else []
    for first in inner:
        tree = Mapping(fault.value_at)
        tree[first] = value
        tree.keys_at[first] = fault.value_at
        if fits(fault.inside, key, tree, fault.reading):
            return (f"{key}: {{{first}: {value}}}",)
    return ()


def _as_entry(fault: _Fault) -> tuple[str, ...]:
    """The line with a value as the one entry of its list, where that reads it."""
    if fault.kind not in ("tuple_type", "list_type") or not _own_line(fault):
        return ()
    key = str(fault.loc[-1])
    fit = fits(fault.inside, key, [fault.input], fault.reading)
    return (f"{key}: [{fault.input}]",) if fit else ()


def _key_missing(fault: _Fault) -> Finding:
    """A key that must be there isn't; its field's description says what it is for."""
    key = str(fault.loc[-1])
    fields = fault.inside.model_fields
    described = next((f.description for n, f in fields.items() if key in (n, f.alias)), "")
    help = as_written((described or "").strip())
    return fault.finding("key-missing", fault.parent_at, f"`{key}` is missing here.", help)


def _key_unknown(fault: _Fault) -> Finding:
    """A key nobody knows: one misspelt, or the rest of a text that a comma parted."""
    key = fault.loc[-1]
    renamed = renamed_key(fault.inside, str(key))
    if renamed is not None:
        return _renamed(fault, fault.key_at, renamed)
    known = keys_of(fault.inside)
    where = f", where `{fault.by[0]}` is {fault.by[1]}" if fault.by is not None else ""
    near, holds = key_meant(fault.inside, str(key), fault.input, known, fault.reading)
    before = fault.key_at.text[: fault.key_at.column - 1]
    if not fault.input and "{" in before and before.rstrip().endswith(","):
        return _comma_in_braces(fault, nearest(str(key), known))
    hint = f"Did you mean `{near}`? " if near else ""
    return fault.finding(
        "key-unknown",
        fault.key_at,
        f"`{key}` is not a key here{where}.",
        f"{hint}Known: {', '.join(known)}.",
        (near,) if holds else _as_list(fault, near),
    )


def _as_list(fault: _Fault, near: str) -> tuple[str, ...]:
    """The line with a value in a list under the key that is meant, where that reads it."""
    if not near or not _own_line(fault):
        return ()
    fit = fits(fault.inside, near, [fault.input], fault.reading)
    return (f"{near}: [{fault.input}]",) if fit else ()


def _comma_in_braces(fault: _Fault, near: str) -> Finding:
    """The rest of a text that commas in braces parted from it: the text is offered whole. Each of
    several such rests is reported as the first."""
    line, place = fault.key_at.text, fault.key_at
    value = _PARTED.search(line)
    while value is not None and value.end() < place.column:
        value = _PARTED.search(line, value.end())
    fixes: tuple[str, ...] = ()
    if value is not None and value.start() < place.column and '"' not in value[0]:
        first = value.start() + value[0].index(",") + 1
        first += len(line[first:]) - len(line[first:].lstrip())
        rest = line[first : value.end()].split(",")[0].rstrip()
        place = replace(place, column=first + 1, length=len(rest))
        fixes = (f'{line[: value.start()]}"{value[0].rstrip()}"{line[value.end() :]}'.strip(),)
    parted = line[place.column - 1 : place.column - 1 + place.length]
    return Finding(
        "comma-splits",
        "error",
        f"In braces a comma splits entries. `{clipped(parted)}` is read as a key of its own.",
        place,
        "Put the text in quotes, or write it on its own line."
        + (f" Or did you mean the key `{near}`?" if near else ""),
        fixes,
        about=frozenset({fault.about}),
    )


_PARTED = re.compile(r"(?<=: )[^{}\[\]:,\s][^{}\[\]:,]*(?:,\s*[^{}\[\]:,]+(?=[,}]))+")
"""A value in braces with the texts behind it that have no colon of their own."""


def _word_unknown(fault: _Fault) -> Finding:
    """A value that is none of the words its key knows, or no word at all."""
    if not isinstance(fault.input, str):
        return fault.finding("text-expected", fault.value_at, _ONE_VALUE)
    if not fault.input.strip():
        help = "Write a value or delete the key."
        return fault.finding(
            "value-missing", fault.key_at, "There is nothing after the colon.", help
        )
    listed = fault.context["expected"].replace(" or ", ", ").split(", ")
    expected = [word.strip("' ") for word in listed]
    renamed = _renamed_word(fault)
    if renamed is not None:
        return _renamed(fault, fault.value_at, renamed)
    near = _word_meant(fault.input, expected)
    hint = f"Did you mean `{near}`? " if near in expected else ""
    return fault.finding(
        "word-unknown",
        fault.value_at,
        f"`{clipped(fault.input)}` is not a word known here.",
        f"{hint}Known: {', '.join(expected)}.",
        (near,) if near in expected else (),
    )


def _renamed(fault: _Fault, place: Place, rename: Rename) -> Finding:
    """A key or a word under its old name."""
    message = f"`{rename.old}` is called `{rename.new}` now."
    return fault.finding("key-renamed", place, message, _UPGRADE, (rename.new,))


def _renamed_word(fault: _Fault) -> Rename | None:
    """The rename of an old word, under the key it is typed for or in that key's list."""
    keys = [key for key in fault.loc if isinstance(key, str)]
    return renamed_word(fault.inside, keys[-1], str(fault.input)) if keys else None


def _refused(fault: _Fault) -> Finding:
    """What a reader of ours refused, in its own words."""
    of_the_key = fault.kind == "value-missing" or (fault.loc and fault.loc[-1] == "[key]")
    place = fault.key_at if of_the_key else fault.value_at
    words = fault.context["words"]
    if fault.kind == "amount-without-unit":  # which line, where a line is only a figure
        words = f"{next((k for k in reversed(fault.loc) if k != 'amount'), '')}: {words}"
    volume = key_of_volume(fault.inside, str(fault.loc[-1]), fault.input, fault.reading)
    if fault.kind == "amount-wrong-kind" and volume:
        help = f"A volume goes under `{volume}`."
        return fault.finding(fault.kind, fault.key_at, words, help, (volume,))
    return fault.finding(
        fault.kind, place, words, fault.context["help"], tuple(fault.context["write"])
    )

"""Schemas that offer the ids of one kitchen, each with its name, where a key takes an id."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from typing import Any

from generator.intake.standards import Standards
from generator.records.equipment import Cold, Equipment, Machine, Thermometer, Vessel
from generator.reference.library import Library

Names = dict[str, str]
"""What is called what: names by id."""

_PLACES: tuple[tuple[str, str, str, str], ...] = (
    ("formula", "", "station", "stations"),
    ("formula", "", "process", "processes"),
    ("formula", "Ending", "station", "stations"),
    ("formula", "Makes", "vessel", "vessels"),
    ("formula", "Makes", "piece", "items"),
    ("kitchen", "", "probe", "thermometers"),
    ("kitchen", "", "stations", "stations"),
    ("ingredients", "*", "foodstuff", "foodstuffs"),
    *(
        (kind, record, key, names)
        for kind, record in (("formula", "Step"), ("formula", "StepChange"), ("process", "Step"))
        for key, names in (("with", "machines"), ("in", "colds"), ("vessel", "vessels"))
    ),
    ("formula", "Step", "do", "verbs"),
    ("process", "Step", "do", "verbs"),
)
"""A schema, one of its records ("" itself, "*" each of its own), a key, whose ids it takes."""


def kitchen_schemas(
    schemas: Mapping[str, Mapping[str, Any]], standards: Standards, library: Library
) -> dict[str, dict[str, Any]]:
    """The ``schemas`` with the ids of ``standards`` offered at the keys that take one.

    An id that isn't among them is no fault for the editor: it may be new. ``library`` brings the
    verbs and foodstuffs.
    """
    found = {name: copy.deepcopy(dict(schema)) for name, schema in schemas.items()}
    known = _known(standards, library)
    for kind, record, key, names in _PLACES:
        holder = _holder(found[kind], record)
        if known[names]:
            holder[key] = _offering(holder[key], known[names])
    _offer_lines(found["formula"], known["items"])
    return found


def _known(standards: Standards, library: Library) -> dict[str, Names]:
    def of(kind: type[Equipment]) -> Names:
        return {i: e.name for i, e in standards.equipment.items() if isinstance(e, kind)}

    def named(records: Mapping[str, Any]) -> Names:
        return {ident: record.name for ident, record in records.items()}

    return {
        "stations": named(standards.stations),
        "processes": named(standards.processes),
        "items": named(standards.ingredients) | named(standards.formulas),
        "machines": of(Machine),
        "colds": of(Cold),
        "vessels": of(Vessel),
        "thermometers": of(Thermometer),
        "verbs": named(library.verbs),
        "foodstuffs": named(library.foodstuffs),
    }


def _holder(schema: dict[str, Any], record: str) -> dict[str, Any]:
    """The keys of a record of a schema."""
    within = schema["additionalProperties"] if record == "*" else schema
    found: dict[str, Any] = (schema["$defs"][record] if record not in ("", "*") else within)[
        "properties"
    ]
    return found


def _choice(names: Names) -> dict[str, Any]:
    idents = sorted(names)
    return {"enum": idents, "markdownEnumDescriptions": [names[i] for i in idents]}


def _offering(key: Mapping[str, Any], names: Names) -> dict[str, Any]:
    """A key's schema with the ids offered, of one or of a list; its words stay in front."""
    words = {k: key[k] for k in ("title", "description", "examples") if k in key}
    rest = {k: v for k, v in key.items() if k not in words}
    choices: Iterable[dict[str, Any]] = rest.pop("anyOf", [rest])
    offered = [_choice(names)]
    for choice in choices:
        items = choice.get("items")
        if items is not None:
            choice = {**choice, "items": {"anyOf": [_choice(names), items]}}
        offered.append(choice)
    return {**words, "anyOf": offered}


def _offer_lines(schema: dict[str, Any], names: Names) -> None:
    """Offer what may be on a line of a part, its amount under the name it has."""
    (part,) = schema["properties"]["parts"]["patternProperties"].values()
    amount = schema["$defs"]["Line"]["anyOf"][0]
    whole = {"$ref": "#/$defs/Line/anyOf/1"}
    part["properties"] = {
        ident: {"title": name, "anyOf": [{**amount, "title": name}, whole]}
        for ident, name in sorted(names.items())
    }

"""JSON Schemas of every kind of file, for editors and for the guide's list of keys."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from generator.records.batch import BatchRecord
from generator.records.ending import IN_PLACE
from generator.records.equipment import (
    Cold,
    Machine,
    Places,
    ProbeCheck,
    Scale,
    ScaleCheck,
    Thermometer,
    Vessel,
)
from generator.records.fields import ID_PATTERN, MOST_ID
from generator.records.formula import Formula, Line, NotTcs
from generator.records.house_limit import HouseLimit
from generator.records.ingredient import Ingredient, UnitMass
from generator.records.kitchen import Kitchen
from generator.records.made import MadeBatch
from generator.records.plan import Plan
from generator.records.print_register import PrintRegister
from generator.records.process import Process
from generator.records.record import Record
from generator.records.routine import Check, Routine
from generator.records.station import Station

ONE_EACH: dict[str, type[Record]] = {
    "kitchen": Kitchen,
    "station": Station,
    "formula": Formula,
    "plan": Plan,
    "print-register": PrintRegister,
    "batch": BatchRecord,
    "record": MadeBatch,
}
"""Kinds with one record a file; a batch's is the JSON that a phone writes."""
EITHER: dict[str, tuple[type[Record], ...]] = {"process": (Process, Routine)}
"""Kinds with one record a file, which is one of several."""
MANY_EACH: dict[str, tuple[type[Record], ...]] = {
    "ingredients": (Ingredient,),
    "equipment": (Scale, Thermometer, Machine, Cold, Vessel),
}
"""Kinds with many records a file, each under its id."""


_STATED = ("station", "batches")
"""What a formula must say unless its endings do."""


def schemas() -> dict[str, dict[str, Any]]:
    """A JSON Schema (draft 2020-12) for each kind of file, by the kind's name."""
    found: dict[str, dict[str, Any]] = {}
    for name, model in ONE_EACH.items():
        found[name] = _finished(TypeAdapter(model).json_schema(by_alias=True), name)
    for name, models in EITHER.items():
        parts = [TypeAdapter(model).json_schema(by_alias=True) for model in models]
        definitions = {k: v for part in parts for k, v in part.pop("$defs", {}).items()}
        found[name] = _finished({"anyOf": parts, "$defs": definitions}, name)
    for name, models in MANY_EACH.items():
        parts = [TypeAdapter(model).json_schema(by_alias=True) for model in models]
        definitions = {k: v for part in parts for k, v in part.pop("$defs", {}).items()}
        each = parts[0] if len(parts) == 1 else {"anyOf": parts}
        names = {"pattern": f"^{ID_PATTERN.pattern}$", "maxLength": MOST_ID}
        whole = {
            "type": "object",
            "propertyNames": names,
            "additionalProperties": each,
            "$defs": definitions,
        }
        found[name] = _finished(whole, name)
    return found


def _finished(schema: dict[str, Any], name: str) -> dict[str, Any]:
    """With what the reader refuses left out, the short form a line may take, and a title."""
    schema = _tidied(schema)
    for record in (Check, ProbeCheck, ScaleCheck, Line, HouseLimit, NotTcs, Places, UnitMass):
        whole = schema.get("$defs", {}).get(record.__name__)
        if whole is not None:
            short = whole["properties"][record.short]
            schema["$defs"][record.__name__] = {"anyOf": [short, whole]}
    if name == "formula":
        schema["required"] = [key for key in schema["required"] if key not in IN_PLACE]
        schema["anyOf"] = [{"required": [*_STATED]}, {"required": ["endings"]}]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": name}


def _tidied(node: Any) -> Any:
    """A schema as the reader takes it.

    Nothing behind a colon is refused, so no key may be null; keys of a group are ids and no others;
    the words of a field type (``form``) are behind the key's own description.
    """
    if isinstance(node, list):
        return [_tidied(inner) for inner in node]
    if not isinstance(node, dict):
        return node
    found = _without_null({key: _tidied(value) for key, value in node.items()})
    if found.get("examples") == []:
        del found["examples"]
    if "default" in found and found["default"] in (None, "", (), [], {}):
        del found["default"]
    if isinstance(found.get("form"), str):
        form = found.pop("form")
        found["description"] = _joined(found.get("description"), form)
    if "patternProperties" in found:
        found.setdefault("additionalProperties", False)
    return found


def _without_null(found: dict[str, Any]) -> dict[str, Any]:
    """A choice without null; where one is left, its own keys, the words of a field type behind
    those of the key."""
    choices = found.get("anyOf")
    if not isinstance(choices, list) or {"type": "null"} not in choices:
        return found
    rest = [choice for choice in choices if choice != {"type": "null"}]
    del found["anyOf"]
    if len(rest) != 1:
        return {**found, "anyOf": rest}
    (only,) = rest
    form = only.get("description") if "properties" not in only else None
    return {**only, **found, "description": _joined(found.get("description"), form)}


def _joined(*words: str | None) -> str:
    return " ".join(w for w in words if w)

"""JSON Schemas of every kind of YAML file, for editors."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from generator.records.equipment import Cold, Machine, Scale, Thermometer, Vessel
from generator.records.formula import Formula, Line
from generator.records.ingredient import Ingredient
from generator.records.kitchen import Kitchen
from generator.records.process import Process
from generator.records.record import Record
from generator.records.station import Station

ONE_EACH: dict[str, type[Record]] = {
    "kitchen": Kitchen,
    "station": Station,
    "process": Process,
    "formula": Formula,
}
"""Kinds with one record a file."""
MANY_EACH: dict[str, tuple[type[Record], ...]] = {
    "ingredients": (Ingredient,),
    "equipment": (Scale, Thermometer, Machine, Cold, Vessel),
}
"""Kinds with many records a file, each under its id."""


def schemas() -> dict[str, dict[str, Any]]:
    """A JSON Schema (draft 2020-12) for each kind of file, by the kind's name."""
    found: dict[str, dict[str, Any]] = {}
    for name, model in ONE_EACH.items():
        found[name] = _finished(TypeAdapter(model).json_schema(by_alias=True), name)
    for name, models in MANY_EACH.items():
        parts = [TypeAdapter(model).json_schema(by_alias=True) for model in models]
        definitions = {k: v for part in parts for k, v in part.pop("$defs", {}).items()}
        each = parts[0] if len(parts) == 1 else {"anyOf": parts}
        whole = {"type": "object", "additionalProperties": each, "$defs": definitions}
        found[name] = _finished(whole, name)
    return found


def _finished(schema: dict[str, Any], name: str) -> dict[str, Any]:
    """With the short form a bare text may take, and a title."""
    line = schema.get("$defs", {}).get("Line")
    if line is not None:
        schema["$defs"]["Line"] = {"anyOf": [line["properties"][Line.short], line]}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": name}

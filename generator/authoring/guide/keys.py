"""The made part of the guide that lists every key of every file."""

from __future__ import annotations

from typing import Any

from generator.authoring.guide.words import code, listed
from generator.authoring.schemas import schemas
from generator.reference.library import Library

FILES = {
    "kitchen": "standards/kitchen.yaml",
    "station": "standards/stations/<id>.yaml",
    "equipment": "standards/equipment/<room>.yaml, each under its id",
    "ingredients": "standards/ingredients/<shelf>.yaml, each under its id",
    "process": "standards/processes/<id>.yaml",
    "formula": "standards/formulas/<id>.yaml",
    "plan": "standards/plans/<id>.yaml",
    "print-register": "standards/print-register.yaml, which `binder --register` writes",
    "batch": "a file that a phone writes as JSON",
    "record": "standards/records/<id>.yaml, which `record` writes",
}
"""The file of each kind of record."""


def keys(_: Library) -> str:
    """Every key of every kind of file, from the JSON Schemas."""
    out: list[str] = []
    for kind, file in FILES.items():
        schema = schemas()[kind]
        definitions = schema.get("$defs", {})
        records: list[Any] = [schema]
        if any("properties" in one for one in schema.get("anyOf", ())):
            records = schema["anyOf"]
        if each := schema.get("additionalProperties"):
            records = each.get("anyOf", [each])
        file_words = f"{code(file)}." if file.startswith("standards/") else f"{file}."
        out += [f"## {kind.capitalize()}", "", f"In {file_words}", ""]
        for record in records:
            if len(records) > 1:
                out += [f"### {record['title']}", "", record.get("description", ""), ""]
            out += _record(record)
        for name, definition in definitions.items():
            inner = definition["anyOf"][-1] if "anyOf" in definition else definition
            where = ", ".join(code(w) for w in _used(schema, name))
            out += [f"### {name}", "", f"{inner.get('description', '')} Under {where}.", ""]
            out += _record(inner)
    return "\n".join(out).rstrip()


def _used(node: Any, name: str, key: str = "") -> list[str]:
    """The keys whose value is a record of this name."""
    if isinstance(node, list):
        return [k for inner in node for k in _used(inner, name, key)]
    if not isinstance(node, dict):
        return []
    if node.get("$ref") == f"#/$defs/{name}":
        return [key]
    found: list[str] = []
    for inner_key, inner in node.items():
        if inner_key in ("properties", "$defs"):
            for one, value in inner.items():
                found += _used(value, name, one if inner_key == "properties" else key)
        else:
            found += _used(inner, name, key)
    return list(dict.fromkeys(found))


def _record(record: Any) -> list[str]:
    needed = set(record.get("required", ()))
    needed |= set((record.get("anyOf") or [{}])[0].get("required", ()))
    lines = [_key(key, field, key in needed) for key, field in record["properties"].items()]
    return [*lines, ""]


def _key(key: str, field: Any, needed: bool) -> str:
    """One key: whether it is required, what it is, what it takes, examples, the keys below it."""
    words = [field.get("description", ""), *_choices(field), _as_in(field), *_inner(field)]
    words += [f"Its keys: [{name}](#{name.lower()})." for name in _refs(field)]
    return f"- **{code(key)}**, {_state(field, needed)}. " + " ".join(w for w in words if w)


def _choices(field: Any) -> list[str]:
    words = [f"Always {code(field['const'])}."] if "const" in field else []
    if "enum" in field:
        choices = [code(c) for c in field["enum"] if isinstance(c, str)]
        words.append(f"One of {listed(choices)}.")
    return words


def _inner(field: Any) -> list[str]:
    """What each entry of a group or a list is, where it has examples of its own."""
    entries = (field.get("additionalProperties"), field.get("items"))
    return [
        f"Each {_low(inner['description'])} {_as_in(inner)}"
        for inner in entries
        if isinstance(inner, dict) and inner.get("examples")
    ]


def _state(field: Any, needed: bool) -> str:
    if needed:
        return "required"
    default = field.get("default")
    if isinstance(default, bool):
        default = "yes" if default else "no"
    return f"left out: {code(default)}" if default else "may be left out"


def _as_in(field: Any) -> str:
    examples = [code(str(one)) for one in field.get("examples", ())]
    return f"As in {listed(examples)}." if examples else ""


def _refs(node: Any) -> list[str]:
    """The records a key's value is made of."""
    if isinstance(node, dict):
        own = [str(node["$ref"]).rsplit("/", 1)[1]] if "$ref" in node else []
        return list(dict.fromkeys([*own, *(r for inner in node.values() for r in _refs(inner))]))
    return [r for inner in node for r in _refs(inner)] if isinstance(node, list) else []


def _low(text: str) -> str:
    return text[:1].lower() + text[1:]

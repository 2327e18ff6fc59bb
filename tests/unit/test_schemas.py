"""The JSON Schemas and the reader agree. Oracle: the jsonschema library, draft 2020-12.

A file is looked at twice: with every scalar a text, as the reader takes it, and as an editor takes
it, by the core schema of YAML 1.2 (yaml.org/spec/1.2.2, 10.3.2, from memory), where `3` is a number
and `true` a boolean while `no` stays a text.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from conftest import BASE, ROOT, STARTER, compute, edit
from guide_text import kitchen_of_the_guide

from generator.authoring.schemas import EITHER, MANY_EACH, ONE_EACH, schemas

made = functools.cache(schemas)
"""The schemas, made in the worker that asks for them."""
KIND_OF = {
    "stations": "station",
    "processes": "process",
    "formulas": "formula",
    "plans": "plan",
    "records": "record",
    "ingredients": "ingredients",
    "equipment": "equipment",
}
_CORE = {
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
    "null": None,
    "Null": None,
    "NULL": None,
    "~": None,
    "": None,
}


class _Core(yaml.BaseLoader):
    """YAML 1.2's core schema, plain scalars only."""


def _scalar(loader: Any, node: yaml.ScalarNode) -> Any:
    text = str(loader.construct_scalar(node))
    if node.style:
        return text
    if text in _CORE:
        return _CORE[text]
    if re.fullmatch(r"[-+]?[0-9]+", text):
        return int(text)
    if re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", text):
        return float(text)
    return text


_Core.add_constructor("tag:yaml.org,2002:str", _scalar)
LOADERS = (yaml.BaseLoader, _Core)


def faults(path: Path, loader: Any) -> list[str]:
    """What the schema of its kind says against a file of standards."""
    kind = KIND_OF.get(path.parent.name, "kitchen")
    tree = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)
    validator = jsonschema.Draft202012Validator(made()[kind])
    return [f"{path.name}: {error.message}" for error in validator.iter_errors(tree)]


@pytest.fixture(params=["starter", "base", "demo", "guide"])
def standards(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    if request.param == "guide":
        kitchen_of_the_guide(tmp_path)
        return tmp_path / "standards"
    return {"starter": STARTER, "base": BASE, "demo": ROOT}[request.param] / "standards"


@pytest.mark.parametrize("loader", LOADERS, ids=["text", "editor"])
def test_the_schemas_accept_what_the_reader_accepts(standards: Path, loader: Any) -> None:
    files = sorted(standards.rglob("*.yaml"))
    assert len(files) >= 10
    assert [fault for path in files for fault in faults(path, loader)] == []


MISTAKES = [
    ("kitchen.yaml", "cup: us", "cups: us"),
    ("kitchen.yaml", "cup: us\n", ""),
    ("kitchen.yaml", "cup: us", "cup: french"),
    ("kitchen.yaml", "temperature: °C", "temperature:"),
    ("stations/pass.yaml", "name: Pass", "nmae: Pass"),
    ("equipment/house.yaml", "accuracy: 0.1 g, ", ""),
    ("equipment/house.yaml", "kind: mixer", "kind: mixxer"),
    ("equipment/house.yaml", "air: 3 °C", "air: 3"),
    ("equipment/house.yaml", "bench-scale:", "Bench Scale:"),
    ("ingredients/all.yaml", "  allergens: none\n", ""),
    ("ingredients/all.yaml", "state: raw", "state: cooked"),
    ("ingredients/all.yaml", "tcs: no", "tcs: never"),
    ("ingredients/all.yaml", "weighs: {each: 50 g}", "weighs: 50 g"),
    ("ingredients/all.yaml", "trim: 10 %", "trim: 10"),
    ("processes/baked.yaml", "  - do: store\n    in: cold-room\n", "  - store\n"),
    ("processes/baked.yaml", "loses: 10 %", "losses: 10 %"),
    ("processes/baked.yaml", "target: to 4 °C", "target: to 4"),
    ("formulas/pork-bake.yaml", "station: range\n", ""),
    ("formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6"),
    ("formulas/pork-bake.yaml", "    salt: 1.6 %", "    Fine Salt: 1.6 %"),
    ("formulas/pork-bake.yaml", "revision: 1", "revision: one"),
    ("formulas/pork-bake.yaml", "effective: 2026-05-04", "effective: 4 May 2026"),
    ("formulas/pork-bake.yaml", "{bake: core 72 °C}", "{bake: core 72}"),
    ("formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", "[]"),
    ("formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", "4 dishes"),
]


@pytest.mark.parametrize(("file", "good", "bad"), MISTAKES, ids=lambda text: text.strip()[:30])
def test_both_refuse_the_same_mistakes(kitchen: Path, file: str, good: str, bad: str) -> None:
    edit(kitchen, file, good, bad)
    assert compute(kitchen).errors
    for loader in LOADERS:
        assert faults(kitchen / "standards" / file, loader), loader


def keys_of_schemas() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every key of every kind, as "kind.Record.key", with what its schema says."""

    def walk(where: str, node: Any) -> Iterator[tuple[str, dict[str, Any]]]:
        if isinstance(node, list):
            for inner in node:
                yield from walk(where, inner)
        if not isinstance(node, dict):
            return
        for key, value in node.get("properties", {}).items():
            yield f"{where}.{node.get('title', '')}.{key}", value
        for inner in node.values():
            yield from walk(where, inner)

    for name, schema in made().items():
        yield from walk(name, schema)


def test_every_key_is_described() -> None:
    found = dict(keys_of_schemas())
    assert len(found) > 100
    short = {key for key, value in found.items() if len(value.get("description", "")) < 5}
    refs = {key for key in short if "$ref" in found[key]}
    assert short - refs == set()


def test_the_schemas_name_no_type_that_is_refused() -> None:
    """Nothing behind a colon is refused by the reader, so no key may be null; and nothing of our
    own vocabulary is left in them."""
    assert set(made()) == set(ONE_EACH) | set(EITHER) | set(MANY_EACH)
    for schema in made().values():
        jsonschema.Draft202012Validator.check_schema(schema)
        text = str(schema)
        assert "'null'" not in text and "'form':" not in text.replace("'form': {", "")

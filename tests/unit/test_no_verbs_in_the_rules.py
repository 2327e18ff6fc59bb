"""The rules ask what a step does to the food, never what it is called: no verb's name decides
anything in Python."""

from __future__ import annotations

import ast
from collections.abc import Sequence
from pathlib import Path

import pytest
import yaml
from conftest import ROOT
from each_row import each_row
from sources import nodes_of

pytestmark = pytest.mark.xdist_group("source")  # each module is parsed once
VERBS = frozenset(
    yaml.safe_load((ROOT / "shared" / "verbs.yaml").read_text(encoding="utf-8"))["verbs"]
)
MODULES = sorted((ROOT / "generator").rglob("*.py"))


def _texts(node: ast.expr) -> list[str] | None:
    """The texts of a collection, if it holds nothing else."""
    if isinstance(node, ast.Dict):
        items: list[ast.expr | None] = list(node.keys)
    elif isinstance(node, ast.Set | ast.List | ast.Tuple):
        items = list(node.elts)
    else:
        return None
    texts = [i.value for i in items if isinstance(i, ast.Constant) and isinstance(i.value, str)]
    return texts if texts and len(texts) == len(items) else None


def names_of_verbs(nodes: Sequence[ast.AST]) -> list[int]:
    """The lines where verbs are listed, or a step's verb is compared with a name."""
    found: list[int] = []
    shown = {  # examples of a key's description decide nothing
        id(k.value)
        for n in nodes
        if isinstance(n, ast.Call)
        for k in n.keywords
        if k.arg == "examples"
    }
    for node in nodes:
        if id(node) in shown:
            continue
        if isinstance(node, ast.expr):
            texts = _texts(node)
            if texts is not None and len(texts) > 1 and set(texts) <= VERBS:
                found.append(node.lineno)
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            verb = any(isinstance(s, ast.Attribute) and s.attr == "do" for s in sides)
            names = [n for s in sides for n in ast.walk(s) if isinstance(n, ast.Constant)]
            if verb and any(n.value in VERBS for n in names):
                found.append(node.lineno)
    return found


@each_row("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_verb_decides(path: Path) -> None:
    lines = names_of_verbs(nodes_of(path))
    assert lines == [], f"{path.name} asks for verbs by name in lines {lines}"


@pytest.mark.parametrize(
    "source",
    [
        'KEPT = frozenset({"rest", "store"})',
        'step.step.do == "serve"',
        'x.do in ("pack", other)',
        '["boil", "simmer"]',
    ],
)
def test_the_search_finds_them(source: str) -> None:
    assert names_of_verbs([*ast.walk(ast.parse(source))])

"""The kinds of critical limit: small records, and each has its case wherever limits are shown."""

from __future__ import annotations

import ast
import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest
from each_row import each_row
from sources import nodes_of

import generator
from generator.rules.basics.limit import Limit, LimitHead

KINDS = get_args(Limit)
pytestmark = pytest.mark.xdist_group("source")  # each module is parsed once
MODULES = sorted(Path(generator.__file__).parent.rglob("*.py"))
NAMES = {kind.__name__ for kind in KINDS}


@each_row("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_kind_is_a_small_record_with_the_common_head(kind: type[LimitHead]) -> None:
    assert issubclass(kind, LimitHead) and len(dataclasses.fields(kind)) <= 25
    assert all(field.kw_only for field in dataclasses.fields(kind)), "never told by their order"


def matches(names: set[str] = NAMES) -> Iterator[tuple[str, ast.Match]]:
    """Every ``match`` of the program that asks for one of these classes: a kind of limit."""
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        for node in nodes_of(path) if "match " in text else ():
            if isinstance(node, ast.Match):
                asked = {
                    n.id
                    for case in node.cases
                    for n in ast.walk(case.pattern)
                    if isinstance(n, ast.Name)
                }
                if asked & names:
                    yield f"{path.name}:{node.lineno}", node


def test_a_match_on_limits_ends_where_no_kind_is_left() -> None:
    """`assert_never` at the end makes the type checker name a kind without a case."""
    found = dict(matches())
    assert len(found) >= 10
    for place, node in found.items():
        last = node.cases[-1]
        assert isinstance(last.pattern, ast.MatchAs) and last.pattern.pattern is None, place
        assert ast.unparse(last.body[0]).startswith("assert_never("), place

"""The product's modules as trees: parsed once for all tests of a worker that look at them."""

from __future__ import annotations

import ast
import functools
from pathlib import Path


@functools.cache
def tree_of(path: Path) -> ast.Module:
    """A module's tree, which nobody changes."""
    return ast.parse(path.read_text(encoding="utf-8"))


@functools.cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """All nodes of a module's tree, walked over once."""
    return tuple(ast.walk(tree_of(path)))

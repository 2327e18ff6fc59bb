"""Imports go one way, modules stay small, MkDocs stays at the edge."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from conftest import ROOT

PACKAGE = ROOT / "generator"
ORDER = [
    "finding",
    "disk",
    "replacing",
    "shared_data",
    "syntax",
    "source_text",
    "measures",
    "computed",
    "records",
    "intake",
    "reference",
    "joined",
    "pictures",
    "product",
    "resolve",
    "scaling",
    "rules",
    "weighing",
    "walked",
    "components",
    "walk",
    "at_hand",
    "cautioning",
    "loading",
    "approval",
    "sheet",
    "taken_out",
    "label_questions",
    "labelling",
    "manual",
    "history",
    "clock",
    "stamps",
    "logger_files",
    "log_heads",
    "readings",
    "lethality",
    "judged",
    "courses",
    "doubts",
    "cooling_clock",
    "cooling_course",
    "heating_course",
    "judging",
    "uses",
    "tables",
    "tagging",
    "sourcing",
    "skeletons",
    "schemas",
    "answers",
    "pages",
    "comparing",
    "binder",
    "framing",
    "owned",
    "exporting",
    "settings",
    "plugin",
    "publish",
    "cli",
]
MODULES = sorted(p for p in PACKAGE.rglob("*.py"))


def layer(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> set[str]:
    """The layers a module imports, wherever in it the import stands."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names = [node.module or ""]
            if node.module == "generator":
                names = [f"generator.{alias.name}" for alias in node.names]
        found |= {n.split(".")[1] for n in names if n.startswith("generator.")}
    return found


def everything_imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module.split(".")[0])
    return names


def test_every_module_has_a_layer() -> None:
    assert {layer(p) for p in MODULES} - {"__init__"} == set(ORDER)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_imports_go_down(path: Path) -> None:
    mine = layer(path)
    if mine == "__init__":
        assert imported(path) == set()
        return
    allowed = {*ORDER[: ORDER.index(mine) + 1], "__version__"}
    assert imported(path) <= allowed, f"{path.name} may not import {imported(path) - allowed}"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_modules_stay_small_and_apart(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) < 400
    if layer(path) not in ("plugin", "publish"):
        assert not everything_imported(path) & {"mkdocs", "material"}
    if layer(path) not in ("source_text", "syntax"):
        assert "yaml" not in everything_imported(path)


def test_the_plugin_holds_hooks_only() -> None:
    assert len((PACKAGE / "plugin.py").read_text().splitlines()) < 150

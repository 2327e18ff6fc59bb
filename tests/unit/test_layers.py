"""Every module is in a room; imports between rooms go one way, modules stay small, MkDocs stays
at the edge."""

from __future__ import annotations

import ast
import functools
import graphlib
import re
from pathlib import Path

import pytest
from conftest import ROOT
from each_row import each_row
from sources import nodes_of

pytestmark = pytest.mark.xdist_group("source")  # each module is parsed once
PACKAGE = ROOT / "generator"
# The lowest first: a room imports those above it in this list. The table of DEVELOPERS.md says what
# each knows.
ROOMS = [
    "files",
    "heat",
    "measures",
    "scaling",
    "records",
    "intake",
    "reference",
    "composition",
    "resolve",
    "rules",
    "sheet",
    "review",
    "views",
    "indexes",
    "answers",
    "pages",
    "framing",
    "changes",
    "binder",
    "authoring",
    "site",
    "cli",
]
RULES = [
    "basics",
    "cures",
    "heat",
    "cold",
    "packing",
    "house",
    "store",
    "routine",
    "listed",
    "asked",
]
MOST_FLOORS, MOST_ARROWS = 15, 120
MODULES = sorted(PACKAGE.rglob("*.py"))


def name_of(path: Path) -> str:
    """``generator.sheet.walk``; a package by its own name."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


NAMES = {name_of(path): path for path in MODULES}


def imported(path: Path) -> set[str]:
    """The modules of ours that a module imports, wherever in it the import is."""
    found: set[str] = set()
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                found.add(whole if whole in NAMES else node.module or "")
    ours = {name for name in found if name.split(".")[0] == "generator"}
    assert ours <= set(NAMES), f"{path}: no such module: {ours - set(NAMES)}"
    return ours - {"generator", name_of(path)}


@functools.cache
def imports() -> dict[str, set[str]]:
    """Of every module, the modules of ours that it imports; read once, in the worker that asks."""
    return {name: imported(path) for name, path in NAMES.items()}


def room(name: str) -> str:
    return name.split(".")[1]


def everything_imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module.split(".")[0])
    return names


def below(name: str) -> set[str]:
    """The rooms that a room imports."""
    return {
        room(other)
        for module, others in imports().items()
        if module != "generator" and room(module) == name
        for other in others
    } - {name}


def test_every_module_stands_in_a_room() -> None:
    assert [path.name for path in PACKAGE.glob("*.py")] == ["__init__.py"]
    assert {room(name) for name in NAMES if name != "generator"} == set(ROOMS)
    assert imports()["generator"] == set()


@each_row("name", ROOMS)
def test_imports_go_down(name: str) -> None:
    up = below(name) - set(ROOMS[: ROOMS.index(name)])
    assert not up, f"{name}/ may not import {sorted(up)}"


def test_no_module_is_in_a_circle() -> None:
    list(graphlib.TopologicalSorter(imports()).static_order())  # raises CycleError, with the circle


def test_paper_reads_views_and_no_page() -> None:
    """Whatever is on glass and on paper is in ``views/``."""

    def reached(name: str, seen: set[str]) -> set[str]:
        for other in imports()[name] - seen:
            seen.add(other)
            reached(other, seen)
        return seen

    for name in (n for n in imports() if n.startswith("generator.binder.")):
        pages = {other for other in reached(name, set()) if room(other) == "pages"}
        assert not pages, f"{name} reaches {sorted(pages)}"


def test_the_rules_go_down_too() -> None:
    def part(name: str) -> str:
        return name.split(".")[2]

    inner = {n: others for n, others in imports().items() if n.startswith("generator.rules.")}
    assert {part(name) for name in inner} == set(RULES)
    for name, others in inner.items():
        for other in (o for o in others if o in inner):
            assert RULES.index(part(other)) <= RULES.index(part(name)), f"{name} imports {other}"


def test_few_floors_and_few_arrows() -> None:
    floors: dict[str, int] = {}
    for name in ROOMS:
        floors[name] = 1 + max((floors.get(other, 0) for other in below(name)), default=0)
    assert max(floors.values()) <= MOST_FLOORS, floors
    assert sum(len(below(name)) for name in ROOMS) <= MOST_ARROWS


def test_the_table_for_maintainers_is_this_one() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    tables = re.split(r"\n\n+", text)

    def first_column(head: str) -> list[str]:
        table = next(t for t in tables if t.startswith(f"| {head} |"))
        return re.findall(r"^\| `(\w+)/?` \|", table, re.MULTILINE)

    assert first_column("room") == ROOMS
    assert first_column("in `rules/`") == RULES


@each_row("path", MODULES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_modules_stay_small_and_apart(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) < 500
    name, found = name_of(path), everything_imported(path)
    if name not in ("generator.site.plugin", "generator.site.publish"):
        assert not found & {"mkdocs", "material"}
    if name not in tuple(f"generator.files.{n}" for n in ("source_text", "syntax", "layout")):
        assert "yaml" not in found


def test_the_plugin_holds_hooks_only() -> None:
    text = (PACKAGE / "site" / "plugin.py").read_text(encoding="utf-8")
    imports = [n for n in ast.parse(text).body if isinstance(n, ast.Import | ast.ImportFrom)]
    lines = len(text.splitlines()) - sum((n.end_lineno or 0) - n.lineno + 1 for n in imports)
    assert lines < 140


def test_nothing_else_writes() -> None:
    """Only these open a file to write: the disk itself, and what fills a work folder of its own."""
    allowed = {
        "files/disk.py",
        "files/kept.py",  # outside every project, and what it refuses costs the keeping alone
        "files/replacing.py",
        "site/owned.py",
        "site/exporting.py",
        "site/served.py",  # the folder that the builder makes for itself while it serves
        "framing/saving.py",
        "intake/register_file.py",
        "changes/history.py",
    }
    writes = {
        "write_text",
        "write_bytes",
        "mkdir",
        "makedirs",
        "rename",
        "replace_file",
        "copy",
        "copy2",
        "copytree",
        "symlink_to",
        "NamedTemporaryFile",
        "mkstemp",
        "mkdtemp",
    }
    found = set()
    for path in MODULES:
        for node in nodes_of(path):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            mode = next(
                (
                    a.value
                    for a in node.args[:2]
                    if isinstance(a, ast.Constant) and isinstance(a.value, str)
                ),
                "",
            )
            opens = node.func.attr == "open" and bool(set(mode) & set("wax+")) and len(mode) <= 3
            if opens or node.func.attr in writes:
                found.add(path.relative_to(PACKAGE).as_posix())
    # the starter, laid into a work folder; dots, saved into memory; arrays, copied in it
    in_memory = {"resolve/pictures.py", "heat/axes.py", "heat/volumes.py"}
    work = {
        "authoring/skeletons.py",
        "authoring/variants.py",
    }  # a folder of the system's, taken away
    nowhere = {"scaling/nearest.py"}  # a solver's own lines, into the null device
    assert found - allowed <= work | in_memory | nowhere

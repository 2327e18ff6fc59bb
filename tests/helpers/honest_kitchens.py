"""Small kitchens laid from one file each: parts, what the formula says, its steps; the pantry is
shared."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

import yaml
from conftest import KITCHENS

LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # thousands of kitchens are written
DUMPER = getattr(yaml, "CDumper", yaml.Dumper)
FOLDER = KITCHENS / "honest"
UNSAFE = KITCHENS / "unsafe"
PANTRY: dict[str, dict[str, Any]] = yaml.load(
    (FOLDER / "pantry.yaml").read_text(encoding="utf-8"), LOADER
)
CASES = sorted(p.stem for p in FOLDER.glob("*.yaml") if p.stem not in ("house", "pantry"))
KITCHEN = """\
name: Weir House
code: {model: us-food-code, edition: 2022, adopted_by: Weir County Health Rule 4}
serves: general
time_zone: America/New_York
cup: us
temperature: °C
probe: probe
stations: [bench]
"""
HEAD = """\
name: %s
revision: 1
effective: 2026-06-01
approved: head chef
station: bench
process: work
batches: [10 kg base]
"""


def written(tree: Any, **how: Any) -> str:
    """Keys and values as YAML."""
    text: str = yaml.dump(tree, Dumper=DUMPER, **how)
    return text


def read(case: str, folder: Path = FOLDER) -> dict[str, Any]:
    """One kitchen's file."""
    text = (folder / f"{case}.yaml").read_text(encoding="utf-8")
    found: dict[str, Any] = yaml.load(text, LOADER)
    for one in (found, *found.get("also", {}).values()):
        one["process"] = textwrap.indent(one["process"], "  ")
    return found


def lay_out(project: Path, spec: dict[str, Any]) -> Path:
    """Write a kitchen: its dish and what is made ahead under ``also``; of each ``parts`` and the
    texts of ``formula`` and ``process``; under ``kitchen`` more of kitchen.yaml."""
    also = spec.get("also", {})
    files = {
        "kitchen.yaml": KITCHEN + spec.get("kitchen", ""),
        "stations/bench.yaml": "name: Bench\n",
        "equipment/house.yaml": (FOLDER / "house.yaml").read_text(encoding="utf-8"),
    }
    used: set[str] = set()
    for ident, one in {"dish": spec, **also}.items():
        parts = one["parts"]
        if isinstance(parts, str):
            parts = yaml.load(parts, LOADER)
        used |= {item for items in parts.values() for item in items} - set(also)
        process = "work" if ident == "dish" else f"work-{ident}"
        name = ident.replace("-", " ").capitalize()
        head = (
            HEAD
            if "batches:" not in one.get("formula", "")
            else HEAD.replace("batches: [10 kg base]\n", "")
        )
        formula = (head % name).replace("process: work", f"process: {process}") + one.get(
            "formula", ""
        )
        if "\nbase:" not in f"\n{formula}":
            formula += f"base: [{next(iter(next(iter(parts.values()))))}]\n"
        files[f"formulas/{ident}.yaml"] = formula + written({"parts": parts}, sort_keys=False)
        files[f"processes/{process}.yaml"] = (
            f"name: {process.capitalize()}\nsteps:\n" + one["process"]
        )
    pantry = written({i: PANTRY[i] for i in sorted(used)}, allow_unicode=True)
    files["ingredients/pantry.yaml"] = pantry.replace("'no'", "no").replace("'yes'", "yes")
    for name, text in files.items():
        path = project / "standards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return project


def broken(spec: dict[str, Any], unsafe: dict[str, Any]) -> dict[str, Any]:
    """The kitchen with one edit that makes it unsafe; every text to be changed has to be there."""
    changed = dict(spec)
    if not isinstance(changed["parts"], str):
        changed["parts"] = written(changed["parts"], sort_keys=False)
    for where, old, new in (
        (unsafe["edit"], unsafe["old"], unsafe["new"]),
        *unsafe.get("more", ()),
    ):
        assert old in changed[where], f"{old!r} is not in {where}"
        changed[where] = changed[where].replace(old, new, 1)
    return changed

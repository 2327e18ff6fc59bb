"""Small kitchens laid from one file each: parts, what the formula says, its steps; the pantry is shared."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).resolve().parent / "honest"
PANTRY: dict[str, dict[str, Any]] = yaml.load(
    (FOLDER / "pantry.yaml").read_text(encoding="utf-8"), yaml.BaseLoader
)
CASES = sorted(p.stem for p in FOLDER.glob("*.yaml") if p.stem not in ("house", "pantry"))
KITCHEN = """\
name: Weir House
code: {model: us-food-code, edition: 2022, adopted_by: Weir County Health Rule 4}
serves: general
time_zone: America/New_York
cup: us
temperature: degC
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


def read(case: str) -> dict[str, Any]:
    """One kitchen's file."""
    text = (FOLDER / f"{case}.yaml").read_text(encoding="utf-8")
    found: dict[str, Any] = yaml.load(text, yaml.BaseLoader)
    found["process"] = textwrap.indent(found["process"], "  ")
    return found


def lay_out(project: Path, spec: dict[str, Any]) -> Path:
    """Write a kitchen of one formula: ``parts`` and texts of ``formula`` and ``process``."""
    parts = spec["parts"]
    if isinstance(parts, str):
        parts = yaml.load(parts, yaml.BaseLoader)
    used = {item for items in parts.values() for item in items}
    formula = HEAD % spec.get("name", "Dish") + spec.get("formula", "")
    if "\nbase:" not in formula and not formula.startswith("base:"):
        formula += f"base: [{next(iter(next(iter(parts.values()))))}]\n"
    files = {
        "kitchen.yaml": KITCHEN,
        "stations/bench.yaml": "name: Bench\n",
        "equipment/house.yaml": (FOLDER / "house.yaml").read_text(encoding="utf-8"),
        "ingredients/pantry.yaml": yaml.dump(
            {i: PANTRY[i] for i in sorted(used)}, allow_unicode=True
        ),
        "formulas/dish.yaml": formula + yaml.dump({"parts": parts}, sort_keys=False),
        "processes/work.yaml": "name: Work\nsteps:\n" + spec["process"],
    }
    for name, text in files.items():
        path = project / "standards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.replace("'no'", "no").replace("'yes'", "yes"), encoding="utf-8")
    return project


def broken(spec: dict[str, Any], unsafe: dict[str, Any]) -> dict[str, Any]:
    """The kitchen with one edit that makes it unsafe; every text to be changed has to be there."""
    changed = dict(spec)
    if not isinstance(changed["parts"], str):
        changed["parts"] = yaml.dump(changed["parts"], sort_keys=False)
    for where, old, new in (
        (unsafe["edit"], unsafe["old"], unsafe["new"]),
        *unsafe.get("more", ()),
    ):
        assert old in changed[where], f"{old!r} is not in {where}"
        changed[where] = changed[where].replace(old, new, 1)
    return changed

"""Renamed keys and words: every old one is named in a finding, and `upgrade` writes the new one and
nothing else."""

from __future__ import annotations

import random
import re
import shutil
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute

from generator.intake.faults import keys_of
from generator.records import equipment, formula, house_limit, ingredient, kitchen, process
from generator.records.record import Record
from generator.records.renames import RENAMES, Rename
from generator.records.upgrading import upgrade, upgraded

MODULES = (equipment, formula, house_limit, ingredient, kitchen, process)
RECORDS: dict[str, type[Record]] = {
    name: one
    for module in MODULES
    for name, one in vars(module).items()
    if isinstance(one, type) and issubclass(one, Record)
}
BOOLEANS = {"y", "n", "yes", "no", "true", "false", "on", "off"}
"""What YAML 1.1 reads as a boolean: https://yaml.org/type/bool.html."""


@pytest.mark.parametrize("rename", RENAMES, ids=lambda r: f"{r.record}-{r.under}-{r.old}")
def test_a_rename_is_of_a_record_and_its_old_name_is_gone(rename: Rename) -> None:
    keys = keys_of(RECORDS[rename.record])
    assert rename.why
    if rename.kind == "key":
        assert rename.new in keys
        assert rename.old not in keys
    else:
        assert rename.under in keys


def test_no_key_is_a_boolean_to_another_reader() -> None:
    assert not {k for record in RECORDS.values() for k in keys_of(record)} & BOOLEANS


def aged(text: str, file: Path, rng: random.Random) -> tuple[str, int]:
    """A file's text with some of today's names put back to the old ones, by a reading of its own:
    line by line, where a key begins a line."""
    old = {
        "formulas": {
            "other_names": "also",
            "fill_weight": "fill",
            "unit": "one",
            "cold": "refrigerated",
        },
        "processes": {"add": "take", "with": "using", "standing_time": "stands"},
        "equipment": {"station": "at", "count": "pieces"},
        "ingredients": {"other_names": "also"},
    }.get(file.parent.name, {})
    count, lines = 0, []
    for line in text.split("\n"):
        found = re.match(r"(\s*(?:- )?)([a-z_]+)(: .*)", line)
        if found and found[2] in old and rng.random() < 0.8 and found[3].strip(": "):
            line, count = found[1] + old[found[2]] + found[3], count + 1
        lines.append(line)
    return "\n".join(lines), count


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_an_old_kitchen_is_rewritten_to_the_byte(tmp_path: Path, seed: int, ending: str) -> None:
    """Comments, order, quotes, line ends and a byte order mark stay: what comes back is today's."""
    rng = random.Random(seed)
    shutil.copytree(ROOT / "standards", tmp_path / "standards")
    put_back, today = 0, {}
    for path in sorted((tmp_path / "standards").rglob("*.yaml")):
        text = path.read_text().replace(
            "\n", f"  # {rng.random()}\n", 1 if rng.random() < 0.3 else 0
        )
        mark = "\ufeff" if rng.random() < 0.2 else ""
        today[path] = (mark + text).replace("\n", ending).encode()
        older, count = aged(text, path, rng)
        put_back += count
        path.write_bytes((mark + older).replace("\n", ending).encode())
    found, unread = upgrade(tmp_path)
    assert not unread
    assert sum(len(one.renamed) for one in found) == put_back > 100
    assert {path: path.read_bytes() for path in today} == today
    assert upgraded(tmp_path) == ([], [])


def test_check_names_the_new_key_and_upgrade_fixes_it(kitchen: Path) -> None:
    baked = kitchen / "standards/processes/baked.yaml"
    before = baked.read_text()
    baked.write_text(before.replace("add: [meat]", "take: [meat]"))
    findings = [f for f in compute(kitchen).findings if f.code == "key-renamed"]
    assert [f.place.file for f in findings] == ["standards/processes/baked.yaml"]
    assert "`take` is called `add` now" in findings[0].message
    assert "add: [meat]" in findings[0].write[0]
    looked = run(kitchen, "upgrade", "--dry-run")
    assert "take -> add" in looked.stdout
    assert "take: [meat]" in baked.read_text()
    done = run(kitchen, "upgrade")
    assert done.returncode == 0
    assert baked.read_text() == before


@pytest.mark.parametrize(
    ("file", "today", "old"),
    [
        ("ingredients/all.yaml", "state: raw", "state: raw\n  arrives: chilled"),
        ("kitchen.yaml", "temperature: °C", "temperature: degC"),
        ("formulas/pork-bake.yaml", "keeps: {cold: 5 days}", "keeps: {refrigerated: 5 days}"),
        (
            "formulas/pork-bake.yaml",
            "keeps: {cold: 5 days}",
            "keeps: {cold: 5 days}\nhouse_limits: {date-mark: 5 days}",
        ),
        (
            "kitchen.yaml",
            "stations: [pass, range]",
            "stations: [pass, range]\nauthorisations:\n  - {for: curing, authority: Health, "
            "document: V-1, from: 2026-01-01, until: 2028-01-01}",
        ),
    ],
)
def test_a_word_in_any_place_is_renamed(kitchen: Path, file: str, today: str, old: str) -> None:
    path = kitchen / "standards" / file
    path.write_text(path.read_text().replace(today, old, 1))
    assert [f for f in compute(kitchen).findings if f.severity == "error"]
    assert run(kitchen, "upgrade").returncode == 0
    assert not [f for f in compute(kitchen).findings if f.severity == "error"]


def test_a_file_that_cannot_be_read_stays_and_is_named(kitchen: Path) -> None:
    broken = kitchen / "standards/processes/baked.yaml"
    broken.write_text("steps: [\n")
    done = run(kitchen, "upgrade")
    assert done.returncode == 1
    assert "processes/baked.yaml can't be read" in done.stderr
    assert broken.read_text() == "steps: [\n"

"""Renamed keys and words: every old one is named in a finding, and `upgrade` writes the new one and
nothing else."""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute
from each_row import each_row

from generator.intake.faults import keys_of
from generator.records import equipment, formula, house_limit, ingredient, kitchen, process
from generator.records.record import Record
from generator.records.renames import RENAMES, Rename
from generator.records.upgrading import upgraded

MODULES = (equipment, formula, house_limit, ingredient, kitchen, process)
RECORDS: dict[str, type[Record]] = {
    name: one
    for module in MODULES
    for name, one in vars(module).items()
    if isinstance(one, type) and issubclass(one, Record)
}
BOOLEANS = {"y", "n", "yes", "no", "true", "false", "on", "off"}
"""What YAML 1.1 reads as a boolean: https://yaml.org/type/bool.html."""


@each_row("rename", RENAMES, ids=lambda r: f"{r.record}-{r.under}-{r.old}")
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


@pytest.mark.parametrize("seed", range(3))
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
    found = upgraded(tmp_path)
    found.write()
    assert not found.left
    assert sum(len(one.renamed) for one in found.files) == put_back > 100
    assert {path: path.read_bytes() for path in today} == today
    assert upgraded(tmp_path).files == []


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


LEFT = {
    "an amount over two lines": (
        "formulas/pork-bake.yaml",
        "batches: [4 dishes, 8 dishes]",
        "batches:\n  - 5 kg\n    raw",
    ),
    "a word in a block": (
        "ingredients/all.yaml",
        "state: raw",
        "state: raw\n  arrives: >- # the van is at 3 °C\n    chilled",
    ),
    "a word broken in quotes": (
        "processes/baked.yaml",
        "  - do: fill\n",
        '  - do: wash\n    does:\n      - "hot-\\\n        holds"\n  - do: fill\n',
    ),
    "both names": ("formulas/pork-bake.yaml", "batches:", "other_names: [a]\nalso: [b]\nbatches:"),
    "both limits": (
        "formulas/pork-bake.yaml",
        "batches:",
        "house_limits: {date: 4 days, date-mark: 3 days}\nbatches:",
    ),
    "a key twice": ("formulas/pork-bake.yaml", "batches:", "also: [a]\nalso: [b]\nbatches:"),
}
"""What an old name can't be told in by one word on one line: the file stays to the byte."""


@pytest.mark.parametrize("case", LEFT)
def test_what_cannot_be_renamed_by_one_word_is_left_and_named(kitchen: Path, case: str) -> None:
    file, old, new = LEFT[case]
    path = kitchen / "standards" / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    before = path.read_bytes()
    done = run(kitchen, "upgrade")
    assert (done.returncode, path.read_bytes()) == (1, before), done.stdout
    assert f"standards/{file}" in done.stderr


def test_a_step_called_as_an_old_limit_keeps_its_name(kitchen: Path) -> None:
    baked, bake = (
        kitchen / "standards" / file for file in ("processes/baked.yaml", "formulas/pork-bake.yaml")
    )
    baked.write_text(baked.read_text().replace("- do: chill\n", "- do: chill\n    id: date-mark\n"))
    limits = "house_limits: {date-mark: to 20 °C within 90 min}\nbatches:"
    bake.write_text(bake.read_text().replace("batches:", limits))
    before = bake.read_bytes()
    done = run(kitchen, "upgrade")
    assert (done.returncode, bake.read_bytes()) == (1, before)
    assert "is the id of a step, too" in done.stderr


def test_a_linked_folder_is_not_followed(kitchen: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    shutil.move(kitchen / "standards/processes", outside)
    (kitchen / "standards/processes").symlink_to(outside)
    blend = outside / "blend.yaml"
    blend.write_text(blend.read_text().replace("add:", "take:"))
    before = blend.read_bytes()
    done = run(kitchen, "upgrade")
    assert (done.returncode, blend.read_bytes()) == (1, before)
    assert "processes/blend.yaml is a link" in done.stderr


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('["3 kg raw", 5 kg raw]', '["3 kg total", 5 kg total]'),
        ("[5 raw, 3 fills]", "[5 raw, 3 fills]"),
        ("[1 lb 2 oz raw]", "[1 lb 2 oz total]"),
    ],
)
def test_only_a_size_by_weight_is_a_total(kitchen: Path, old: str, new: str) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    text = path.read_text()
    path.write_text(text.replace("[4 dishes, 8 dishes]", old))
    run(kitchen, "upgrade")
    assert path.read_text() == text.replace("[4 dishes, 8 dishes]", new)


def test_a_full_output_changes_nothing(kitchen: Path) -> None:
    baked = kitchen / "standards/processes/baked.yaml"
    baked.write_text(baked.read_text().replace("add: [meat]", "take: [meat]"))
    before = baked.read_bytes()
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-c", "from generator.cli import main; main()", "upgrade"],
            cwd=kitchen,
            stdout=full,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            check=False,
        )
    assert done.returncode == 2
    assert baked.read_bytes() == before

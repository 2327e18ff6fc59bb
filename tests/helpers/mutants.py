"""Kitchens spoiled at random, by a seed: bytes, lines, values, files, links."""

from __future__ import annotations

import os
import random
import shutil
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from conftest import BASE, ROOT, compute

from generator.files.finding import as_text, printed
from generator.sheet.manual import Broken, Manual

MOST_TEXT = 200_000
_VALUES = [
    "",
    "[]",
    "{}",
    "''",
    "~",
    "0",
    "-1",
    "1.6",
    "0 g",
    "0 %",
    "100 %",
    "1e9",
    "nan",
    "2026-02-30",
    "x" * 5000,
    "[[]]",
    "pork-bake",
    "house-spice",
    "rice-salad",
    "meat",
    "core 75 °C",
    "to 4 °C",
    "9 dishes",
    "99999999 kg",
    "1/0 cup",
    '"\\x1b[31m"',
    '"\\u202e"',
    "a: b",
    "- x",
    "{a: {b: {c: d}}}",
    "[a, [b]]",
    "!!int 3",
    "*x",
    "&x y",
    "%",
    "@",
    "`",
]
_BYTES = [0, 7, 9, 10, 13, 27, 32, 34, 39, 45, 58, 91, 123, 127, 128, 195, 255]


def accounted(manual: Manual | Broken) -> None:
    """Every formula named is computed, or has an error of its own or of a part."""
    if isinstance(manual, Manual):
        named, sheets = set(manual.standards.formula_files), set(manual.sheets)
    else:
        read = manual.read
        named, sheets = set(read.standards.formula_files if read is not None else ()), set()
        assert manual.errors
    assert sheets.isdisjoint(manual.stopped)
    assert named == sheets | set(manual.stopped)
    assert not [one.id for one in manual.stopped.values() if not one.findings]
    assert all(f.is_error for one in manual.stopped.values() for f in one.findings)


def _flipped(rng: random.Random, path: Path) -> None:
    data = bytearray(path.read_bytes())
    for _ in range(rng.choice((1, 1, 2, 8))):
        if data:
            data[rng.randrange(len(data))] = rng.choice(_BYTES)
    path.write_bytes(data)


def _cut(rng: random.Random, path: Path) -> None:
    data = path.read_bytes()
    start = rng.randrange(len(data) + 1)
    path.write_bytes(data[:start] + data[start + rng.randrange(1, 200) :])


def _line(rng: random.Random, path: Path) -> None:
    lines = path.read_text(encoding="utf-8").split("\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    how = rng.randrange(6)
    if how == 0:
        del lines[at]
    elif how == 1:
        lines.insert(at, lines[other])
    elif how == 2:
        lines[at], lines[other] = lines[other], lines[at]
    elif how == 3:
        lines[at] = " " * rng.randrange(1, 5) + lines[at]
    elif how == 4:
        lines[at] = lines[at].lstrip()
    else:
        lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
    path.write_text("\n".join(lines), encoding="utf-8")


def _value(rng: random.Random, path: Path) -> None:
    lines = path.read_text(encoding="utf-8").split("\n")
    with_values = [i for i, line in enumerate(lines) if ": " in line] or [0]
    for _ in range(rng.choice((1, 1, 3))):
        at = rng.choice(with_values)
        key, sign, _old = lines[at].partition(": ")
        lines[at] = f"{key}{sign or ': '}{rng.choice(_VALUES)}"
    path.write_text("\n".join(lines), encoding="utf-8")


def _below(rng: random.Random, path: Path) -> None:
    """A key whose lines are taken away or replaced: an empty part, an empty process."""
    lines = path.read_text(encoding="utf-8").split("\n")
    keys = [i for i, line in enumerate(lines) if line.rstrip().endswith(":")]
    if not keys:
        return
    at = rng.choice(keys)
    indent = len(lines[at]) - len(lines[at].lstrip())
    end = at + 1
    while end < len(lines) and (
        not lines[end].strip() or len(lines[end]) - len(lines[end].lstrip()) > indent
    ):
        end += 1
    lines[at:end] = [lines[at].rstrip() + rng.choice(("", " {}", " []", " ''", " x"))]
    path.write_text("\n".join(lines), encoding="utf-8")


def _gone(rng: random.Random, path: Path) -> None:
    path.unlink()


def _swapped(rng: random.Random, path: Path) -> None:
    others = [p for p in path.parents[1].rglob("*.yaml") if p.is_file()]
    path.write_bytes(rng.choice(others).read_bytes())


def _strange(rng: random.Random, path: Path) -> None:
    path.unlink()
    how = rng.randrange(5)
    if how == 0:
        os.mkfifo(path)
    elif how == 1:
        path.mkdir()
    else:
        path.symlink_to(("nowhere", path.name, "/dev/zero")[how - 2])


def _renamed(rng: random.Random, path: Path) -> None:
    name = rng.choice(
        (
            ".yaml",
            "A B.yaml",
            path.stem + ".yml",
            path.stem + ".YAML",
            "\x1b[31m.yaml",
            "x" * 90 + ".yaml",
        )
    )
    path.rename(path.with_name(name))


_WAYS: list[Callable[[random.Random, Path], None]] = [
    *[_flipped] * 3,
    *[_cut] * 2,
    *[_line] * 5,
    *[_value] * 6,
    *[_below] * 3,
    _gone,
    _swapped,
    _strange,
    _renamed,
]


def mutated(folder: Path, many: int, seed: int, demo: bool = False) -> str:
    """Spoil so many kitchens, one after the other, and look at each. Returns the counts in
    words."""
    rng = random.Random(seed)
    source = (ROOT if demo else BASE) / "standards"
    counts: Counter[str] = Counter()
    longest = 0
    for _ in range(many):
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(source, folder / "standards")
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            files = sorted(
                p
                for p in (folder / "standards").rglob("*.yaml")
                if p.is_file() and not p.is_symlink() and "office" not in p.parts
            )
            try:
                rng.choice(_WAYS)(rng, rng.choice(files))
            except UnicodeDecodeError:
                continue  # a file whose bytes were spoiled before
        manual = compute(folder)
        accounted(manual)
        text = printed(manual.findings)
        longest = max(longest, len(text.encode("utf-8")))
        assert not [c for c in text if (c < " " and c != "\n") or "\x7f" <= c < "\xa0"]
        assert len(text) < MOST_TEXT
        counts["computed"] += len(manual.sheets) if isinstance(manual, Manual) else 0
        counts["stopped"] += len(manual.stopped)
        counts["findings"] += len(manual.findings)
        for finding in manual.findings[:3]:
            assert as_text(finding)
    shutil.rmtree(folder, ignore_errors=True)
    return (
        f"{many} mutants: {counts['computed']} formulas computed, {counts['stopped']} stopped "
        "with an error, "
        f"0 silent, 0 tracebacks; {counts['findings']} findings, at most {longest} bytes"
    )

"""One layout for the standards: nothing but spaces and line ends changes."""

from __future__ import annotations

import random
import re
from pathlib import Path

import yaml
from commands import run
from conftest import BASE, ROOT, STARTER
from each_row import each_row

from generator.files.layout import laid_out

FILES = sorted(
    path for folder in (ROOT, BASE, STARTER) for path in (folder / "standards").rglob("*.yaml")
)


def messed(text: str, rng: random.Random) -> str:
    """A file as several hands would have left it; YAML reads the same of it."""
    if rng.random() < 0.5:
        text = "\n".join(line + " " * rng.choice([0, 0, 3]) for line in text.split("\n"))
    if rng.random() < 0.5:
        text = text.replace("\n\n", "\n\n\n") + "\n" * rng.randint(0, 3)
    if rng.random() < 0.5:
        gap = " " * rng.choice([1, 3])
        text = re.sub(r"^(\s*(?:- )?[a-z_-]+): (?=\S)", rf"\1:{gap}", text, flags=re.MULTILINE)
    if rng.random() < 0.5:
        lines = []
        for line in text.split("\n"):
            indent, bare = len(line) - len(line.lstrip(" ")), line.lstrip(" ")
            lines.append(" " * (indent * 2) + re.sub(r"^- ", "-   ", bare))
        text = "\n".join(lines)
    if rng.random() < 0.3:
        text = text.replace("\n", "\r\n")
    return ("\ufeff" if rng.random() < 0.2 else "") + text


def read(raw: bytes) -> object:
    """What another reader of YAML makes of it."""
    return yaml.load(raw.decode("utf-8-sig"), Loader=yaml.BaseLoader)


def test_messed_files_come_back_to_the_byte() -> None:
    rng, tried = random.Random(5), 0
    for path in FILES:
        whole = path.read_bytes()
        assert laid_out(whole, path.name) == whole, "they are laid out already"
        mess = messed(whole.decode(), rng).encode()
        if read(mess) != read(whole):
            continue  # a text of several lines was changed by the mess itself
        assert laid_out(mess, path.name) == whole, path.name
        tried += mess != whole
    assert tried > 100


@each_row(
    ("before", "after"),
    [
        ("a:\n- b\n- c: 1\n  d: 2\n", "a:\n  - b\n  - c: 1\n    d: 2\n"),
        ("a:\n    # of b\n    b: 1   # stays\n# end\n", "a:\n  # of b\n  b: 1   # stays\n# end\n"),
        (
            "a: |\n      one\n        two\n\n      three\nb: 1",
            "a: |\n  one\n    two\n\n  three\nb: 1\n",
        ),
        ("a: >\n   one\n   two  \nb:   1\n", "a: >\n  one\n  two  \nb: 1\n"),
        ('a: "one\n       two"\n', 'a: "one\n  two"\n'),
        ("a: one\n       two\n", "a: one\n  two\n"),
        ("a: {b: 1,\n      c: 2}\n", "a: {b: 1,\n  c: 2}\n"),
        ("a: [b,\n c\n ]\n", "a: [b,\n  c\n  ]\n"),
        ("-   a: 1\n    b: 2\n", "- a: 1\n  b: 2\n"),
        ("a:\n  - - 1\n    - 2\n", "a:\n  - - 1\n    - 2\n"),
        ("\n\n\na: 1\n\n\n\nb: 2\n\n", "a: 1\n\nb: 2\n"),
        ("a:\n\n  b: '#1'   \n", "a:\n\n  b: '#1'\n"),
        ("a :  1\n", "a: 1\n"),
        ("a:\n", "a:\n"),
    ],
)
def test_each_form(before: str, after: str) -> None:
    found = laid_out(before.encode(), "a.yaml")
    assert found == after.encode()
    assert read(after.encode()) == read(before.encode())
    assert laid_out(found, "a.yaml") == found


@each_row("text", ["a: [", "a: 1\na: 2\n", "a: &x 1\n", "\ta: 1\n", "a: \x07\n"])
def test_what_cannot_be_read_is_left(text: str) -> None:
    assert laid_out(text.encode(), "a.yaml") is None


def test_the_command(kitchen: Path) -> None:
    path = kitchen / "standards/formulas/pork-bake.yaml"
    whole = path.read_bytes()
    assert run(kitchen, "fmt").stdout == "Nothing to lay out.\n"
    path.write_bytes(whole.replace(b"\n", b"  \r\n"))
    dry = run(kitchen, "fmt", "--dry-run")
    assert (dry.returncode, dry.stdout) == (
        1,
        "standards/formulas/pork-bake.yaml\n1 file would be laid out.\n",
    )
    broken = kitchen / "standards/formulas/rice-salad.yaml"
    broken.write_bytes(b"name: [\n")
    done = run(kitchen, "fmt")
    assert done.returncode == 1 and "rice-salad.yaml is left as it is" in done.stderr
    assert path.read_bytes() == whole and broken.read_bytes() == b"name: [\n"
    alone = run(kitchen, "fmt", str(path))
    assert (alone.returncode, alone.stdout) == (0, "Nothing to lay out.\n"), alone.stderr

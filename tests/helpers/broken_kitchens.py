"""Broken kitchens: each an entry of a table, what it changes in the clean kitchen and what is found.

A table lies in ``kitchens/broken/``, one a topic. An edit names a file of ``standards/`` and the
``old`` text that stands there once, with the ``new`` one; or the whole ``text`` of a file; or that
the file is ``removed``. ``expected``, last in its entry, is the findings word for word.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

TABLES = Path(__file__).resolve().parents[1] / "kitchens" / "broken"
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # 300 kB, read by every worker
SHAPES = ({"file", "old", "new"}, {"file", "text"}, {"file", "removed"})


@dataclass(frozen=True)
class Broken:
    """One broken kitchen: its table, its edits, the findings expected."""

    table: Path
    edits: tuple[dict[str, str], ...]
    expected: str

    def lay_over(self, project: Path) -> None:
        """Make the edits, one after the other, in a project that holds the clean kitchen."""
        for edit in self.edits:
            path = project / "standards" / edit["file"]
            if "removed" in edit:
                path.unlink()
                continue
            text = edit.get("text")
            if text is None:
                text = replaced(path.read_text(encoding="utf-8"), edit)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="")


def replaced(text: str, edit: dict[str, str]) -> str:
    """The text with ``new`` for ``old``, which must stand in it once and once only."""
    times = text.count(edit["old"])
    assert times == 1, f"{edit['old']!r} stands {times} times in {edit['file']}, not once"
    return text.replace(edit["old"], edit["new"])


def read_table(table: Path) -> dict[str, Broken]:
    """A table's kitchens by name."""
    found: dict[str, Broken] = {}
    for entry in yaml.load(table.read_text(encoding="utf-8"), LOADER):
        name = f"{table.name}: {entry.get('name')}"
        assert set(entry) == {"name", "edits", "expected"}, f"{name} has {sorted(entry)}"
        assert entry["name"] not in found, f"{name} stands here twice"
        assert entry["edits"], f"{name} changes nothing"
        for edit in entry["edits"]:
            assert set(edit) in SHAPES, f"{name}: an edit is file, old, new; file, text; or removed"
            assert edit.get("old", "-") != edit.get("new"), f"{name}: {edit['old']!r} is left as is"
        found[entry["name"]] = Broken(table, tuple(map(_texts, entry["edits"])), entry["expected"])
    return found


def _texts(edit: dict[str, Any]) -> dict[str, str]:
    """``new: 5`` and ``new:`` are meant as they are typed; as YAML they are a number and nothing."""
    assert all(isinstance(v, str) for k, v in edit.items() if k != "removed"), f"quote {edit}"
    return edit


def read_tables() -> dict[str, Broken]:
    """Every broken kitchen by its name, which no two tables share."""
    found: dict[str, Broken] = {}
    for table in sorted(TABLES.glob("*.yaml")):
        more = read_table(table)
        assert not (both := set(found) & set(more)), f"{table.name}: {both} stand elsewhere too"
        found |= more
    return found


KITCHENS = read_tables()


def expect(name: str, found: str) -> None:
    """Write what is found as what is expected, and leave all else in the table as it is."""
    table = KITCHENS[name].table
    text = table.read_text(encoding="utf-8")
    entry = rf"(?ms)^- name: {re.escape(name)}\n.*?^  expected: \|\n"
    start = re.search(entry, text)
    assert start, f"{table.name}: {name} has no `expected: |` at its end"
    end = text.find("\n- name: ", start.end())
    rest = text[end:] if end >= 0 else ""
    new = f"{text[: start.end()]}{textwrap.indent(found, '    ')}{rest}"
    table.write_text(new, encoding="utf-8", newline="\n")
    assert read_table(table)[name].expected == found, "these words need quotes in YAML"

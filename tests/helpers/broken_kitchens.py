"""Broken kitchens: each an entry of a table, what it changes in the clean kitchen and what is found.

A table lies in ``kitchens/broken/``, one a topic. An edit names a file of ``standards/`` and the
``old`` text that is there once, with the ``new`` one; or the whole ``text`` of a file; or that
the file is ``removed``. ``expected``, last in its entry, is the findings word for word. An entry
without ``expected`` is a kitchen without an error that others name as their ``base``.
"""

from __future__ import annotations

import os
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
class Laid:
    """One kitchen of a table: its table, the base it is laid over (the starter, if none is named),
    its edits, the findings expected (None: it is a base)."""

    table: Path
    base: str | None
    edits: tuple[dict[str, str], ...]
    expected: str | None

    def lay_over(self, project: Path) -> None:
        """Make the edits, one after the other, in a project that holds the starter's standards."""
        if self.base is not None:
            BASES[self.base].lay_over(project)
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
    """The text with ``new`` for ``old``, which must be in it once and once only."""
    times = text.count(edit["old"])
    assert times == 1, f"{edit['old']!r} stands {times} times in {edit['file']}, not once"
    return text.replace(edit["old"], edit["new"])


def read_table(table: Path) -> dict[str, Laid]:
    """A table's kitchens by name."""
    found: dict[str, Laid] = {}
    with table.open(encoding="utf-8") as file:  # a fault in it is reported with the table's name
        entries = yaml.load(file, LOADER)
    for entry in entries:
        name = f"{table.name}: {entry.get('name')}"
        more = set(entry) - {"name", "edits"}
        assert more in ({"expected"}, {"base", "expected"}, set()), f"{name} has {sorted(entry)}"
        assert entry["name"] not in found, f"{name} stands here twice"
        assert entry["edits"], f"{name} changes nothing"
        for edit in entry["edits"]:
            assert set(edit) in SHAPES, f"{name}: an edit is file, old, new; file, text; or removed"
            assert edit.get("old", "-") != edit.get("new"), f"{name}: {edit['old']!r} is left as is"
        edits = tuple(map(_texts, entry["edits"]))
        found[entry["name"]] = Laid(table, entry.get("base"), edits, entry.get("expected"))
    return found


def _texts(edit: dict[str, Any]) -> dict[str, str]:
    """``new: 5`` and ``new:`` are meant as they are typed; as YAML they are a number and nothing."""
    assert all(isinstance(v, str) for k, v in edit.items() if k != "removed"), f"quote {edit}"
    return edit


def read_tables() -> dict[str, Laid]:
    """Every kitchen of the tables by its name, which no two share."""
    found: dict[str, Laid] = {}
    for table in sorted(TABLES.glob("*.yaml")):
        more = read_table(table)
        assert not (both := set(found) & set(more)), f"{table.name}: {both} stand elsewhere too"
        found |= more
    return found


_ALL = read_tables()
BASES = {name: one for name, one in _ALL.items() if one.expected is None}
KITCHENS = {name: one for name, one in _ALL.items() if one.expected is not None}
assert (named := {k.base for k in KITCHENS.values()} - {None}) == set(BASES), (
    f"the bases named and those there are differ: {named ^ set(BASES)}"
)


def expect(name: str, found: str) -> None:
    """Write what is found as what is expected, and leave all else in the table as it is."""
    assert "PYTEST_XDIST_WORKER" not in os.environ, "one process writes a table: without -n"
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

"""A count of one has its word in the singular, wherever a number and a word meet."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute, edit
from sources import nodes_of

from generator.answers.limits import limits_text
from generator.pages import make_pages

pytestmark = pytest.mark.xdist_group("source")  # each module is parsed once
PLURALS = (
    "batches|copies|cups|days|dishes|files|fills|findings|formulas|hours|jars|labels|lines|loads|"
    "minutes|months|ounces|pages|parts|people|pieces|places|portions|pounds|rows|runs|scales|"
    "servings|sheets|slices|steps|tins|trays|tubs|units|vessels|weeks|years"
)
BEHIND = re.compile(rf"[ \u00a0\u202f]({PLURALS})\b")
GUARDED = {
    # written only where there is more than one, or a constant of the program
    ("answers/batch.py", "batch.loads.count"),
    ("answers/batch.py", "group.loads"),
    ("sheet/fills.py", "makes.to_a_fill"),
    ("views/weigh_view.py", "group.loads"),
    ("answers/batch.py", "one.loads.count"),
    ("answers/batch.py", "len(line.shares)"),
    ("authoring/guide/law.py", "len(shown)"),
    ("binder/log_others.py", "line.loads"),
    ("views/sheet_facts.py", "line.loads"),
    ("cli/authoring.py", "len(files)"),
    ("cli/standards.py", "manual.files"),
    ("intake/unread.py", "_MOST"),
    ("resolve/makes.py", "len(lines)"),
    ("review/readings.py", "lines"),
    ("sheet/sheet.py", "line.loads"),
    ("sheet/waiting.py", "loads.count"),
    ("views/weigh_view.py", "len(line.shares)"),
    # no figure: the name of what runs out
    ("answers/batch.py", "names[batch.on_hand.binding]"),
    # a scale's division in its unit
    ("views/equipment_view.py", "step"),
}
ONES = re.compile(rf"(?<![\d.,/–-])1[ \u00a0\u202f]({PLURALS})\b")


def counted_by_hand(path: Path) -> Iterator[tuple[str, str]]:
    """A value and a plural behind it in one f-string of a module."""
    for node in nodes_of(path):
        if not isinstance(node, ast.JoinedStr):
            continue
        for value, text in zip(node.values, node.values[1:], strict=False):
            if not isinstance(value, ast.FormattedValue) or not isinstance(text, ast.Constant):
                continue
            if BEHIND.match(str(text.value)):
                yield ast.unparse(value.value), str(text.value)


def test_no_module_puts_a_plural_behind_a_figure_itself() -> None:
    found = {
        (path.relative_to(ROOT / "generator").as_posix(), value)
        for path in sorted((ROOT / "generator").rglob("*.py"))
        for value, _ in counted_by_hand(path)
    }
    assert found <= GUARDED, found - GUARDED


@pytest.fixture
def ones(kitchen: Path) -> Path:
    """The clean kitchen with one of everything that can be counted."""
    for old, new in (
        ("keeps: {cold: 5 days}", "keeps: {cold: 1 day, frozen: 1 day}"),
        ("batches: [4 dishes, 8 dishes]", "batches: [1 dish, 2 dishes]"),
        ("whole-egg: 6 each", "whole-egg: 1 each"),
        ("portion: 150 g", "portion: 900 g"),
    ):
        edit(kitchen, "formulas/pork-bake.yaml", old, new)
    return kitchen


def test_pages_and_answers_say_one_day_and_one_dish(ones: Path) -> None:
    manual = compute(ones)
    assert manual.errors == ()
    texts = [page.text for page in make_pages(manual)]
    texts += [limits_text(walk) for walk in manual.walks.values()]
    texts += [f"{f.message} {f.help}" for f in manual.findings]
    for asked in (
        ("batch", "pork-bake", "1 dish"),
        ("batch", "pork-bake", "1 portion"),
        ("limits", "pork-bake"),
        ("check",),
    ):
        answer = run(ones, *asked)
        texts.append(answer.stdout + answer.stderr)
    plain = [re.sub(r"<[^>]*>", "", text) for text in texts]
    wrong = [
        text[max(0, m.start() - 30) : m.end() + 10] for text in plain for m in ONES.finditer(text)
    ]
    assert wrong == []
    assert any(re.search(r"\b1[ \u00a0\u202f]day\b", text) for text in plain)


def test_dry_goods_that_keep_a_day(kitchen: Path) -> None:
    edit(kitchen, "formulas/house-spice.yaml", "keeps:", "note: N.\nkeeps:")
    text = (kitchen / "standards/formulas/house-spice.yaml").read_text(encoding="utf-8")
    changed = re.sub(r"dry: \d+ days", "dry: 1 day", text)
    assert changed != text
    (kitchen / "standards/formulas/house-spice.yaml").write_text(changed, encoding="utf-8")
    assert "Keeps 1 day. " in limits_text(compute(kitchen).walks["house-spice"])

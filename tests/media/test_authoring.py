"""Starting and explaining: new, add, explain, schema, export."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from broken_kitchens import KITCHENS
from commands import run
from conftest import AS_OF, ROOT, compute, edit

from generator.authoring.skeletons import add_record, new_kitchen
from generator.files.finding import Refused
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.site.exporting import export_tree

EXPLAINED = read_reference(installed()).explanations
EXAMPLES = sorted(c for c, w in EXPLAINED.items() if w.file)


REFUSE_TO_BE_FOUND = {
    "sheet/weighing.py",
    "scaling/weights.py",
    "measures/amounts.py",
    "measures/times.py",
    "measures/dates.py",
    "records/formula.py",
    "records/house_limit.py",
    "rules/cures/cured_as.py",
    "rules/cures/curing.py",
}
"""Modules whose refusals become findings about the standards, each under its code."""


def codes_in_the_code() -> set[str]:
    found: set[str] = set()
    for path in (ROOT / "generator").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if path.relative_to(ROOT / "generator").as_posix() in REFUSE_TO_BE_FOUND:
            found |= set(re.findall(r"Refus(?:ed|al)\(\s*\"([a-z0-9]+(?:-[a-z0-9]+)+)\"", text))
        found |= set(
            re.findall(
                r"(?:Finding|error|fault|unknown|note_file)\(\s*(?:names,\s*|path,\s*|line,\s*)?\"([a-z0-9]+(?:-[a-z0-9]+)+)\"",
                text,
            )
        )
    return found


def test_every_code_is_explained() -> None:
    missing = codes_in_the_code() - set(EXPLAINED)
    assert missing == set()
    reported = {
        c
        for case in KITCHENS.values()
        for c in re.findall(r": (?:error|warning|note): .* \[([a-z0-9-]+)\]$", case.expected, re.M)
    }
    assert reported <= set(EXPLAINED)
    assert len(EXAMPLES) >= 80


@pytest.mark.parametrize("code", EXAMPLES)
def test_every_example_raises_its_finding(kitchen: Path, code: str) -> None:
    words = EXPLAINED[code]
    path = kitchen / "standards" / words.file
    text = path.read_text(encoding="utf-8")
    assert words.good in text, "the good example is in the base kitchen, which is clean"
    path.write_text(text.replace(words.good, words.bad, 1), encoding="utf-8")
    found = {f.code for f in compute(kitchen).findings}
    assert code in found


def test_explain(kitchen: Path) -> None:
    done = run(None, "explain", "target-below-limit", cwd=kitchen)
    assert done.returncode == 0
    assert "Not:\n      bake: core 68 °C for 30 s\n  But:\n      bake: core 72 °C" in done.stdout
    done = run(None, "explain", "target-belov-limit", cwd=kitchen)
    assert done.returncode == 2 and "target-below-limit" in done.stderr


def test_a_new_kitchen_is_clean_and_builds(tmp_path: Path) -> None:
    done = run(None, "new", str(tmp_path / "mine"), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert run(tmp_path / "mine", "check", "--strict").returncode == 0
    done = run(tmp_path / "mine", "build", "--strict")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "mine/site/stove/fish-soup/index.html").is_file()
    again = run(None, "new", str(tmp_path / "mine"), cwd=tmp_path)
    assert again.returncode == 2 and "is not empty" in again.stderr


def test_a_name_too_long_for_an_id_is_refused(tmp_path: Path) -> None:
    """An id over sixty letters could be written and never referred to."""
    new_kitchen(tmp_path / "k")
    name = "Slow braised cheek of beef with roots, wine and marrow, for the winter table"
    done = run(tmp_path / "k", "add", "ingredient", name)
    assert done.returncode == 2 and "At most 60 fit" in done.stderr
    assert run(tmp_path / "k", "add", "ingredient", name[:60]).returncode == 0
    long = [f for f in compute(tmp_path / "k").errors if "letters long" in f.message]
    assert long == [], "what add writes can be referred to"


def test_skeletons_check_clean_once_filled(tmp_path: Path) -> None:
    new_kitchen(tmp_path / "k")
    project = tmp_path / "k"
    for kind, name in (
        ("ingredient", "Beef cheek"),
        ("process", 'Slow "oven" braise'),
        ("formula", "Braised cheek"),
    ):
        assert run(project, "add", kind, name).returncode == 0
    assert compute(project).errors, "TODOs are findings"
    edit(project, "ingredients/beef-cheek.yaml", "species: TODO ", "species: beef ")
    edit(project, "ingredients/beef-cheek.yaml", "state: TODO ", "state: raw ")
    edit(project, "ingredients/beef-cheek.yaml", "allergens: TODO ", "allergens: none ")
    edit(project, "ingredients/beef-cheek.yaml", "  # form: intact  ", "  form: intact  ")
    edit(project, "formulas/braised-cheek.yaml", "    TODO: 1 kg", "    beef-cheek: 1 kg")
    edit(project, "formulas/braised-cheek.yaml", "process: TODO", "process: slow-oven-braise")
    with (project / "standards/formulas/braised-cheek.yaml").open("a") as file:
        file.write(
            "cooked_later: Sold raw; the label says cook it.\n"
        )  # the skeleton cooks nothing
    manual = compute(project)
    assert manual.findings == ()
    assert manual.sheets["braised-cheek"].status == "draft"
    assert run(project, "add", "formula", "Braised cheek").returncode == 2
    with pytest.raises(Refused):
        assert manual.standards is not None
        add_record(project, manual.standards, "formula", "!!!", AS_OF)


def test_schema_command(tmp_path: Path) -> None:
    assert run(None, "schema", "--out", str(tmp_path / "s"), cwd=tmp_path).returncode == 0
    formula = json.loads((tmp_path / "s/formula.schema.json").read_text())
    assert formula["additionalProperties"] is False
    assert "How much" in json.dumps(formula)
    assert len(list((tmp_path / "s").iterdir())) == 10


def test_export(kitchen: Path) -> None:
    out = kitchen / "tree"
    done = run(kitchen, "export", str(out))
    assert (done.returncode, done.stderr) == (0, "")
    page = (out / "range/pork-bake.md").read_text(encoding="utf-8")
    assert page.startswith('---\ntitle: "Pork bake"\n---\n')
    assert (out / "assets/manual.css").is_file()
    assert run(kitchen, "export", str(out)).returncode == 0, "an export is replaced"
    (kitchen / "other").mkdir()
    (kitchen / "other/mine.txt").write_text("mine")
    assert run(kitchen, "export", str(kitchen / "other")).returncode == 2
    assert (kitchen / "other/mine.txt").read_text() == "mine"


def test_a_link_is_never_replaced_by_an_export(kitchen: Path) -> None:
    assert run(kitchen, "export", str(kitchen / "tree")).returncode == 0
    link = kitchen / "link"
    link.symlink_to(kitchen / "tree")
    done = run(kitchen, "export", str(link))
    assert (done.returncode, done.stdout) == (2, "")
    assert "has other files" in done.stderr and "Traceback" not in done.stderr
    assert link.is_symlink() and (kitchen / "tree/range/pork-bake.md").is_file()


def test_an_export_that_fails_leaves_the_last_one(
    kitchen: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, manual = kitchen / "tree", compute(kitchen)
    export_tree(manual, out)
    before = sorted(p.relative_to(kitchen) for p in kitchen.rglob("*"))

    def full(*_: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr("generator.site.exporting.shutil.copy", full)
    with pytest.raises(Refused, match="No space left on device; everything is as it was"):
        export_tree(manual, out)
    assert sorted(p.relative_to(kitchen) for p in kitchen.rglob("*")) == before


def test_an_export_among_the_pages_does_not_hold_itself(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "docs/hand.md").write_text("# By hand\n")
    manual = compute(kitchen)
    for _ in range(2):
        export_tree(manual, kitchen / "docs/tree")
    assert (kitchen / "docs/tree/hand.md").is_file()
    assert not (kitchen / "docs/tree/tree").exists()


@pytest.mark.parametrize(
    ("name", "ident"), [("Crème fraîche", "creme-fraiche"), ("Jalapeño", "jalapeno")]
)
def test_an_accented_name_gives_the_id_the_check_offers(
    kitchen: Path, name: str, ident: str
) -> None:
    standards = compute(kitchen).standards
    assert standards is not None
    edit(kitchen, "formulas/pork-bake.yaml", "    cream: 1 cup", f"    {name}: 1 cup")
    assert [f.write for f in compute(kitchen).errors] == [(f"{ident}: 1 cup",)]
    assert add_record(kitchen, standards, "ingredient", name, AS_OF).stem == ident

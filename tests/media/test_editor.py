"""The schemas in an editor, through the YAML language server that editors use."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, edit
from language_server import Editor, editor

from generator.sheet.manual import Manual

FOLDERS = {
    "kitchen": "kitchen.yaml",
    "station": "stations/*.yaml",
    "equipment": "equipment/*.yaml",
    "ingredients": "ingredients/*.yaml",
    "process": "processes/*.yaml",
    "formula": "formulas/*.yaml",
}


@pytest.fixture(scope="module")
def at_the_demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Editor]:
    out = tmp_path_factory.mktemp("schemas")
    done = run(None, "schema", "--out", str(out), "--project", str(ROOT), cwd=out)
    assert done.returncode == 0, done.stderr
    schemas = {
        (out / f"{kind}.schema.json").as_uri(): f"**/standards/{files}"
        for kind, files in FOLDERS.items()
    }
    with editor(schemas) as one:
        yield one


def test_the_demos_files_have_no_mark(at_the_demo: Editor) -> None:
    checked = 0
    for pattern in FOLDERS.values():
        for path in sorted((ROOT / "standards").glob(pattern)):
            text = path.read_text(encoding="utf-8")
            said = at_the_demo.diagnostics(path.as_uri(), text)
            assert said == [], (path.name, said)
            checked += 1
    assert checked > 60


def test_ids_of_this_kitchen_are_offered_with_their_names(
    at_the_demo: Editor, demo: Manual
) -> None:
    text = "name: New\nprocess: \nstation: \nparts:\n  all:\n    \n    salt-fine: 1 %\n"
    uri = "file:///kitchen/standards/formulas/new.yaml"
    at_the_demo.diagnostics(uri, text)
    standards = demo.standards
    assert set(standards.processes) <= at_the_demo.offered(uri, 1, 9)
    assert set(standards.stations) <= at_the_demo.offered(uri, 2, 9)
    items = {*standards.ingredients, *standards.formulas}
    assert items - {"salt-fine"} <= at_the_demo.offered(uri, 5, 4), "one that is there isn't"
    assert standards.ingredients["salt-fine"].name in at_the_demo.hover(uri, 6, 6)
    assert "made-ahead formulas by id" in at_the_demo.hover(uri, 3, 2)


def test_a_new_id_is_no_fault_and_a_slip_is(at_the_demo: Editor) -> None:
    text = (ROOT / "standards/formulas/mill-loaf.yaml").read_text(encoding="utf-8")
    assert "process: hearth-bread\n" in text
    for number, (old, new, marked) in enumerate(
        [
            ("process: hearth-bread\n", "process: bread-to-come\n", False),
            ("process: hearth-bread\n", "procces: hearth-bread\n", True),
            ("process: hearth-bread\n", "process: Hearth bread\n", True),
        ]
    ):
        uri = f"file:///kitchen/standards/formulas/loaf-{number}.yaml"
        said = at_the_demo.diagnostics(uri, text.replace(old, new, 1))
        assert bool(said) is marked, (new, said)
        at = text[: text.index(old)].count("\n")
        assert not marked or at in {one["range"]["start"]["line"] for one in said}, said


def test_schemas_of_a_kitchen_with_an_error_are_written_too(kitchen: Path, tmp_path: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    out = tmp_path / "schemas"
    done = run(None, "schema", "--out", str(out), "--project", str(kitchen), cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "baked" in (out / "formula.schema.json").read_text(encoding="utf-8")

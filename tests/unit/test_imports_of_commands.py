"""The command line starts at once: a command is imported when it is asked for."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from commands import every_command, run
from conftest import ROOT

from generator.cli import COMMANDS, HELPS


def test_the_list_of_commands_says_what_their_own_help_says() -> None:
    """It is kept apart, so that --help imports no command."""
    assert {n: c.get_short_help_str(limit=500) for n, c in every_command().items()} == HELPS
    assert set(HELPS) == set(COMMANDS)


def test_help_imports_little_but_click() -> None:
    """No reader of YAML, no templates, no builder: they take most of a second."""
    code = (
        "import sys\n"
        "from generator.cli import cli\n"
        "try:\n    cli(['--help'], prog_name='kitchen-manual')\n"
        "except SystemExit:\n    pass\n"
        "heavy = {'yaml', 'pydantic', 'rich', 'jinja2', 'mkdocs', 'pint', 'numpy', 'scipy'}\n"
        "print(sorted(heavy & {m.split('.')[0] for m in sys.modules}))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    "words", [["convert", "--", "3", "cups", "ml"], ["explain", "target-below-limit"]]
)
def test_a_quick_command_reads_no_manual(words: list[str]) -> None:
    """What converts a cup and explains a finding needs one file of shared/, as it was typed."""
    code = (
        "import sys\n"
        "from generator.cli import cli\n"
        f"try:\n    cli({words!r}, prog_name='kitchen-manual')\n"
        "except SystemExit:\n    pass\n"
        "heavy = {'pydantic', 'rich', 'jinja2', 'mkdocs', 'pint', 'generator.sheet.manual', "
        "'numpy', 'scipy'}\n"
        "print(sorted(heavy & ({m.split('.')[0] for m in sys.modules} | set(sys.modules))))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert len(done.stdout.splitlines()) > 2


def test_numbers_in_bulk_are_for_predict_alone() -> None:
    """Numpy takes a tenth of a second and scipy more: nothing but `predict` and the room it asks
    imports them, and `reformulate` once it solves; what `check` asks of that room needs neither."""
    users = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "generator").rglob("*.py")
        if re.search(r"^\s*(?:import|from) (?:numpy|scipy)\b", path.read_text("utf-8"), re.M)
    }
    solver = "generator/scaling/nearest.py"
    assert solver in users and all(u.startswith("generator/heat/") for u in users - {solver})
    at_once = re.search(r"^(?:import|from) (?:numpy|scipy)\b", (ROOT / solver).read_text(), re.M)
    assert at_once is None
    assert {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "generator").rglob("*.py")
        if "scaling.nearest" in path.read_text("utf-8")
    } == {"generator/sheet/blend_model.py", "generator/sheet/reformulated.py"}
    askers = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "generator").rglob("*.py")
        if "generator.heat" in path.read_text("utf-8") and "heat" not in path.parent.name
    }
    assert askers == {
        "generator/cli/predict.py",
        "generator/cli/predicted.py",
        "generator/cli/predicted_fit.py",
        "generator/cli/predicted_killed.py",
        "generator/cli/predicted_load.py",
        "generator/cli/predicted_step.py",
        "generator/cli/quantities.py",
        "generator/cli/typed_case.py",
        "generator/sheet/heat_case.py",
        "generator/sheet/heat_food.py",
        "generator/sheet/heat_forecast.py",
        "generator/sheet/heat_load.py",
        "generator/sheet/heat_places.py",
        "generator/sheet/heat_remedies.py",
        "generator/sheet/heat_shape.py",
        "generator/sheet/heat_warning.py",
    }


def test_the_manual_is_computed_without_numbers_in_bulk(kitchen: Path) -> None:
    code = (
        "import sys\n"
        "from generator.cli import cli\n"
        f"try:\n    cli(['check', '--project', {str(kitchen)!r}], prog_name='kitchen-manual')\n"
        "except SystemExit:\n    pass\n"
        "print(sorted({'numpy', 'scipy'} & {m.split('.')[0] for m in sys.modules}))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_a_site_with_another_look_is_refused_in_words(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "docs/more.md").write_text("# More\n")
    (kitchen / "mkdocs.yml").write_text("site_name: H\nplugins: [kitchen-manual]\n")
    done = run(kitchen, "build")
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert "`theme: {name: material}`, not mkdocs" in done.stderr
    assert not (kitchen / "site").exists()

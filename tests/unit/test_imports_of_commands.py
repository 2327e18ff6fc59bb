"""The command line starts at once: a command is imported when it is asked for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from commands import every_command, run

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
        "heavy = {'yaml', 'pydantic', 'rich', 'jinja2', 'mkdocs', 'pint'}\n"
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
        "heavy = {'pydantic', 'rich', 'jinja2', 'mkdocs', 'pint', 'generator.sheet.manual'}\n"
        "print(sorted(heavy & ({m.split('.')[0] for m in sys.modules} | set(sys.modules))))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert len(done.stdout.splitlines()) > 2


def test_a_site_with_another_look_is_refused_in_words(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "docs/more.md").write_text("# More\n")
    (kitchen / "mkdocs.yml").write_text("site_name: H\nplugins: [kitchen-manual]\n")
    done = run(kitchen, "build")
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert "`theme: {name: material}`, not mkdocs" in done.stderr
    assert not (kitchen / "site").exists()

"""The guide is held true: what is made from the program is up to date, its kitchen and its commands
run.

`UPDATE_EXPECTED=1 pytest tests/media/test_guide.py` writes the made parts again; read the difference.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from commands import every_command, run
from conftest import AS_OF, BASE, ROOT, STARTER, compute, demo_alone, missing_tool
from guide_examples import COMMANDS, OF_THE_DEMO
from guide_made import LIBRARY, MADE
from guide_text import GUIDE, Change, changes, kitchen_of_the_guide, lay_over
from test_changes import committed

from generator.cli import cli

PAGES = sorted(GUIDE.glob("*.md"))
_PART = re.compile(r"(<!-- made: ([a-z-]+) -->\n)(.*?)(<!-- end -->)", re.DOTALL)
_LINK = re.compile(r"\]\(([^)\s]+)\)")


def made(text: str) -> str:
    """A page with every made part as the program gives it now."""
    return _PART.sub(lambda m: f"{m[1]}\n{MADE[m[2]]()}\n\n{m[4]}", text)


@pytest.mark.parametrize("path", PAGES, ids=lambda p: p.stem)
def test_made_parts_are_up_to_date(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    now = made(text)
    if os.environ.get("UPDATE_EXPECTED"):
        path.write_text(now, encoding="utf-8")
    assert now == path.read_text(encoding="utf-8")


def test_every_part_stands_in_one_page() -> None:
    found = [name for p in PAGES for _, name, _, _ in _PART.findall(p.read_text(encoding="utf-8"))]
    assert sorted(found) == sorted(MADE)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """The kitchen the first page spells out, as a project."""
    folder = tmp_path / "larch"
    kitchen_of_the_guide(folder)
    return folder


def test_the_kitchen_of_the_guide_is_clean_and_builds(project: Path) -> None:
    done = run(project, "check", "--strict")
    assert (done.returncode, done.stdout.splitlines()[-1]) == (
        0,
        f"3 formulas computed from {compute(project).files} files: no findings.",
    ), done.stdout
    done = run(project, "build", "--strict")
    assert done.returncode == 0, done.stderr
    assert (project / "site/hearth/lamb-braise/index.html").is_file()


@pytest.mark.parametrize(
    "change", changes(), ids=lambda c: f"{c.page}-{c.files[0][0].split('/')[-1]}"
)
def test_every_change_the_guide_shows(project: Path, change: Change) -> None:
    """Clean but for an ingredient nobody uses, or with the one finding it is there to show."""
    lay_over(project, change)
    found = {f.code for f in compute(project).findings} - {"not-used"}
    assert found == ({change.asks} if change.asks else set())


def test_every_block_of_yaml_is_tried() -> None:
    for path in PAGES:
        if path.stem == "08-findings":  # tried against the starter, in test_authoring
            continue
        text = path.read_text(encoding="utf-8")
        for block in re.findall(r"^```yaml\n(.*)$", text, re.MULTILINE):
            assert block.startswith(("# in standards/", "# standards/", "# mkdocs.yml")), block


def test_the_log_of_the_guide_passes(project: Path) -> None:
    """Food Code 3-501.14(A) on a probe of ±1 °C: from 59 °C to 20 °C in 2 h, to 4 °C in 6 h."""
    done = run(project, "review", "chill-log.csv", "--formula", "lamb-braise", "--step", "chill")
    assert "pass" in done.stdout.lower() and "cannot tell" not in done.stdout.lower(), done.stdout


EXAMPLES = [example for name, found in COMMANDS.items() for example in found if name != "serve"]


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_command_of_the_guide_runs(
    project: Path, monkeypatch: pytest.MonkeyPatch, example: str
) -> None:
    """Typed in the kitchen's folder, on the fixed day; the folder is a git checkout of the day
    before."""
    monkeypatch.chdir(project)
    words = shlex.split(example)
    if {"--since", "--changed-since"} & set(words):
        if shutil.which("git") is None:
            missing_tool("git")
        committed(project, "2026-11-24")
    if "theirs.yaml" in words:
        Path("theirs.yaml").write_text("binders: {}\n")
    if len(words) > 1 and words[1] in OF_THE_DEMO:
        words += ["--project", str(demo_alone())]
    takes_a_day = any("--as-of" in p.opts for p in every_command()[words[0]].params)
    day = ["--as-of", AS_OF.isoformat()] if takes_a_day and "--as-of" not in words else []
    done = CliRunner().invoke(cli, [words[0], *day, *words[1:]])
    assert done.exit_code == 0, done.output


def test_every_option_has_an_example() -> None:
    """Shared options with one of the commands that share them."""
    shown = " ".join(example for found in COMMANDS.values() for example in found)
    for name, command in every_command().items():
        for option in command.params:
            if isinstance(option, click.Option):
                assert option.opts[0] in shown, f"{name} {option.opts}"


def test_links_lead_somewhere() -> None:
    """Links between pages, to the manual's own pages, and to headings of the guide."""
    for path in PAGES:
        for target in _LINK.findall(path.read_text(encoding="utf-8")):
            name, _, anchor = target.partition("#")
            page = (path.parent / name).resolve() if name else path
            own = {"limits.md", "findings.md"} if page.parent.name == "control" else set()
            assert page.is_file() or page.name in own, f"{path.name}: {target}"
            if anchor and page.is_file():
                headings = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
                ids = {
                    re.sub(r"[^a-z0-9]+", "-", h.lower().replace("`", "")).strip("-")
                    for h in headings
                }
                assert anchor in ids, f"{path.name}: {target}"


def test_the_guide_needs_no_table_and_no_markup() -> None:
    """A table is cut off on a phone; raw HTML and images have no place in it."""
    for path in PAGES:
        text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        text = re.sub(r"`[^`\n]*`", "", text)
        assert not re.search(r"^\|", text, re.MULTILINE), path.name
        assert not re.search(r"<(?!!-- )", text), path.name
        assert "—" not in text, path.name


def test_every_foodstuff_finding_caution_and_verb_is_told() -> None:
    """Counted on the committed pages, apart from what makes them."""
    text = {p.stem: p.read_text(encoding="utf-8") for p in PAGES}
    for stem, names in (
        ("11-foodstuffs", LIBRARY.foodstuffs),
        ("08-findings", LIBRARY.explanations),
        ("10-cautions", LIBRARY.cautions),
        ("04-steps", LIBRARY.verbs),
    ):
        missing = [
            n for n in names if f"`{n}`" not in text[stem] and f"### {n}\n" not in text[stem]
        ]
        assert missing == [], stem


def test_the_demo_and_the_starter_are_other_kitchens(project: Path) -> None:
    """The guide's dishes are its own, so that it can be read without them."""
    mine = {p.name for p in (project / "standards/formulas").iterdir()}
    for other in (ROOT, STARTER, BASE):
        assert not mine & {p.name for p in (other / "standards/formulas").iterdir()}

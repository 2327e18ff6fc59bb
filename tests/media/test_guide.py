"""The guide is held true: what is made from the program is up to date, its kitchen and its commands
run.

`python -m generator.cli.guide` writes the made parts again, as `UPDATE_EXPECTED=1` does here; read
the difference.
"""

from __future__ import annotations

import atexit
import functools
import json
import os
import re
import shlex
import shutil
import tempfile
from pathlib import Path
from typing import get_args

import click
import openpyxl
import pytest
from click.testing import CliRunner
from commands import every_command, run
from computed_once import keep
from conftest import AS_OF, BASE, ROOT, STARTER, STILL, compute, demo_alone, missing_tool
from guide_text import (
    GUIDE,
    LEARN,
    PAGES,
    Change,
    change_of,
    changes,
    fenced,
    kitchen_of_the_guide,
    lay_over,
    write_file,
)
from test_batch_records import BATCH
from test_changes import committed

from generator.authoring.guide import made, parts_of, write_parts
from generator.authoring.guide.examples import COMMANDS, OF_THE_DEMO
from generator.authoring.guide.keys import FILES
from generator.authoring.guide.steps import EFFECTS
from generator.authoring.schemas import schemas
from generator.cli import cli
from generator.cli.guide import ALL_PARTS, guide, with_their_jobs
from generator.records.process import Effect
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import installed

LIBRARY: Library = read_reference(installed())
_LINK = re.compile(r"\]\(([^)\s]+)\)")


@pytest.mark.parametrize("path", PAGES, ids=lambda p: p.stem)
def test_made_parts_are_up_to_date(path: Path) -> None:
    if os.environ.get("UPDATE_EXPECTED"):
        write_parts(GUIDE, ALL_PARTS, LIBRARY)
    text = path.read_text(encoding="utf-8")
    assert made(text, ALL_PARTS, LIBRARY) == text


def test_every_part_is_in_one_page() -> None:
    found = [name for p in PAGES for name in parts_of(p.read_text(encoding="utf-8"))]
    assert sorted(found) == sorted(ALL_PARTS)


def test_every_effect_file_and_command_has_its_words() -> None:
    """What the made parts say in words of their own leaves nothing out."""
    assert set(EFFECTS) == set(get_args(Effect))
    assert set(FILES) == set(schemas())
    assert set(COMMANDS) == set(every_command())


def test_a_stale_list_is_reported_and_written_again(tmp_path: Path) -> None:
    """The maintainers' command on a copy of the guide with a verb taken out of its list."""
    copy = tmp_path / "guide"
    page = copy / "look-up" / "steps.md"
    page.parent.mkdir(parents=True)
    for name in ("steps.md", "amounts.md", "limits.md"):  # two more, which are current
        shutil.copyfile(GUIDE / "look-up" / name, page.with_name(name))
    right = page.read_text(encoding="utf-8")
    page.write_text(right.replace("- `chill`: cools\n", ""), encoding="utf-8")
    checked = CliRunner().invoke(guide, [str(copy), "--check"])
    assert (checked.exit_code, checked.output) == (1, f"{page}: not current\n")
    assert page.read_text(encoding="utf-8") != right, "a check writes nothing"
    written = CliRunner().invoke(guide, [str(copy)])
    assert (written.exit_code, written.output) == (0, f"{page}: written\n")
    assert page.read_text(encoding="utf-8") == right
    again = CliRunner().invoke(guide, [str(copy), "--check"])
    assert (again.exit_code, again.output) == (0, "")


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """The kitchen that *Learn* spells out, as a project."""
    folder = tmp_path / "larch"
    kitchen_of_the_guide(folder)
    return folder


def test_the_kitchen_of_the_guide_is_clean_and_builds(project: Path) -> None:
    done = run(project, "check", "--strict")
    assert (done.returncode, done.stdout.splitlines()[-1]) == (
        0,
        f"3 formulas computed; {compute(project).files} files read, the reference data with them: "
        "no findings.",
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
        if path == GUIDE / "look-up" / "findings.md":  # tried on the starter, in test_authoring
            continue
        text = path.read_text(encoding="utf-8")
        for block in re.findall(r"^```yaml\n(.*)$", text, re.MULTILINE):
            assert block.startswith(("# in standards/", "# standards/", "# mkdocs.yml")), block


def test_the_log_of_the_guide_passes(project: Path) -> None:
    """Food Code 3-501.14(A) on a probe of ±1 °C: from 59 °C to 20 °C in 2 h, to 4 °C in 6 h."""
    done = run(project, "review", "chill-log.csv", "--formula", "lamb-braise", "--step", "chill")
    assert "pass" in done.stdout.lower() and "cannot tell" not in done.stdout.lower(), done.stdout


def answered(words: list[str]) -> str:
    """What a command of the guide answers on the fixed day; it must succeed."""
    takes_a_day = any("--as-of" in p.opts for p in every_command()[words[0]].params)
    day = ["--as-of", AS_OF.isoformat()] if takes_a_day and "--as-of" not in words else []
    done = CliRunner().invoke(cli, [words[0], *day, *words[1:]])
    assert done.exit_code == 0, done.output
    return done.output


def same_words(text: str) -> str:
    """A text with every run of blanks as one."""
    return " ".join(text.split())


def test_learn_is_done_in_its_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file written and every command typed, page after page, as a reader does: each command
    succeeds, and answers the lines that the page shows under it."""
    keep(True)  # it patches no more than where it runs
    larch, skeletons = tmp_path / "larch", 0
    (larch / "pages").mkdir(parents=True)
    (larch / "standards").mkdir()
    monkeypatch.chdir(tmp_path)
    shown = ""
    for page in LEARN:
        for kind, body in fenced(page):
            if kind == "text":
                lines = [same_words(line) for line in body.splitlines()]
                assert not shown or [n for n in lines if n not in same_words(shown)] == [], shown
            elif kind == "console":
                shown = ""
                for line in body.splitlines():
                    program, *words = shlex.split(line.removeprefix("$ "))
                    if program == "cd":
                        monkeypatch.chdir(Path.cwd() / words[0])
                    elif words[0] != "serve":
                        shown += answered(words)
                        skeletons += words[0] == "add"
                if skeletons == 3:  # "Delete the three files"
                    undo_skeletons(larch)
                    skeletons = 0
            elif not write_file(larch, kind, body):
                change = change_of(page, body)
                assert change and kind == "yaml", body
                shown = finding_of(change, larch, tmp_path / "changed")
    assert Path.cwd() == larch
    strict = answered(["check", "--strict"])
    assert same_words(strict).startswith("3 formulas computed"), strict


def undo_skeletons(folder: Path) -> None:
    """Take away what `add` wrote: the files that hold a remark for who fills them in."""
    for path in (folder / "standards").rglob("*.yaml"):
        if re.search("^ *#", path.read_text(encoding="utf-8"), re.MULTILINE):
            path.unlink()


def finding_of(change: Change, kitchen: Path, copy: Path) -> str:
    """What `check` says of a kitchen with a change laid over it."""
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(kitchen, copy)
    lay_over(copy, change)
    return run(copy, "check").stdout


def test_learn_is_read_in_an_hour() -> None:
    """130 words a minute, code and prose alike, leave half an hour to type and to look."""
    assert sum(len(page.read_text(encoding="utf-8").split()) for page in LEARN) <= 4000
    for page in LEARN:
        assert "**Look up more:**" in page.read_text(encoding="utf-8").splitlines()[-1] or (
            "**Look up more:**" in page.read_text(encoding="utf-8").splitlines()[-2]
        ), page.name


EXAMPLES = [example for name, found in COMMANDS.items() for example in found if name != "serve"]


WRITES = {
    "add",
    "binder",
    "build",
    "export",
    "import",
    "labels",
    "new",
    "record",
    "schema",
    "upgrade",
}
WITH_FILES = {"--keep", "--out", "--since"}


@functools.cache
def kitchen_to_read() -> Path:
    """The guide's kitchen for commands that only read it, which compute it once."""
    folder = Path(tempfile.mkdtemp(prefix="larch-")).resolve()
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    kitchen_of_the_guide(folder)
    STILL.add(folder)
    return folder


def spreadsheets() -> None:
    """What the examples of `import` read, in the folder they are typed in."""
    rows = [["Item", "Amount", "Unit", "Part"], ["Prunes", "200", "g", "soup"]]
    Path("soup.csv").write_text("Item,Amount\nPrunes,200 g\n", encoding="utf-8")
    book = openpyxl.Workbook()
    for title in ("Leek", "Pea"):
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    book.remove(book.worksheets[0])
    book.save("soups.xlsx")


def batches_made(words: list[str]) -> None:
    """What the examples of `record` read; where one corrects a batch, that batch's record."""
    head = "formula: lamb-braise\nrevision: 1\nlot: 261124-1\n"
    line = "used: [{item: onion, weight: 600 g, lot: O-33}]\n"
    Path("batch.yaml").write_text(f"{head}day: 2026-11-24\n{line}", encoding="utf-8")
    Path("early.yaml").write_text(f"{head}day: 2026-10-01\n{line}", encoding="utf-8")
    batch = {**BATCH, "formula": "lamb-braise", "revision": 1, "clocks": [], "readings": []}
    Path("batch.json").write_text(json.dumps(batch), encoding="utf-8")
    Path("lots.csv").write_text("item,weight,item_lot\nonion,600 g,O-33\n", encoding="utf-8")
    if "--corrects" in words:
        Path("standards/records").mkdir()
        Path("standards/records/lamb-braise-261124-1.yaml").write_text(
            f"{head}day: 2026-11-24\n", encoding="utf-8"
        )


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_command_of_the_guide_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, example: str
) -> None:
    """Typed in the kitchen's folder, on the fixed day; the folder is a git checkout of the day
    before. What only answers changes nothing there."""
    keep(True)  # it patches no more than where it runs
    words = shlex.split(example)
    writes = words[0] in WRITES or WITH_FILES & {*words}
    if writes:
        project = tmp_path / "larch"
        kitchen_of_the_guide(project)
    else:
        project = kitchen_to_read()
    before = {p: p.read_bytes() for p in project.rglob("*") if p.is_file()}
    monkeypatch.chdir(project)
    if {"--since", "--changed-since"} & set(words):
        if shutil.which("git") is None:
            missing_tool("git")
        committed(project, "2026-11-24")
    if words[0] == "import":
        spreadsheets()
    if words[0] == "record":
        batches_made(words)
    if "theirs.yaml" in words:
        Path("theirs.yaml").write_text("binders: {}\n")
    if "--write" in words:
        shutil.copytree(demo_alone(), tmp_path / "demo")
        words += ["--project", str(tmp_path / "demo")]
    elif len(words) > 1 and (words[1] in OF_THE_DEMO or words[0] in OF_THE_DEMO):
        words += ["--project", str(demo_alone())]
    answered(words)
    if not writes:
        assert {p: p.read_bytes() for p in project.rglob("*") if p.is_file()} == before


def test_every_option_has_an_example() -> None:
    """Shared options with one of the commands that share them."""
    shown = " ".join(example for found in COMMANDS.values() for example in found)
    for name, command in with_their_jobs().items():
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


def test_every_foodstuff_finding_caution_and_verb_is_listed() -> None:
    """Counted on the committed pages, apart from what makes them."""
    text = {p.stem: p.read_text(encoding="utf-8") for p in PAGES if p.parent.name == "look-up"}
    for stem, names in (
        ("foodstuffs", LIBRARY.foodstuffs),
        ("findings", LIBRARY.explanations),
        ("cautions", LIBRARY.cautions),
        ("steps", LIBRARY.verbs),
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


def test_the_first_edit_of_learn_is_of_a_file_that_is_there() -> None:
    text = (GUIDE / "learn/1-kitchen.md").read_text(encoding="utf-8")
    (found,) = re.findall(r"Open `(standards/\S+)` in a text editor, change `([^`]+)`", text)
    starter = ROOT / "generator/authoring/starter" / found[0]
    assert starter.read_text(encoding="utf-8").count(found[1]) == 1

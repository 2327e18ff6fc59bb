"""A standard never vanishes: whatever lies under standards/ is read or reported, and a formula
named is computed or has an error of its own or of a part. (Of each broken kitchen,
``test_broken_kitchens`` says so.)"""

from __future__ import annotations

import os
import shutil
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from conftest import BASE, compute, edit
from mutants import accounted, mutated

from generator.cli import cli
from generator.files.finding import as_text
from generator.intake import entries
from generator.pages import make_pages
from generator.reference.shared_data import installed
from generator.sheet.manual import Broken, Manual

SPICE = "formulas/house-spice.yaml"
LINES = "    white-pepper: 70 %\n    nutmeg: 30 %"


@pytest.mark.parametrize(
    ("old", "new", "code", "at"),
    [
        ("base: spice", "base: []", "list-empty", ":6:7: "),
        ("parts:\n  spice:\n" + LINES, "parts: {}", "part-empty", ":7:1: "),
        (LINES, "    {}", "part-empty", ":8:3: "),
        ("parts:\n", "parts:\n  more: {}\n", "part-empty", ":8:3: "),
    ],
)
def test_a_formula_of_nothing_is_an_error(
    kitchen: Path, old: str, new: str, code: str, at: str
) -> None:
    edit(kitchen, SPICE, old, new)
    manual = compute(kitchen)
    reported = [as_text(f) for f in manual.errors]
    assert any(f"{SPICE}{at}error" in t and f"[{code}]" in t for t in reported), reported
    assert set(manual.stopped) == {"house-spice", "pork-bake"}
    assert {f.code for f in manual.stopped["pork-bake"].findings} >= {code}, "made of it"
    ran = CliRunner().invoke(cli, ["check", "--project", str(kitchen), "--as-of", "2026-11-25"])
    assert ran.exit_code == 1


def test_a_formula_that_stops_without_a_word_is_an_error(
    kitchen: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The net below all of it: whatever a rule forgets to say."""
    from generator.sheet import manual as pipeline

    walk = pipeline.walk

    def silent(house: object, formula: object, made: object) -> object:
        if formula.id == "house-spice":  # type: ignore[attr-defined]
            return ()
        return walk(house, formula, made)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline, "walk", silent)
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == ["formula-not-computed"]
    assert manual.errors[0].place.file == f"standards/{SPICE}"
    assert set(manual.stopped) == {"house-spice", "pork-bake"}
    accounted(manual)


def pipe(path: Path) -> None:
    os.mkfifo(path)


def bound(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as made:
        here = Path.cwd()
        os.chdir(path.parent)  # its name may be longer than a socket's address
        try:
            made.bind(path.name)
        finally:
            os.chdir(here)


def outside(path: Path) -> None:
    secret = path.parents[3] / "secret.yaml"
    secret.write_text("name: top-secret\n", encoding="utf-8")
    path.symlink_to(secret)


STRANGE: dict[str, Callable[[Path], None]] = {
    "pipe": pipe,
    "socket": bound,
    "folder": lambda path: path.mkdir(),
    "link to nowhere": lambda path: path.symlink_to("gone.yaml"),
    "link in a circle": lambda path: path.symlink_to(path.name),
    "link to a device": lambda path: path.symlink_to("/dev/zero"),
    "link out of the project": outside,
}
PLACES = [
    "formulas/pork-bake.yaml",
    "ingredients/all.yaml",
    "processes/toss.yaml",
    "stations/pass.yaml",
    "equipment/more.yaml",
    "kitchen.yaml",
    "print-register.yaml",
    "formulas/new.yaml",
]


@pytest.mark.parametrize("file", PLACES)
@pytest.mark.parametrize("kind", STRANGE)
def test_what_is_no_file_is_an_error_at_its_place(kitchen: Path, kind: str, file: str) -> None:
    """Never opened: a pipe nobody writes to would hang for ever."""
    path = kitchen / "standards" / file
    path.unlink(missing_ok=True)
    STRANGE[kind](path)
    begun = time.process_time()
    manual = compute(kitchen)
    assert time.process_time() - begun < 2
    hits = [f for f in manual.errors if f.place.file == f"standards/{file}"]
    assert [f.code for f in hits] in (["file-unreadable"], ["link-outside"]), manual.findings
    assert "top-secret" not in "".join(as_text(f) for f in manual.findings)
    accounted(manual)
    if file.startswith("formulas/"):
        assert path.stem in manual.stopped and "rice-salad" in manual.sheets


@pytest.mark.parametrize("kind", sorted(set(STRANGE) - {"folder"}))
def test_a_folder_of_standards_that_is_none_is_an_error(kitchen: Path, kind: str) -> None:
    shutil.rmtree(kitchen / "standards/processes")
    STRANGE[kind](kitchen / "standards" / "processes")
    manual = compute(kitchen)
    assert "standards/processes" in [f.place.file for f in manual.errors]
    assert not manual.sheets
    accounted(manual)


@pytest.mark.parametrize("name", ["draft.yaml", "recipes/pork.yaml", "formulas/old/pork.yaml"])
@pytest.mark.parametrize("kind", STRANGE)
def test_what_is_no_file_where_nothing_looks_is_reported(
    kitchen: Path, kind: str, name: str
) -> None:
    path = kitchen / "standards" / name
    path.parent.mkdir(exist_ok=True, parents=True)
    if kind == "link out of the project" and path.parents[3] == kitchen:
        path.symlink_to("/etc/passwd")
    else:
        STRANGE[kind](path)
    (found,) = compute(kitchen).findings
    assert found.place.file == f"standards/{name}"
    assert found.severity == ("error" if "out of" in kind or "device" in kind else "warning")


def test_a_name_that_is_only_an_ending_is_an_error(kitchen: Path) -> None:
    for folder in ("formulas", "ingredients", "stations"):
        (kitchen / "standards" / folder / ".yaml").write_text("name: Lost\n", encoding="utf-8")
    (kitchen / "standards/.yaml").write_text("name: Lost\n", encoding="utf-8")
    reported = [as_text(f) for f in compute(kitchen).findings]
    assert [t.split("\n")[0] for t in reported] == [
        "standards/.yaml: warning: Nothing reads this file. [file-not-read]",
        *(
            f"standards/{f}/.yaml: error: There is no id before .yaml. [id-form]"
            for f in ("formulas", "ingredients", "stations")
        ),
    ]


def test_a_link_inside_the_project_is_followed(kitchen: Path) -> None:
    path = kitchen / "standards" / SPICE
    kept = kitchen / "kept.yaml"
    path.rename(kept)
    path.symlink_to("../../kept.yaml")
    manual = compute(kitchen)
    assert manual.findings == () and "house-spice" in manual.sheets


def test_all_of_standards_behind_a_link_out_of_the_project_is_refused(kitchen: Path) -> None:
    elsewhere = kitchen.parent / "elsewhere"
    (kitchen / "standards").rename(elsewhere)
    (kitchen / "standards").symlink_to(elsewhere)
    manual = compute(kitchen)
    assert isinstance(manual, Broken)
    assert {f.code for f in manual.errors} == {"link-outside"}
    assert all(not f.place.text for f in manual.findings), "nothing of it is quoted"


def test_other_files_are_noted_and_other_programs_files_left_alone(kitchen: Path) -> None:
    for name in ("formulas/pork-pie.txt", "Recipes.docx", "formulas/.gitkeep", ".DS_Store"):
        (kitchen / "standards" / name).write_text("Pork pie: 3 kg pork\n", encoding="utf-8")
    found = [(f.place.file, f.severity) for f in compute(kitchen).findings]
    assert found == [
        ("standards/Recipes.docx", "note"),
        ("standards/formulas/pork-pie.txt", "note"),
    ]


@pytest.mark.parametrize("folder", ["formulas", "recipes", "formulas/summer", ""])
def test_a_folder_that_cannot_be_opened_is_an_error(
    kitchen: Path, folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tests may run as root, to whom no folder is closed; so the listing says no."""
    shut = kitchen / "standards" / folder if folder else kitchen / "standards"
    shut.mkdir(exist_ok=True)
    scandir = os.scandir

    def refusing(path: object) -> object:
        if Path(str(path)) == shut:
            raise PermissionError(13, "Permission denied")
        return scandir(path)  # type: ignore[call-overload]

    monkeypatch.setattr(entries.os, "scandir", refusing)
    manual = compute(kitchen)
    file = f"standards/{folder}".rstrip("/")
    assert [(f.code, f.place.file) for f in manual.errors] == [("folder-unreadable", file)]
    accounted(manual)


def test_a_file_nobody_may_read_is_an_error(kitchen: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from generator.files import source_text

    opened = os.open

    def refusing(path: object, *rest: object) -> int:
        if Path(str(path)).name == "house-spice.yaml":
            raise PermissionError(13, "Permission denied")
        return opened(path, *rest)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr(source_text.os, "open", refusing)
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == ["file-unreadable"]
    assert set(manual.stopped) == {"house-spice", "pork-bake"}


def empty(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.mkdir()


def a_file(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.write_text("formulas\n")


@pytest.mark.parametrize("how", [shutil.rmtree, empty, a_file])
def test_no_site_is_built_of_nothing(kitchen: Path, how: Callable[[Path], object]) -> None:
    how(kitchen / "standards/formulas")
    shutil.copyfile(BASE / "mkdocs.yml", kitchen / "mkdocs.yml")
    (kitchen / "pages").mkdir()
    reported = [f.code for f in compute(kitchen).findings if f.place.file == "standards/formulas"]
    assert reported == (["file-unreadable"] if how is a_file else ["formulas-missing"])
    command = ["build", "--project", str(kitchen), "--as-of", "2026-11-25"]
    ran = CliRunner().invoke(cli, command)
    assert ran.exit_code == (2 if how is a_file else 1) and "nothing built" in ran.output
    assert not (kitchen / "site").exists()


def test_mutants_by_a_hundred(tmp_path: Path) -> None:
    """Property: no traceback, nothing silent, however a kitchen is spoiled."""
    print("\n", mutated(tmp_path, 100, seed=13))


@pytest.mark.slow
def test_mutants_by_twenty_thousand(tmp_path: Path) -> None:
    print("\n", mutated(tmp_path / "small", 19_000, seed=26))
    print("\n", mutated(tmp_path / "demo", 1_000, seed=27, demo=True))


def test_without_a_house_there_are_findings_and_what_was_read(kitchen: Path) -> None:
    """A kitchen that can't be read leaves no half of a manual behind."""
    whole = compute(kitchen)
    assert isinstance(whole, Manual) and whole.errors == ()
    (kitchen / "standards/kitchen.yaml").unlink()
    broken = compute(kitchen)
    assert isinstance(broken, Broken) and broken.read is not None
    assert broken.errors and set(broken.stopped) == set(whole.sheets)
    assert broken.read.standards.ingredients.keys() == whole.standards.ingredients.keys()
    assert [page.title for page in make_pages(broken)][-2:] == ["Findings", "Findings"]
    shared = kitchen / "shared"
    shutil.copytree(installed(), shared)
    (shared / "units.yaml").write_text("not: [closed", encoding="utf-8")
    unread = compute(kitchen)
    assert isinstance(unread, Broken) and unread.read is None and unread.errors
    assert not unread.stopped and unread.files == 0

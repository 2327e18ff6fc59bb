"""Only what changed: sheets compared by what is printed on them, old → new from the records."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from commands import run
from conftest import AS_OF, compute, edit, lay
from synthetic import synthetic_kitchen
from test_cli import data

from generator.binder.batch_sheet import batch_sheets
from generator.binder.change_sheet import plan_words, ranges
from generator.binder.changed import Changed, ChangedBinders, changed_sheets, changed_since
from generator.binder.documents import station_binder
from generator.binder.drawing import render
from generator.binder.plan import Printed, held_at, plan_of
from generator.binder.recording import Source, as_yaml, recorded
from generator.binder.sheet_changes import plain_words, sheet_changes
from generator.binder.sheets import content_of
from generator.binder.weigh_list import side_by_side
from generator.changes.comparing import changes_text, compare
from generator.intake.reading import Reader
from generator.intake.register import read_register
from generator.records.print_register import PrintRegister
from generator.rules.basics.context import DatedPart
from generator.sheet.manual import Broken, Manual
from generator.views.facts import NamedFacts, narrowed
from generator.views.sheet_facts import _put_dates

SITE = "https://manual.example.org/"
pytestmark = pytest.mark.skipif(
    shutil.which("git") is None and os.environ.get("REQUIRE_ALL") != "1", reason="git is not here"
)


def git(project: Path, *words: str, day: str = "2026-11-20") -> str:
    """git in a project, its author and its clock fixed."""
    who = {
        f"GIT_{a}_{b}": v
        for a in ("AUTHOR", "COMMITTER")
        for b, v in (("NAME", "K"), ("EMAIL", "k@example.org"), ("DATE", f"{day}T12:00:00+00:00"))
    }
    done = subprocess.run(
        ["git", "-C", str(project), *words],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, **who, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull},
    )
    return done.stdout.strip()


def committed(project: Path, day: str = "2026-11-20") -> str:
    if not (project / ".git").exists():
        git(project, "init", "-q")
    git(project, "add", "-A")
    git(project, "commit", "-q", "-m", "standards", day=day)
    return git(project, "rev-parse", "HEAD")


@pytest.fixture(scope="session")
def first_commit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clean kitchen in git, with mkdocs.yml, committed on 2026-11-20."""
    project = lay("base", tmp_path_factory.mktemp("first") / "kitchen")
    (project / "mkdocs.yml").write_text(f"site_name: K\nsite_url: {SITE}\n")
    committed(project)
    return project


@pytest.fixture
def checkout(first_commit: Path, tmp_path: Path) -> Path:
    """A copy of it, to be changed."""
    shutil.copytree(first_commit, tmp_path / "kitchen")
    return tmp_path / "kitchen"


def moved(found: tuple[Changed, ...]) -> dict[str, list[str]]:
    """The keys of the sheets to replace, discard and add, the covers' apart."""
    reported: dict[str, list[str]] = {"replace": [], "discard": [], "add": [], "covers": []}
    for one in found:
        for move in one.plan.moves:
            key = move.new["key"] if move.new is not None else move.old.key  # type: ignore[union-attr]
            if key.endswith("/cover"):
                reported["covers"].append(one.station)
                continue
            how = "replace" if move.old and move.new else "discard" if move.old else "add"
            reported[how].append(key)
    return reported


@pytest.fixture(scope="module", params=[30, pytest.param(100, marks=pytest.mark.slow)])
def many(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Manual, str, str, ChangedBinders]:
    """So many formulas in git; then one seasoning percentage and one vessel are changed."""
    project = synthetic_kitchen(tmp_path_factory.mktemp("many") / "kitchen", request.param)
    vessel = (
        "shallow-dish: {kind: vessel, name: Shallow dish, shape: box, inside: {length: "
        "320 mm, width: 220 mm, depth: 50 mm}}\n"
    )
    house = project / "standards/equipment/house.yaml"
    house.write_text(house.read_text() + vessel)
    spare = project / "standards/formulas/made-0.yaml"
    spare.write_text(spare.read_text().replace("vessel: dish,", "vessel: shallow-dish,"))
    committed(project)
    salted, dished = the_last_two_bakes(project)
    edit(project, f"formulas/{salted}.yaml", "house-spice: 1 %", "house-spice: 1.2 %")
    edit(project, f"formulas/{dished}.yaml", "vessel: dish,", "vessel: shallow-dish,")
    manual = compute(project)
    assert manual.errors == ()
    return manual, salted, dished, changed_since(manual, (), "HEAD", SITE)


def the_last_two_bakes(project: Path) -> tuple[str, str]:
    bakes = [
        f"made-{n}"
        for n in range(1, len(list((project / "standards/formulas").glob("made-*.yaml"))))
        if "vessel: dish," in (project / f"standards/formulas/made-{n}.yaml").read_text()
    ]
    return bakes[-1], bakes[-2]


def test_exactly_the_right_sheets_of_many_formulas(
    many: tuple[Manual, str, str, ChangedBinders],
) -> None:
    """The batch sheets of the two formulas, the covers of their stations, and nothing else."""
    manual, salted, dished, found = many
    assert found.doubts == ()
    at = {f: manual.sheets[f].formula.formula.home for f in (salted, dished)}
    wanted = {f"{at[f]}/{f}/batch" for f in at}  # both sizes side by side
    reported = moved(found.binders)
    assert set(reported["replace"]) == wanted and len(reported["replace"]) == 2
    assert (reported["discard"], reported["add"]) == ([], [])
    assert set(reported["covers"]) == set(at.values())
    every = sum(len(one.sheets) for one in found.binders)
    assert every > len(manual.sheets), "all others stay"
    pairs = {
        (move.new["key"].split("/")[1], d.name): (d.old, d.new)
        for one in found.binders
        for move in one.plan.moves
        if move.new is not None
        for d in move.differences
    }
    assert pairs[salted, "House spice, in the formula"] == ("1 %", "1.2 %")
    assert pairs[dished, "Vessel, in the formula"] == ("Deep dish", "Shallow dish")
    assert not any(f == dished and "spice" in name for f, name in pairs)


def test_each_old_and_new_weight_is_the_sheets_own(
    many: tuple[Manual, str, str, ChangedBinders],
) -> None:
    """What is on the change sheet is what the two batch sheets show, figure for figure."""
    manual, salted, _, changed = many
    found = changed.binders
    move = next(
        m
        for one in found
        for m in one.plan.moves
        if m.new is not None and m.new["key"].endswith(f"{salted}/batch")
    )
    reported = {d.name: d.new for d in move.differences}
    batch = manual.sheets[salted].batches[0]
    for line in batch.lines:
        scale = line.weighing.scale
        assert scale is not None
        shown = f"{scale.shows(line.weighing.grams)} {scale.unit}"
        several = len(side_by_side(manual.sheets[salted].batches)) > 1
        name = f"{line.name}, {batch.label}" if several else line.name
        assert reported.get(name, shown) == shown
    assert any(name.startswith("House spice") and "formula" not in name for name in reported)


def test_the_change_sheet_says_it_in_one_line(checkout: Path) -> None:
    another_bake(checkout, "old")
    committed(checkout)
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.8 %")
    another_bake(checkout, "old").unlink()
    another_bake(checkout, "new")
    manual = compute(checkout)
    found = next(c for c in changed_since(manual, (), "HEAD", SITE).binders if c.station == "range")
    numbers = {s["key"]: s["number"] for s in found.sheets}
    before = {s["key"]: s["number"] for s in station_binder(before_of(checkout), "range", {}, SITE)}
    four, six = "range/pork-bake/batch", "range/new-bake/batch"
    gone = before["range/old-bake/batch"]
    replaced = ranges(found.plan.numbers("replace"))  # the logs name the foods, too
    assert numbers[four] in found.plan.numbers("replace")
    assert plan_words(found.plan) == (
        f"replace the cover, {replaced}; take out {gone}; add {numbers[six]}; keep the rest"
    )
    assert numbers[six] not in before.values(), "a number is never used again"
    assert {k: n for k, n in numbers.items() if k in before} == {
        k: n for k, n in before.items() if k in numbers
    }
    sheets = changed_sheets(manual, found, SITE)
    kinds = [s["kind"] for s in sheets]
    assert kinds[:3] == ["changes", "read", "cover"] and kinds.count("batch") == 2
    answer = sheets[0]["blocks"][0]["cells"]
    assert [(c["head"], c["words"]) for c in answer] == [
        ("Replace", f"Cover, {replaced}"),
        ("Take out", gone),
        ("Add", numbers[six]),
        ("Keep", "the rest"),
    ]
    every = sheets[0]["blocks"][1]["rows"]
    rows = {r["no"]: r for r in every if r["no"]}  # those without go on from the one above
    pairs = [
        {k: v.replace("\u00a0", " ") for k, v in p.items()} for p in rows[numbers[four]]["pairs"]
    ]
    assert {"name": "Fine salt, in the formula", "old": "1.6 %", "new": "1.8 %"} in pairs
    assert (rows[gone]["out"], rows[gone]["in"]) == (True, False)
    assert (rows[numbers[six]]["out"], rows[numbers[six]]["in"]) == (False, True)
    assert rows["Cover"]["out"] and rows["Cover"]["in"]
    with pdfplumber.open(io.BytesIO(render({"title": "x", "sheets": sheets[:1]}, "a4"))) as pdf:
        words = [w for p in pdf.pages for w in p.extract_words(extra_attrs=["size"])]
        large = [w for w in words if round(w["size"]) == 24]
        numbers = [w["text"] for w in large if w["x0"] < 40 * 72 / 25.4 and w["text"].isdigit()]
        drawn = [b for p in pdf.pages for b in [*p.rects, *p.curves]]
        boxes = [b for b in drawn if 7.5 < b["width"] * 25.4 / 72 < 8.5]
        columns = sorted({round(b["x0"]) for b in boxes})
        at = [sum(1 for b in boxes if round(b["x0"]) == x) for x in columns]
    assert numbers == [n for n in rows if n != "Cover"], "each number at the left of its own row"
    assert at == [len(rows) - 1] * 2, "a box for each sheet to take out and for each to put in"


def another_bake(project: Path, name: str) -> Path:
    """The file of a formula like the pork bake, under another name."""
    bake = project / "standards/formulas/pork-bake.yaml"
    words = f"name: {name.capitalize()} bake"
    text = re.sub("^name: .*", words, bake.read_text(), flags=re.MULTILINE)
    path = bake.with_name(f"{name}-bake.yaml")
    path.write_text(re.sub("^other_names: .*\n", "", text, flags=re.MULTILINE))
    return path


def before_of(project: Path) -> Manual:
    """The manual of what is committed, by git's own stash."""
    git(project, "stash", "-q", "-u")
    try:
        return compute(project)
    finally:
        git(project, "stash", "pop", "-q")


def test_comments_and_another_day_change_no_sheet(checkout: Path) -> None:
    for name in ("formulas/pork-bake.yaml", "processes/baked.yaml", "equipment/house.yaml"):
        path = checkout / "standards" / name
        path.write_text("# a remark\n" + path.read_text())
    found = changed_since(compute(checkout), (), "HEAD", SITE)
    assert not any(one.plan.moves for one in found.binders)


def test_a_sheet_not_in_force_when_printed_is_replaced(checkout: Path) -> None:
    """The standards are the same; the band on the paper isn't."""
    edit(checkout, "formulas/pork-bake.yaml", "effective: 2026-05-04", "effective: 2026-11-22")
    committed(checkout)
    found = moved(changed_since(compute(checkout), (), "HEAD", SITE).binders)
    assert found["replace"] == ["range/range/allergens", "range/pork-bake/batch"], (
        "the list of allergens says too that it wasn't in force"
    )


def test_every_difference_in_content_is_reported(clean: Manual) -> None:
    """Whatever text of a sheet is changed, the two have a difference, and only then another
    hash."""
    from generator.binder.sheets import hash_of

    def texts(node: object, path: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
        if isinstance(node, dict):
            return [p for k, v in node.items() for p in texts(v, (*path, k))]
        if isinstance(node, list):
            return [p for i, v in enumerate(node) for p in texts(v, (*path, i))]
        return [path] if isinstance(node, str) else []

    def changed(node: object, path: tuple[object, ...]) -> object:
        if not path:
            return f"{node} X"
        copy = dict(node) if isinstance(node, dict) else list(node)  # type: ignore[call-overload]
        copy[path[0]] = changed(copy[path[0]], path[1:])
        return copy

    assert clean.house is not None
    checked = 0
    for sheet in (s for at in clean.house.stations for s in station_binder(clean, at, {}, "")):
        assert sheet_changes(sheet, sheet) == ()
        for path in texts(content_of(sheet)):
            if path[0] in ("key", "kind") or path[-1] in (
                "form",
                "row",
                "shape",
                "severity",
                "align",
                "role",
            ):
                continue
            other = changed(sheet, path)
            assert isinstance(other, dict)
            assert hash_of(other) != hash_of(sheet), path
            assert sheet_changes(sheet, other), path
            checked += 1
    assert checked > 500


def test_yields_of_one_size_change_under_their_own_names(kitchen: Path) -> None:
    """3.6 kg that lose a tenth, and then a fifth: the size isn't named, as there is no other."""

    def sheet() -> dict[str, Any]:
        manual = compute(kitchen)
        assert isinstance(manual, Manual)
        (made,) = batch_sheets(manual, manual.sheets["pork-bake"])
        return made

    before = sheet()
    edit(kitchen, "processes/baked.yaml", "loses: 10 %", "loses: 20 %")
    changes = {
        c.name: (plain_words(c.old), plain_words(c.new)) for c in sheet_changes(before, sheet())
    }
    assert (changes["To serve"], changes["Yield"]) == (("3240 g", "2880 g"), ("90 %", "80 %"))
    assert not any("Expected" in "".join((name, *words)) for name, words in changes.items())


@pytest.mark.parametrize(
    ("parts", "words"), [((), "the day it is made"), (("Rice", "Cream"), "Rice and Cream")]
)
def test_what_a_sheet_is_dated_by_is_a_fact_of_it(
    clean: Manual, parts: tuple[str, ...], words: str
) -> None:
    dates = clean.sheets["rice-salad"].walk.dates
    assert dates is not None
    dated = tuple(DatedPart(name.lower(), name, "made") for name in parts)
    facts = NamedFacts()
    _put_dates(facts, replace(dates, dated_parts=dated))
    assert facts["dates", "", "Dated by"] == words


def test_long_words_are_narrowed_to_what_differs() -> None:
    old, new = (
        "Grind mince · 9.58 kg · target below 4 °C.",
        "Grind mince · 9.57 kg · target below 4 °C.",
    )
    assert narrowed(old, new) == ("9.58 kg", "9.57 kg")
    assert narrowed("11\u2009699 g total", "11\u2009703 g total") == (
        "11\u2009699 g",
        "11\u2009703 g",
    ), "a thin space"
    assert ranges(["4", "12", "9", "10", "11", "2"]) == "2, 4, 9–12"


# ---- the register


def register_of(project: Path) -> PrintRegister | None:
    reader = Reader(project, "standards")
    found = read_register(reader)
    assert reader.findings == []
    return found


def test_the_register_is_read_as_it_was_written(clean: Manual, tmp_path: Path) -> None:
    sheets = station_binder(clean, "range", {}, "")
    keys = {s["key"] for s in sheets}
    first = recorded(None, "range", sheets, keys, AS_OF, Source("a" * 40, "b" * 8))
    second = recorded(
        first, "range", [s for s in sheets if "pork-bake" not in s["key"]], keys, AS_OF, Source()
    )
    (tmp_path / "standards").mkdir()
    (tmp_path / "standards/print-register.yaml").write_text(as_yaml(second))
    read = register_of(tmp_path)
    assert read is not None and as_yaml(read) == as_yaml(second)
    entries = read.binders["range"].sheets
    assert read.binders["range"].issue == 2
    gone = [n for n, s in entries.items() if s.discarded is not None]
    assert [entries[n].sheet for n in gone] == ["range/pork-bake/batch"]


def test_print_record_change_print_again(checkout: Path, tmp_path: Path) -> None:
    """The whole round on the command line: numbers stay, the discarded one is never given again."""
    another_bake(checkout, "old")
    committed(checkout)
    out = tmp_path / "binder.pdf"
    done = run(checkout, "binder", "range", "--out", str(out), "--register")
    assert done.returncode == 0, done.stderr
    register = register_of(checkout)
    assert register is not None
    numbers = {s.sheet: n for n, s in register.binders["range"].sheets.items()}
    assert list(numbers.values()) == list(range(1, len(numbers) + 1))
    assert all(s.commit for s in register.binders["range"].sheets.values())
    assert run(checkout, "check", "--strict").returncode == 0, "the register is no unread file"

    again = tmp_path / "again.pdf"
    done = run(checkout, "binder", "range", "--out", str(again), "--changed-since", "register")
    assert (done.returncode, again.exists()) == (0, False)
    assert done.stdout == "Range: nothing to replace.\nNothing to print.\n"

    another_bake(checkout, "old").unlink()
    another_bake(checkout, "new")
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    edit(checkout, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")
    last = max(numbers.values())
    done = run(
        checkout,
        "binder",
        "range",
        "--out",
        str(again),
        "--changed-since",
        "register",
        "--register",
    )
    assert done.returncode == 0, done.stderr
    pork, old = (numbers[f"range/{n}-bake/batch"] for n in ("pork", "old"))
    said = done.stdout.partition("\n")[0]
    assert said.startswith("Range: replace the cover, ") and f", {pork}" in said
    assert said.endswith(f"; take out {old}; add {last + 1}; keep the rest.")
    text = pdf_text(again)
    assert "1.6 %" in text and "1.7 %" in text, "old → new, computed again from the commit"
    assert "from issue 1, 25 Nov 2026, to issue 2" in text

    another_bake(checkout, "old")
    done = run(checkout, "binder", "range", "--out", str(again), "--changed-since", "register")
    assert f"add {last + 2};" in done.stdout, "not its old number"


def pdf_text(path: Path) -> str:
    import pypdf

    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages).replace(
        "\u00a0", " "
    )


def test_without_a_commit_it_still_says_which(checkout: Path, tmp_path: Path) -> None:
    """Printed from files that weren't committed: the hash says which sheets, old figures aren't
    known."""
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    edit(checkout, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")
    done = run(checkout, "binder", "range", "--out", str(tmp_path / "a.pdf"), "--register")
    assert "aren't committed" in done.stderr
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.7 %", "salt: 1.9 %")
    found = changed_since(compute(checkout), ("range",), "register", SITE).binders[0]
    reported = moved((found,))
    assert reported["replace"] == [
        "range/pork-bake/batch",
    ]
    rows = changed_sheets(compute(checkout), found, SITE)[0]["blocks"][1]["rows"]
    assert "aren't known here" in rows[0]["words"] and rows[0]["pairs"] == []


def test_a_damaged_register_is_reported_line_by_line(checkout: Path, tmp_path: Path) -> None:
    run(checkout, "binder", "range", "--out", str(tmp_path / "a.pdf"), "--register")
    path = checkout / "standards/print-register.yaml"
    good = path.read_text()
    for old, new, code in (
        ("hash: ", "hash: x", "register-hash"),
        ("    issue: 1", "    issue: one", "whole-number-expected"),
        ("      2:", "      02:", "register-number"),
        ("printed: 2026-11-25", "printed: 25 Nov", "date-unreadable"),
        ("binders:", "binder:", "key-unknown"),
        ("range/log-cool", "range/log-cook", "register-sheet-twice"),
    ):
        path.write_text(good.replace(old, new, 1))
        done = run(checkout, "check")
        assert done.returncode == 1 and f"[{code}]" in done.stdout, code
        assert "standards/print-register.yaml:" in done.stdout
        done = run(
            checkout,
            "binder",
            "range",
            "--out",
            str(tmp_path / "b.pdf"),
            "--changed-since",
            "register",
        )
        assert done.returncode == 1 and not (tmp_path / "b.pdf").exists()


# ---- git


@pytest.mark.parametrize(
    ("since", "words"),
    [
        ("nonsense", "is not a revision of this checkout"),
        ("2026-11-26", "2026-11-26 is in the future: the manual's day is 2026-11-25"),
        ("--help", "is not a revision of this checkout"),
        ("2020-01-01", "Nothing was committed before 2020-01-01"),
        ("2026-02-30", "There is no day 2026-02-30"),
        ("register", "There is no print register"),
    ],
)
def test_a_revision_that_is_not_there(
    checkout: Path, tmp_path: Path, since: str, words: str
) -> None:
    out = tmp_path / "x.pdf"
    done = run(checkout, "binder", "--out", str(out), f"--changed-since={since}")
    assert (done.returncode, out.exists()) == (2, False)
    assert words in done.stderr and "Traceback" not in done.stderr
    if since != "register":
        done = run(checkout, "changes", f"--since={since}")
        assert done.returncode == 2 and words in done.stderr


def test_without_git_history_it_says_so(tmp_path: Path) -> None:
    project = lay("base", tmp_path / "kitchen")
    (project / "mkdocs.yml").write_text("site_name: K\n")
    done = run(project, "changes", "--since", "HEAD")
    assert done.returncode == 2 and "is not in a git checkout" in done.stderr


def test_a_kitchen_in_a_folder_of_its_checkout(tmp_path: Path) -> None:
    """The kitchen is one folder of several; its pages lie outside it."""
    project = lay("base", tmp_path / "houses/first")
    (project / "mkdocs.yml").write_text("site_name: K\ndocs_dir: /nowhere/docs\n")
    (tmp_path / "houses/other.txt").write_text("x")
    git(tmp_path, "init", "-q")
    committed(tmp_path)
    edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    found = data(project, "changes", "--since", "HEAD")
    assert [f["formula"] for f in found["formulas"]] == ["pork-bake"]


def test_a_revision_with_errors_says_so(checkout: Path, tmp_path: Path) -> None:
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: lots")
    bad = committed(checkout, "2026-11-21")
    edit(checkout, "formulas/pork-bake.yaml", "salt: lots", "salt: 1.6 %")
    done = run(checkout, "binder", "--out", str(tmp_path / "x.pdf"), "--changed-since", bad)
    assert done.returncode == 0
    assert "the standards had 1 error: Pork bake couldn't be computed then" in done.stderr
    found = data(checkout, "changes", "--since", bad)
    assert (found["errors_then"], found["not_computed_then"]) == (1, ["Pork bake"])
    assert [(f["formula"], f["how"]) for f in found["formulas"]] == [
        ("pork-bake", "not computed then")
    ]


def test_since_a_manual_that_could_not_be_read_no_formula_was_computed(
    kitchen: Path, clean: Manual
) -> None:
    (kitchen / "standards/kitchen.yaml").write_text("name: [", encoding="utf-8")
    old = compute(kitchen)
    assert isinstance(old, Broken)
    changes = compare(old, clean)
    assert {(c.id, c.how) for c in changes.formulas} == {
        (ident, "not computed then") for ident in ("pork-bake", "rice-salad", "house-spice")
    }
    text = changes_text(changes, "20 November", "c0ffee")
    assert "not computed then: House spice, Pork bake and Rice salad." in text
    assert "\nPork bake (pork-bake): not computed then\n" in text


def test_a_changed_formula_is_named_bare_and_a_new_one_as_new(kitchen: Path, clean: Manual) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    (kitchen / "standards/formulas/rice-salad.yaml").unlink()
    old = compute(kitchen)
    lines = changes_text(compare(old, clean), "20 November", "c0ffee").split("\n")
    assert "Pork bake (pork-bake)" in lines and "Rice salad (rice-salad): new" in lines
    gone = changes_text(compare(clean, old), "20 November", "c0ffee").split("\n")  # type: ignore[arg-type]
    assert "Rice salad (rice-salad): gone" in gone


def test_a_day_means_the_state_before_it(checkout: Path) -> None:
    """Committed on 20 and 22 November: since the 22nd is what changed from the 20th's state."""
    edit(
        checkout,
        "formulas/rice-salad.yaml",
        "keeps: {cold: 3 days}",
        "keeps: {cold: 2 days}",
    )
    second = committed(checkout, "2026-11-22")
    first = git(checkout, "rev-parse", "HEAD~1")
    assert data(checkout, "changes", "--since", "2026-11-22")["commit"] == first
    assert data(checkout, "changes", "--since", "2026-11-23")["commit"] == second
    found = data(checkout, "changes", "--since", "2026-11-22")
    changes = {
        (c["group"], c["what"]): (c["old"], c["new"])
        for f in found["formulas"]
        for c in f["changes"]
    }
    assert changes == {("dates", "Use by"): ("day 3", "day 2")}
    assert {p["page"] for p in found["pages"]} >= {"pass/rice-salad.md", "control/limits.md"}
    assert not any("pork" in p["page"] for p in found["pages"])


def test_changes_report_numbers_and_limits(checkout: Path) -> None:
    """A target, a percentage and a probe: limits and weights of what they touch, nothing of
    YAML."""
    edit(checkout, "formulas/pork-bake.yaml", "core 72 °C", "core 75 °C")
    edit(checkout, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 2 %")
    done = run(checkout, "changes", "--since", "HEAD")
    assert done.returncode == 0, done.stderr
    text = done.stdout
    assert "Pork bake (pork-bake)" in text and "rice-salad" not in text
    assert "  Fine salt: 1.6 % → 2 %" in text
    assert "72 °C or hotter" in text and "75 °C or hotter" in text
    assert "Batch of 4 dishes" in text and "range/pork-bake.md" in text
    sheet = compute(checkout).sheets["pork-bake"]
    salt = next(line for line in sheet.batches[0].lines if line.name == "Fine salt")
    assert salt.weighing.scale is not None
    assert f"→ {salt.weighing.scale.shows(salt.weighing.grams)} g" in text


def test_changes_report_an_ingredients_own_limits(checkout: Path) -> None:
    """What is no longer stated to be packed by a plant counts from the day it was prepared
    (3-501.17(A) and (B)), and milk that names its law goes by it at the door (3-202.11(B))."""
    edit(checkout, "ingredients/all.yaml", "  commercially_packed: yes\n", "  own_law: Dairy Act\n")
    found = data(checkout, "changes", "--since", "HEAD")["ingredients"]
    (cream,) = found
    assert (cream["ingredient"], cream["how"]) == ("cream", "changed")
    reported = {c["what"]: (c["old"], c["new"]) for c in cream["changes"]}
    assert "opened" in reported["Use by"][0] and "prepared" in reported["Use by"][1]
    assert "Dairy Act" in reported["Receive, receive"][1]
    text = run(checkout, "changes", "--since", "HEAD").stdout
    assert "Cream (cream)" in text and "ingredients/cream.md" in text


def test_a_plan_of_nothing(clean: Manual) -> None:
    sheets = station_binder(clean, "range", {}, "")
    cover = next(s["control"]["hash"] for s in sheets if s["kind"] == "cover")
    assert plan_of(held_at(sheets, {}, {}), cover, sheets, {}).moves == ()
    renamed = plan_of(held_at(sheets, {}, {}), "00000000", sheets, {})
    assert [m.number for m in renamed.moves] == [""], "the cover alone, by its own hash"
    fresh = plan_of((), "", sheets, {})
    assert len(fresh.numbers("add")) == len(sheets) - 1 and fresh.kept == 0
    gone = plan_of((Printed("range/x/batch/1", "40", "x", "1", "0" * 8),), cover, sheets, {})
    assert gone.numbers("discard") == ("40",)


def test_allergens_of_an_ingredient_and_equipment_are_among_the_changes(checkout: Path) -> None:
    """Another part of the formula has milk, so that its own list says nothing; and a probe reads
    finer."""
    before = compute(checkout)
    pork, probe = "form: intact\n  allergens: none", "reads: [°C, °F], accuracy: 1 °C"
    edit(checkout, "ingredients/all.yaml", pork, pork.replace("none", "[milk]"))
    edit(checkout, "equipment/house.yaml", probe, probe.replace("1 °C", "0.5 °C"))
    edit(checkout, "equipment/house.yaml", "air: 1 °C}", "air: 2 °C}")
    after = compute(checkout)
    assert isinstance(after, Manual)
    text = changes_text(compare(before, after), "HEAD", "0" * 40)
    assert "Contains: none → milk" in text
    assert "Accuracy: ±1 °C → ±0.5 °C" in text.replace("\u202f", " ")
    assert "Air: 1 °C → 2 °C" in text.replace("\u202f", " ")

"""The print register under several hands: no number twice, no printing lost, its comments kept."""

from __future__ import annotations

import datetime
import multiprocessing
import re
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT, edit

from generator.binder.change_sheet import change_sheet, plan_words
from generator.binder.changed import changed_since
from generator.binder.documents import station_binder
from generator.binder.merging import joined
from generator.binder.numbering import numbered, taken_of
from generator.binder.recording import Source, as_yaml, recorded
from generator.cli import cli
from generator.files import disk
from generator.files.disk import lock_of, locked, write_together
from generator.files.finding import Refused
from generator.intake.register_file import UNDONE, held, register_now
from generator.records.print_register import PrintedBinder, PrintedSheet, PrintRegister
from generator.sheet.manual import Manual, make_manual

REGISTER = "standards/print-register.yaml"
FORK = multiprocessing.get_context("fork")
DAY = datetime.date(2026, 11, 20)


def ignored(words: str) -> None:
    """Nobody listens."""


def invoke(project: Path, *words: str) -> Any:
    return CliRunner().invoke(
        cli, ["binder", *words, "--project", str(project), "--as-of", AS_OF.isoformat()]
    )


KILLED = """
import os
from generator.files import disk
move, sync, done = disk._move_in, disk.sync_folder, []
def moving(aside, place, fresh):
    if {moves} < 2 and len(done) == {moves}:
        os.kill(os.getpid(), 9)
    move(aside, place, fresh)
    done.append(place)
disk._move_in = moving
disk.sync_folder = lambda f: sync(f) if len(done) < 2 else os.kill(os.getpid(), 9)
"""
"""Kills the process before its first or second move, or behind both."""


def started(project: Path, *words: str, before: str = "") -> subprocess.Popen[bytes]:
    """The command in a process of its own, after some lines of Python."""
    run = f"{before}\nfrom generator.cli import main; main()"
    options = ["--project", str(project), "--as-of", AS_OF.isoformat()]
    return subprocess.Popen(
        [sys.executable, "-c", run, "binder", *words, *options],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
    )


def sheet(key: str, hash: str = "a" * 8, printed: datetime.date = DAY, **more: Any) -> PrintedSheet:
    facts = {"id": key.replace("/", ", "), "kind": "batch", "revision": "1", "discarded": None}
    facts |= {"commit": None, "hash": hash, "printed": printed}
    return PrintedSheet.model_construct(sheet=key, **{**facts, **more})


def register(cover: str | None = "c" * 8, issue: int = 1, **sheets: Any) -> PrintRegister:
    """A register of one binder, the larder's: ``n7=sheet(…)`` is its number 7."""
    numbers = {int(n[1:]): s for n, s in sheets.items()}
    binder = PrintedBinder.model_construct(issue=issue, cover=cover, sheets=numbers, given_twice={})
    return PrintRegister.model_construct(binders={"larder": binder})


# ---- at once


def _print_one(project: Path, name: str) -> None:
    """One printing as the command does it, of a sheet that is new: a number of its own,
    recorded."""
    with held(project, ignored) as path:
        before = register_now(project)
        key = f"larder/{name}/batch/1-kg"
        number = numbered([key], taken_of(before))[key]
        control = {"id": f"{name}, batch sheet", "revision": "1", "hash": "a" * 8}
        cover = {"kind": "cover", "key": "larder/larder/cover", "control": control}
        held_now = before.binders["larder"].sheets.items() if before else ()
        rest: list[dict[str, Any]] = [
            {"kind": "batch", "key": s.sheet, "number": str(n), "control": control}
            for n, s in held_now
        ]
        rest.append({"kind": "batch", "key": key, "number": str(number), "control": control})
        after = recorded(before, "larder", [cover, *rest], {key}, DAY, Source())
        text = path.read_text() if path.exists() else ""
        pdf = path.parent.parent / f"{name}.pdf"
        write_together({path: as_yaml(after, text).encode(), pdf: f"{number}".encode()})


@pytest.mark.parametrize("many", [2, 10, pytest.param(50, marks=pytest.mark.slow)])
def test_printings_at_once_are_all_there_and_no_number_is_given_twice(
    tmp_path: Path, many: int
) -> None:
    (tmp_path / "standards").mkdir()
    workers = [FORK.Process(target=_print_one, args=(tmp_path, f"f{n}")) for n in range(many)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert [w.exitcode for w in workers] == [0] * many
    found = register_now(tmp_path)
    assert found is not None
    binder = found.binders["larder"]
    assert sorted(binder.sheets) == list(range(1, many + 1)), "every number once"
    assert binder.issue == many, "every printing counted"
    printed = {
        n: int((tmp_path / f"{s.sheet.split('/')[1]}.pdf").read_text())
        for n, s in binder.sheets.items()
    }
    assert all(n == paper for n, paper in printed.items()), "what stands on each paper"
    assert {p.name for p in (tmp_path / "standards").iterdir()} == {"print-register.yaml"}


def test_threads_of_one_process_wait_for_each_other_too(tmp_path: Path) -> None:
    (tmp_path / "standards").mkdir()
    threads = [threading.Thread(target=_print_one, args=(tmp_path, f"t{n}")) for n in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    found = register_now(tmp_path)
    assert found is not None and sorted(found.binders["larder"].sheets) == list(range(1, 11))


def test_without_file_locks_the_lock_file_is_the_lock(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk, "LOCKS", False)
    (tmp_path / "standards").mkdir()
    workers = [FORK.Process(target=_print_one, args=(tmp_path, f"f{n}")) for n in range(10)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    found = register_now(tmp_path)
    assert found is not None and sorted(found.binders["larder"].sheets) == list(range(1, 11))
    assert {p.name for p in (tmp_path / "standards").iterdir()} == {"print-register.yaml"}
    monkeypatch.setattr(disk, "_WAIT_S", 0)
    path = tmp_path / REGISTER
    lock_of(path).touch()
    reported: list[str] = []
    with (
        pytest.raises(Refused, match=re.escape(lock_of(path).name)),
        locked(path, lambda: reported.append("waits")),
    ):
        raise AssertionError("somebody else holds it")
    assert reported == ["waits"]


def test_two_commands_at_once_record_both(kitchen: Path, tmp_path: Path) -> None:
    """The command itself, twice at once: both read the register before either wrote it."""

    stations = ("range", "pass")
    running = [
        started(kitchen, s, "--out", str(tmp_path / f"{s}.pdf"), "--register") for s in stations
    ]
    assert [one.wait(120) for one in running] == [0, 0]
    found = register_now(kitchen)
    assert found is not None and set(found.binders) == set(stations)
    assert all((tmp_path / f"{s}.pdf").read_bytes()[:5] == b"%PDF-" for s in stations)


def test_the_register_is_read_again_under_the_lock(
    kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What somebody recorded while the manual was being computed isn't lost."""
    other = recorded(
        None,
        "elsewhere",
        [{"kind": "cover", "key": "elsewhere/elsewhere/cover", "control": {"hash": "b" * 8}}],
        set(),
        DAY,
        Source(),
    )

    def slow(project: Path, as_of: datetime.date, *more: Any) -> Manual:
        manual = make_manual(project, as_of, *more)
        (project / REGISTER).write_text(as_yaml(other))
        return manual

    monkeypatch.setattr("generator.cli.common.make_manual", slow)
    done = invoke(kitchen, "range", "--out", str(tmp_path / "a.pdf"), "--register")
    assert done.exit_code == 0, done.output
    found = register_now(kitchen)
    assert found is not None and list(found.binders) == ["elsewhere", "range"]


# ---- whole, with its comments


def test_comments_blank_lines_and_order_are_kept(kitchen: Path, tmp_path: Path) -> None:
    out = tmp_path / "a.pdf"
    assert invoke(kitchen, "range", "pass", "--out", str(out), "--register").exit_code == 0
    path = kitchen / REGISTER
    lines = re.sub(r"(  range:\n    issue: 1)", r"\1  # with the spring menu", path.read_text())
    hash_line = next(ln for ln in lines.splitlines() if ln.strip().startswith("hash:"))
    commented = lines.replace("binders:", "# Ours. Ask Mo before you edit it.\nbinders:", 1)
    commented = commented.replace("      2:", "\n      # laminated\n      2:", 1)
    commented = commented.replace(hash_line, f"{hash_line}   # checked", 1) + "# the end\n"
    swapped = re.sub(
        r"( +)kind: (.*)\n +revision: (.*)\n", r"\1revision: \3\n\1kind: \2\n", commented, count=1
    )
    assert swapped != commented
    path.write_text(swapped)
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    edit(kitchen, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")
    done = invoke(kitchen, "range", "--out", str(out), "--changed-since", "register", "--register")
    assert done.exit_code == 0, done.output
    after = path.read_text()
    for kept in (
        "# Ours. Ask Mo before you edit it.\nbinders:",
        "    issue: 2  # with the spring menu",
        "\n\n      # laminated\n      2:",
        f"{hash_line}  # checked",
        "# the end\n",
    ):
        assert kept in after, kept
    first = after.index("revision:"), after.index("kind:")
    assert first[0] < first[1], "a sheet's keys in the order somebody gave them"
    assert re.findall(r"^  (\S+):$", after, re.M) == re.findall(r"^  (\S+):$", swapped, re.M)
    assert register_now(kitchen) is not None


def test_a_sign_in_quotes_is_no_comment() -> None:
    one = register(n1=sheet("larder/roll/batch/1-kg", id="roll # 2, 'batch' \"x\""))
    text = as_yaml(one).replace("revision", "# why\n        revision")
    assert as_yaml(one, text) == text


def test_a_linked_register_is_followed_not_replaced(kitchen: Path, tmp_path: Path) -> None:
    real = kitchen / "office" / "register.yaml"  # in the project: links out of it are refused
    real.parent.mkdir()
    first = invoke(kitchen, "range", "--out", str(tmp_path / "a.pdf"), "--register")
    assert first.exit_code == 0, first.output
    (kitchen / REGISTER).rename(real)
    (kitchen / REGISTER).symlink_to(real)
    for issue in (2, 3):
        done = invoke(kitchen, "range", "--out", str(tmp_path / "a.pdf"), "--register")
        assert done.exit_code == 0, done.output
        assert (kitchen / REGISTER).is_symlink() and f"issue: {issue}" in real.read_text()
    assert [p.name for p in real.parent.iterdir()] == ["register.yaml"]


# ---- the PDF with its registration, or neither


@pytest.mark.parametrize("there", [False, True])
def test_the_pdf_and_its_registration_or_neither(
    kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    out, path = tmp_path / "a.pdf", kitchen / REGISTER
    if there:
        assert invoke(kitchen, "range", "--out", str(out), "--register").exit_code == 0
        edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
        edit(kitchen, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")
    before = path.read_bytes() if there else None, out.read_bytes() if there else None
    replace = Path.replace

    def refuses(self: Path, target: Path) -> Path:
        if Path(target) == out and out.name in self.name and b"%PDF" in self.read_bytes():
            raise OSError(28, "No space left on device")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", refuses)
    done = invoke(kitchen, "range", "--out", str(out), "--register")
    assert done.exit_code == 2 and "everything is as it was" in done.output
    now = path.read_bytes() if path.exists() else None, out.read_bytes() if out.exists() else None
    assert now == before
    monkeypatch.undo()
    assert not [
        p for f in (kitchen / "standards", tmp_path) for p in f.iterdir() if p.name.startswith(".")
    ]
    assert invoke(kitchen, "range", "--out", str(out), "--register").exit_code == 0


@pytest.mark.parametrize("moves", [0, 1, 2])
def test_a_printing_killed_between_its_moves_is_undone_by_the_next(
    kitchen: Path, tmp_path: Path, moves: int
) -> None:
    out, path = tmp_path / "a.pdf", kitchen / REGISTER
    assert invoke(kitchen, "range", "--out", str(out), "--register").exit_code == 0
    before, paper = path.read_bytes(), out.read_bytes()
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    edit(kitchen, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")

    words = ("range", "--out", str(out), "--register")
    assert started(kitchen, *words, before=KILLED.format(moves=moves)).wait(120) == -9
    assert (out.read_bytes() == paper) is (moves < 2)
    done = invoke(kitchen, "range", "--out", str(tmp_path / "b.pdf"), "--changed-since", "register")
    assert done.exit_code == 0, done.output
    if moves < 2:
        assert path.read_bytes() == before, "as before the printing that never was"
        assert (UNDONE in done.output) is (moves == 1)
        assert "replace" in done.output
    else:
        assert path.read_bytes() != before and "nothing to replace" in done.output
    assert [p.name for p in (kitchen / "standards").iterdir() if p.name.startswith(".")] == []


def test_what_a_printing_killed_before_its_moves_left_is_cleared(tmp_path: Path) -> None:
    (tmp_path / "standards").mkdir()
    left = [
        tmp_path / f"standards/{n}"
        for n in (".print-register.yaml-abcd1234", "..print-register.yaml.undo-abcd1234")
    ]
    mine = tmp_path / "standards/.print-register.yaml-mine"
    for path in (*left, mine):
        path.write_text("half of it")
    _print_one(tmp_path, "roll")
    assert [p.name for p in (tmp_path / "standards").iterdir() if p.name.startswith(".")] == [
        mine.name
    ]


# ---- two branches


def test_printings_of_two_branches_are_joined_one_by_one() -> None:
    both = sheet("larder/roll/batch/1-kg")
    later = sheet("larder/soup/batch/1-kg", "b" * 8, DAY + datetime.timedelta(days=2))
    ours = register(
        issue=3, n1=both, n2=sheet("larder/soup/batch/1-kg"), n3=sheet("larder/a/batch/1-kg")
    )
    theirs = register(issue=2, n1=both, n2=later, n4=sheet("larder/b/batch/1-kg"))
    found = joined(ours, theirs, AS_OF)
    binder = found.register.binders["larder"]
    assert found.reported == ()
    assert {n: s.sheet.split("/")[1] for n, s in binder.sheets.items()} == {
        1: "roll",
        2: "soup",
        3: "a",
        4: "b",
    }
    assert binder.sheets[2].hash == "b" * 8, "the later printing is the one in the binder"
    assert (binder.issue, binder.cover) == (3, "c" * 8)
    assert joined(theirs, ours, AS_OF).register.binders["larder"].sheets == dict(
        sorted(binder.sheets.items())
    )


def test_covers_that_differ_are_printed_again() -> None:
    ours, theirs = register(n1=sheet("larder/a/batch/1-kg")), register("d" * 8)
    assert joined(ours, theirs, AS_OF).register.binders["larder"].cover is None


def test_a_number_both_gave_stays_on_both_papers_and_one_is_named_to_replace() -> None:
    first = sheet("larder/a/batch/1-kg", printed=DAY + datetime.timedelta(days=1))
    second = sheet("larder/b/batch/1-kg", "b" * 8)
    found = joined(register(n7=first), register(n7=second), AS_OF)
    binder = found.register.binders["larder"]
    assert binder.sheets[7].sheet == "larder/b/batch/1-kg", "printed first: it keeps the number"
    assert binder.given_twice[7].sheet == "larder/a/batch/1-kg"
    assert len(found.reported) == 1
    assert "number 7 was given twice" in found.reported[0]
    assert (
        "Replace the second: print it again" in found.reported[0]
        and "larder, a, batch" in found.reported[0]
    )
    tie = joined(register(n7=sheet("larder/a/batch/1-kg")), register(n7=second), AS_OF)
    assert tie.register.binders["larder"].sheets[7].sheet == "larder/a/batch/1-kg", (
        "ours, on one day"
    )
    gone = sheet("larder/a/batch/1-kg", discarded=DAY)
    out = joined(register(n7=gone), register(n7=second), AS_OF)
    assert (
        out.register.binders["larder"].sheets[7] == second
        and "out of the binder" in out.reported[0]
    )
    assert out.register.binders["larder"].given_twice == {}


def test_a_sheet_both_printed_under_two_numbers_keeps_ours() -> None:
    key = "larder/a/batch/1-kg"
    ours = register(n7=sheet(key))
    theirs = register(n7=sheet("larder/b/batch/1-kg", "b" * 8), n8=sheet(key, "e" * 8))
    found = joined(ours, theirs, AS_OF)
    binder = found.register.binders["larder"]
    assert binder.sheets[7].sheet == key and binder.sheets[8].discarded == AS_OF
    assert binder.given_twice[7].sheet == "larder/b/batch/1-kg"
    assert any("Take sheet 8 out" in words for words in found.reported)


def test_one_sheet_printed_twice_on_a_day_says_which_to_keep() -> None:
    ours, theirs = (register(n1=sheet("larder/a/batch/1-kg", h * 8)) for h in "ab")
    found = joined(ours, theirs, AS_OF)
    assert "was printed twice on 2026-11-20" in found.reported[0]
    kept = found.register.binders["larder"].sheets[1].hash
    assert f"Keep the one with {kept}" in found.reported[0]


def _spice(project: Path, name: str) -> Path:
    """The file of a formula like the house spice, made at the range: a batch sheet more."""
    like = project / "standards/formulas/house-spice.yaml"
    text = re.sub("^name: .*", f"name: {name.capitalize()} spice", like.read_text(), flags=re.M)
    path = like.with_name(f"{name}-spice.yaml")
    path.write_text(re.sub("^station: .*", "station: range", text, flags=re.M))
    return path


@pytest.mark.parametrize("how", ["conflict", "diff3", "file"])
def test_merge_register_and_the_round_after_it(kitchen: Path, tmp_path: Path, how: str) -> None:
    """A number given twice: joined, named, printed again under a new number, and then forgotten."""
    path, out = kitchen / REGISTER, tmp_path / "a.pdf"
    assert invoke(kitchen, "range", "--out", str(out), "--register").exit_code == 0
    base = path.read_text()
    last = max(register_now(kitchen).binders["range"].sheets)  # type: ignore[union-attr]
    texts = []
    for name in ("winter", "summer"):
        formula = _spice(kitchen, name)
        assert invoke(kitchen, "range", "--out", str(out), "--register").exit_code == 0
        texts.append(path.read_text())
        path.write_text(base)
        formula.unlink()
    _spice(kitchen, "winter")
    _spice(kitchen, "summer")
    words = ["--merge-register"]
    if how == "file":
        path.write_text("# ours\n" + texts[0])
        (tmp_path / "theirs.yaml").write_text(texts[1])
        words.append(str(tmp_path / "theirs.yaml"))
    else:
        mid = f"||||||| base\n{base}" if how == "diff3" else ""
        path.write_text(f"# ours\n<<<<<<< HEAD\n{texts[0]}{mid}=======\n{texts[1]}>>>>>>> other\n")
        done = CliRunner().invoke(cli, ["check", "--project", str(kitchen)])
        assert done.exit_code == 1 and "[merge-conflict]" in done.output
    done = invoke(kitchen, *words)
    assert done.exit_code == 0, done.output
    assert f"number {last + 1} was given twice" in done.output
    assert (
        "to summer-spice, batch sheet" in done.output
        and "standards/print-register.yaml joined" in done.output
    )
    assert "range, allergens, was printed twice" in done.output, "each names its own formula"
    assert path.read_text().startswith("# ours\n")
    manual = make_manual(kitchen, AS_OF)
    assert not manual.errors
    found = changed_since(manual, ("range",), "register", "").binders[0]
    assert (
        plan_words(found.plan)
        == f"replace the cover, 1; take out {last + 1}; add {last + 2}; keep the rest"
    )
    page = change_sheet(manual, "range", found.plan, "", "3", found.sheets)
    signed = next(b["fields"] for b in page["blocks"] if b["form"] == "fields")
    assert sum(field["share"] for field in signed) == 180, "A4 less 15 mm either side"
    assert f"Two sheets are numbered {last + 1}. Take out this one" in str(page)
    assert f"{last + 1} (one of two)" in str(page)
    done = invoke(kitchen, "range", "--out", str(out), "--changed-since", "register", "--register")
    assert done.exit_code == 0, done.output
    after = register_now(kitchen)
    assert after is not None
    binder = after.binders["range"]
    assert binder.given_twice == {} and set(binder.sheets) >= {last + 1, last + 2}
    done = invoke(kitchen, "range", "--out", str(out), "--changed-since", "register")
    assert "nothing to replace" in done.output


def test_nothing_to_join_is_said(kitchen: Path, tmp_path: Path) -> None:
    assert invoke(kitchen, "range", "--out", str(tmp_path / "a.pdf"), "--register").exit_code == 0
    before = (kitchen / REGISTER).read_bytes()
    done = invoke(kitchen, "--merge-register")
    assert done.exit_code == 2 and "no merge conflict" in done.output
    done = invoke(kitchen, "--merge-register", str(tmp_path / "none.yaml"))
    assert done.exit_code == 2 and "There is no file" in done.output
    (tmp_path / "bad.yaml").write_text("binders: {range: {issue: one}}\n")
    done = invoke(kitchen, "--merge-register", str(tmp_path / "bad.yaml"))
    assert done.exit_code == 1 and (kitchen / REGISTER).read_bytes() == before


# ---- a merge conflict in any file


@pytest.mark.parametrize(
    "file",
    [
        "kitchen.yaml",
        "formulas/pork-bake.yaml",
        "processes/baked.yaml",
        "ingredients/all.yaml",
        "equipment/house.yaml",
        "stations/range.yaml",
    ],
)
@pytest.mark.parametrize("at", ["top", "middle", "end"])
def test_a_merge_conflict_is_called_one_with_both_sides(kitchen: Path, file: str, at: str) -> None:
    path = kitchen / "standards" / file
    lines = path.read_text().splitlines()
    where = {"top": 0, "middle": len(lines) // 2, "end": len(lines) - 1}[at]
    typed = lines[where]
    lines[where : where + 1] = [
        "<<<<<<< HEAD",
        typed,
        "=======",
        f"{typed} other",
        ">>>>>>> summer",
    ]
    path.write_text("\n".join(lines) + "\n")
    found = [f for f in make_manual(kitchen, AS_OF).findings if f.place.file.endswith(file)]
    assert [(f.code, f.place.line) for f in found] == [("merge-conflict", where + 1)]
    assert f"Lines {where + 1} to {where + 5}" in found[0].message
    assert f"HEAD, line {where + 2}: " in found[0].help
    assert f"summer, line {where + 4}: " in found[0].help and "other" in found[0].help


def test_waiting_is_reported_and_ends(tmp_path: Path) -> None:
    """A second hand waits for the first, says so, and goes on."""
    (tmp_path / "standards").mkdir()
    path, reported = tmp_path / REGISTER, []
    ready, go = threading.Event(), threading.Event()

    def first() -> None:
        with locked(path):
            ready.set()
            go.wait(20)

    thread = threading.Thread(target=first)
    thread.start()
    assert ready.wait(20)

    def waits() -> None:
        reported.append(time.monotonic())
        go.set()

    with locked(path, waits):
        assert len(reported) == 1
    thread.join(20)


def test_the_next_number_is_behind_every_number_ever_given(clean: Manual) -> None:
    """A discarded sheet's number, and one given twice, are never given again."""
    old = sheet("range/gone/batch/1-kg", discarded=DAY)
    binder = PrintedBinder.model_construct(
        issue=1,
        cover=None,
        sheets={40: old},
        given_twice={40: sheet("range/pork-bake/batch/4-dishes")},
    )
    taken = taken_of(PrintRegister.model_construct(binders={"range": binder}))
    numbers = {int(s["number"]) for s in station_binder(clean, "range", taken, "") if s["number"]}
    assert min(numbers) == 41

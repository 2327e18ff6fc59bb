"""A wrong clock is doubted before it prints a date, and git's history is reported in words that fit."""

from __future__ import annotations

import datetime
import hashlib
import io
import itertools
import json
import os
import tarfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from conftest import edit, lay
from test_changes import committed, git

from generator.changes.clock import dated
from generator.changes.history import _lay_out, commit_of, newest_commit, standards_at
from generator.cli import cli
from generator.files.finding import Refused
from generator.sheet.manual import make_manual

ZONE = "America/New_York"


@pytest.fixture
def checkout(kitchen: Path) -> Path:
    """The clean kitchen in git, committed on 20 November 2026; its first revision is of 12
    January."""
    (kitchen / "mkdocs.yml").write_text("site_name: K\n")
    committed(kitchen)
    return kitchen


def run(project: Path, *words: str) -> Result:
    done = CliRunner().invoke(cli, [*words, "--project", str(project)])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def doubts(project: Path, day: str) -> list[tuple[str, str]]:
    manual = dated(make_manual(project, datetime.date.fromisoformat(day)))
    return [(f.code, f.severity) for f in manual.findings]


@pytest.mark.parametrize(
    ("day", "found"),
    [
        ("1970-01-01", [("clock-behind", "warning")] * 2),
        ("2026-01-11", [("clock-behind", "warning")] * 2),
        ("2026-01-12", [("clock-behind", "warning")]),
        ("2026-11-19", [("clock-behind", "warning")]),
        ("2026-11-20", []),
        ("2027-11-20", []),
        ("2027-11-21", []),
        ("2027-11-22", [("clock-ahead", "note")]),
        ("2099-01-01", [("clock-ahead", "note")]),
    ],
)
def test_a_day_before_the_standards_is_doubted_and_one_long_after_is_noted(
    checkout: Path, day: str, found: list[tuple[str, str]]
) -> None:
    reported = [one for one in doubts(checkout, day) if one[0].startswith("clock")]
    assert reported == found
    done = run(checkout, "check", "--strict", "--as-of", day, "--format", "json")
    codes = [f["code"] for f in json.loads(done.output)["findings"]]
    assert [c for c in codes if c.startswith("clock")] == [code for code, _ in found]
    if ("clock-behind", "warning") in found:
        assert done.exit_code == 1
        done = run(checkout, "check", "--as-of", day)
        assert "Check this machine's clock, or the day after --as-of." in done.output


def test_the_words_name_both_days(checkout: Path) -> None:
    output = run(checkout, "check", "--as-of", "1970-01-01").output
    assert (
        "formulas/house-spice.yaml:3:12: warning: The day, 1 Jan 1970, is before the kitchen's "
        "first revision, of 12 Jan 2026. [clock-behind]" in output
    )
    assert (
        "standards: warning: The day, 1 Jan 1970, is before the newest commit of the "
        "standards, of 20 Nov 2026." in output
    )


def test_labels_refuse_a_day_before_the_standards_and_print_long_after(
    checkout: Path, tmp_path: Path
) -> None:
    out = tmp_path / "labels.pdf"
    for day in ("1970-01-01", "2026-01-11", "2026-11-19"):
        done = run(
            checkout, "labels", "pork-bake", "--made", day, "--as-of", day, "--out", str(out)
        )
        assert done.exit_code == 2 and not out.exists()
        assert "No label: The day, " in done.output and "clock" in done.output
    words = (
        "labels",
        "pork-bake",
        "--made",
        "2028-11-19",
        "--as-of",
        "2028-11-19",
    )
    done = run(checkout, *words, "--out", str(out))
    assert done.exit_code == 0 and out.read_bytes()[:5] == b"%PDF-", done.output


def test_only_commits_of_the_standards_count(checkout: Path) -> None:
    (checkout / "README").write_text("Not a standard.\n")
    committed(checkout, "2027-03-01")
    assert doubts(checkout, "2026-11-25") == []
    made = newest_commit(checkout)
    assert made is not None and made.date() == datetime.date(2026, 11, 20)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago", "UTC"])
def test_the_same_day_in_another_zone_is_not_doubted(tmp_path: Path, zone: str) -> None:
    project = lay("base", tmp_path / "kitchen")
    edit(project, "kitchen.yaml", ZONE, zone)
    committed(project)
    assert doubts(project, "2026-11-20") == []


def test_outside_git_only_the_first_revision_counts(kitchen: Path) -> None:
    assert newest_commit(kitchen) is None
    assert doubts(kitchen, "2026-11-25") == []
    assert doubts(kitchen, "2026-01-01") == [("clock-behind", "warning")]


# Git in words.


def why(project: Path, since: str, day: str = "2026-11-25") -> Refused:
    with pytest.raises(Refused) as refused:
        commit_of(project, since, ZONE, datetime.date.fromisoformat(day))
    return refused.value


@pytest.fixture
def shallow(checkout: Path, tmp_path: Path) -> Path:
    """The newest of three commits, as a workflow clones it."""
    for day, salt in (("2026-11-21", "1.7 %"), ("2026-11-22", "1.8 %")):
        edit(checkout, "formulas/pork-bake.yaml", "revision: 1", f"note: {salt}\nrevision: 1")
        edit(checkout, "formulas/pork-bake.yaml", f"note: {salt}\n", "")
        (checkout / "standards/formulas/rice-salad.yaml").write_text(
            (checkout / "standards/formulas/rice-salad.yaml").read_text() + f"# {salt}\n"
        )
        committed(checkout, day)
    target = tmp_path / "shallow"
    git(tmp_path, "clone", "-q", "--depth", "1", f"file://{checkout}", str(target))
    return target


def test_a_shallow_clone_is_named_as_the_reason(shallow: Path, checkout: Path) -> None:
    first = git(checkout, "rev-list", "--max-parents=0", "HEAD")
    for since in ("2026-11-20", "2026-11-22", first, first[:12], "HEAD~1", "HEAD^"):
        refused = why(shallow, since)
        assert refused.code == "history-shallow", since
        assert "shallow clone" in refused.message and refused.write == ("git fetch --unshallow",)
    assert "it begins on 2026-11-22" in why(shallow, "2026-11-20").message
    assert "shallow" not in why(shallow, "no-such-branch").message, "a name it never had"
    for command in (["changes"], ["binder", "--out", str(shallow / "x.pdf")]):
        option = "--since" if command == ["changes"] else "--changed-since"
        done = run(shallow, *command, option, "2026-11-20", "--as-of", "2026-11-25")
        assert done.exit_code == 2 and "git fetch --unshallow" in done.output


@pytest.mark.parametrize("since", ["2026-11-26", "2027-01-01", "9999-12-31"])
def test_a_day_that_has_not_come_is_reported_so(checkout: Path, since: str) -> None:
    refused = why(checkout, since)
    assert refused.code == "day-not-come"
    assert refused.message == f"{since} is in the future: the manual's day is 2026-11-25."
    done = run(checkout, "changes", "--since", since, "--as-of", "2026-11-25")
    assert done.exit_code == 2 and "is in the future" in done.output


def test_the_advice_fits_the_case(checkout: Path, tmp_path: Path) -> None:
    git(checkout, "branch", "winter-menu")
    early = why(checkout, "2026-11-20")
    assert early.help == "The first commit is of 2026-11-20: name 2026-11-21 or a later day."
    assert "nothing earlier" in why(checkout, "2026-11-20", "2026-11-20").help
    assert commit_of(checkout, "2026-11-21", ZONE, datetime.date(2026, 11, 25)), "the advice works"
    assert why(checkout, "2026-02-30").help == "Check day and month."
    assert why(checkout, "winter-menue").help == "Did you mean `winter-menu`?"
    assert why(checkout, "25.11.2026").write == ("--since 2026-11-25",)
    assert why(checkout, "11/25/2026").write == ("--since 2026-11-25",)
    assert why(checkout, "2026-11-5").write == ("--since 2026-11-05",)
    assert why(checkout, "5/6/2026").write == (), "May or June?"
    assert "year-month-day" in why(checkout, "5/6/2026").help
    assert "year-month-day" in why(checkout, "last tuesday").help
    empty = tmp_path / "empty"
    empty.mkdir()
    git(empty, "init", "-q")
    assert why(empty, "HEAD").message == "Nothing is committed here yet."
    outside = tmp_path / "outside"
    outside.mkdir()
    assert why(outside, "HEAD").code == "not-a-checkout"


def test_a_beginning_of_several_names_asks_for_more_letters(checkout: Path) -> None:
    met: dict[str, str] = {}
    for number in itertools.count():
        text = str(number)
        name = hashlib.sha1(f"blob {len(text)}\0{text}".encode()).hexdigest()[:4]
        if name in met:
            break
        met[name] = text
    path = checkout / ".git/object.txt"
    for one in (met[name], text):
        path.write_text(one)
        git(checkout, "hash-object", "-w", str(path))
    refused = why(checkout, name)
    assert f"`{name}` begins 2 names" in refused.message and "more" in refused.help


# Earlier standards laid out: on every Python, and nothing outside the folder.


def test_an_archive_is_laid_out_inside_its_folder_alone(tmp_path: Path) -> None:
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w") as archive:

        def add(name: str, data: bytes = b"x", **more: object) -> None:
            member = tarfile.TarInfo(name)
            member.size = len(data) if not more else 0
            for key, value in more.items():
                setattr(member, key, value)
            archive.addfile(member, io.BytesIO(data))

        add("standards/a.yaml", b"name: a\n")
        add("../above.txt")
        add("/abs.txt")
        add("standards/in", type=tarfile.SYMTYPE, linkname="a.yaml")
        add("standards/out", type=tarfile.SYMTYPE, linkname="../../secret")
        add("standards/far", type=tarfile.SYMTYPE, linkname="/etc")
        add("standards/far/passwd2")
        add("standards/up", type=tarfile.SYMTYPE, linkname="..")
        add("standards/up/b.yaml", b"name: b\n")
        add("standards/pipe", type=tarfile.FIFOTYPE)
        add("standards/device", type=tarfile.CHRTYPE)
        add("standards/hard", type=tarfile.LNKTYPE, linkname="/etc/passwd")
        add("standards/deep/er/c.yaml", b"name: c\n")
    folder = tmp_path / "in" / "side"
    folder.mkdir(parents=True)
    held.seek(0)
    with tarfile.open(fileobj=held) as archive:
        _lay_out(archive, folder.resolve())
    there = sorted(
        p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*") if not p.is_dir()
    )
    assert there == [
        f"in/side/{name}"
        for name in (
            "b.yaml",
            "standards/a.yaml",
            "standards/deep/er/c.yaml",
            "standards/far/passwd2",
            "standards/in",
        )
    ]
    assert (folder / "standards/in").read_text() == "name: a\n"
    assert not Path("/abs.txt").exists() and not Path("/etc/passwd2").exists()


def test_an_earlier_link_out_of_the_project_stops_no_comparison(checkout: Path) -> None:
    (checkout / "standards/formulas/lost.yaml").symlink_to("/etc/passwd")
    before = committed(checkout, "2026-11-21")
    (checkout / "standards/formulas/lost.yaml").unlink()
    committed(checkout, "2026-11-22")
    with standards_at(checkout, before) as folder:
        assert (folder / "standards/kitchen.yaml").is_file()
        assert not os.path.lexists(folder / "standards/formulas/lost.yaml")

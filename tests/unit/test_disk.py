"""A full disk, a read-only project, a closed output: exit 2, one sentence, everything as it was.

Faults are injected under a command that runs in this process: an audit hook refuses the n-th
opening for writing, folder, rename or link below the test's folder, and the n-th write and flush of
our own.
"""

from __future__ import annotations

import copy
import errno
import functools
import json
import logging
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF, BASE, ROOT, edit

from generator.authoring.schemas import schemas
from generator.binder.drawing import render
from generator.cli import main
from generator.files.disk import made_folder, write_together
from generator.files.finding import Refused
from generator.heat.fitting import fit
from generator.sheet.manual import make_manual
from generator.site.papers import make_site_pages

COMMAND = [sys.executable, "-c", "from generator.cli import main; main()"]
LOG = (
    "time,temp_c\n"
    + "\n".join(
        f"2026-11-24 {h:02}:{m:02},{t}"
        for h, m, t in (
            (10, 0, 80),
            (10, 30, 60),
            (11, 0, 40),
            (11, 30, 25),
            (12, 0, 18),
            (13, 0, 10),
            (14, 0, 4),
            (14, 30, 3),
        )
    )
    + "\n"
)
FIT = "time,temp_c\n" + "".join(
    f"2026-11-24 10:{5 * n:02},{t}\n" for n, t in enumerate((60, 57, 47, 36, 27, 20, 15, 11, 9, 7))
)
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND


@dataclass
class Disk:
    """What was asked of the disk below ``root``, and when it refuses: from the ``at``-th on, once
    or, if it ``stays`` full, each time; a full disk still renames."""

    root: Path
    at: int = 0
    number: int = errno.ENOSPC
    stays: bool = False
    asked: list[str] = field(default_factory=list)

    def ask(self, what: str, path: Any) -> None:
        if not isinstance(path, (str, bytes, os.PathLike)):
            return
        if self.root not in Path(os.fsdecode(path)).parents:
            return
        self.ask_any(what)

    def ask_any(self, what: str) -> None:
        self.asked.append(what)
        n = len(self.asked)
        again = (
            self.stays
            and n > self.at
            and (self.number == errno.EROFS or what not in ("os.rename", "os.link"))
        )
        if self.at and (n == self.at or again):
            raise OSError(self.number, os.strerror(self.number))


_disk: list[Disk] = []


def _watch(event: str, arguments: tuple[Any, ...]) -> None:
    if not _disk:
        return
    if event == "open":
        path, mode, flags = arguments
        if (mode and set(mode) & set("wax+")) or (isinstance(flags, int) and flags & _WRITES):
            _disk[-1].ask(event, path)
    elif event == "os.mkdir" and Path(arguments[0]).is_dir():
        pass  # it would have been refused anyway, and that is asked for
    elif event in ("os.mkdir", "os.rename", "os.link", "os.symlink"):
        _disk[-1].ask(event, arguments[1] if event in ("os.link", "os.rename") else arguments[0])


sys.addaudithook(_watch)


_drawn: dict[str, bytes] = {}
_schemas = functools.cache(schemas)


def _draw(*given: Any, **named: Any) -> bytes:
    """A PDF drawn once: what is put on the disk is put there each time."""
    asked = json.dumps((given, named), sort_keys=True)
    if asked not in _drawn:
        _drawn[asked] = render(*given, **named)
    return _drawn[asked]


@pytest.fixture(autouse=True)
def made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Schemas and PDFs are made once a process; writing them is what these tests are about."""
    monkeypatch.setattr("generator.cli.authoring.schemas", lambda: copy.deepcopy(_schemas()))
    monkeypatch.setattr("generator.binder.drawing.render", _draw)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """The starter with a log of readings, and its formula changed once."""
    folder: Path = tmp_path / "k" / "kitchen"
    shutil.copytree(BASE, folder)
    (folder / "log.csv").write_text(LOG)
    (folder / "fit.csv").write_text(FIT)
    (folder / "out").mkdir()
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    return folder


def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str]:
    """The console script in this process: its status, and what it said on standard error."""
    monkeypatch.setattr(sys, "argv", ["kitchen-manual", *words])
    capsys.readouterr()
    try:
        main()
    except SystemExit as ended:
        code = ended.code
        return (code if isinstance(code, int) else 1 if code else 0), capsys.readouterr().err
    return 0, capsys.readouterr().err


def everything(folder: Path) -> dict[str, bytes | str]:
    """All that is below a folder, hidden files too."""
    found: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink():
            found[name] = f"-> {path.readlink()}"
        else:
            found[name] = "folder" if path.is_dir() else path.read_bytes()
    return found


def with_disk(monkeypatch: pytest.MonkeyPatch, disk: Disk) -> Iterator[None]:
    write, fsync = os.write, os.fsync

    def writes(handle: int, data: Any) -> int:
        if handle > 2:
            disk.ask_any("write")
        return write(handle, data)

    def flushes(handle: int) -> None:
        disk.ask_any("fsync")
        fsync(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", writes)
        patch.setattr(os, "fsync", flushes)
        _disk.append(disk)
        try:
            yield
        finally:
            _disk.clear()


WRITING = {
    "new": ("new", "{k}/started"),
    "new in an empty folder": ("new", "{k}/empty"),
    "new below a folder that isn't there": ("new", "{k}/a/b/started"),
    "add": ("add", "formula", "Split pea soup"),
    "add in a folder that isn't there": ("add", "process", "Soup"),
    "schema": ("schema", "--out", "{k}/schemas/new"),
    "schema over another": ("schema", "--out", "{k}/kitchen/out"),
    "review": (
        "review",
        "{k}/kitchen/log.csv",
        "--formula",
        "pork-bake",
        "--step",
        "chill",
        "--plot",
        "{k}/p.svg",
        "--out",
        "{k}/r.txt",
    ),
    "predict": ("predict", "pork-bake", "--fit", "{k}/kitchen/fit.csv", "--keep"),
    "binder": ("binder", "pass", "--out", "{k}/b.pdf"),
    "binder over another, recorded": (
        "binder",
        "pass",
        "--out",
        "{k}/kitchen/out/b.pdf",
        "--register",
    ),
    "labels": ("labels", "pork-bake", "--made", "2026-11-24", "--out", "{k}/l.pdf"),
    "export": ("export", "{k}/tree"),
    "export over another": ("export", "{k}/kitchen/out/tree"),
    "build": ("build", "--out", "{k}/kitchen/out/site"),
}
SAMPLED = ("export", "export over another", "build", "schema", "schema over another", "new")


def laid_out(project: Path, what: str, capsys: Any, monkeypatch: Any) -> list[str]:
    """The command's words, once what it needs is there."""
    words = [w.format(k=project.parent) for w in WRITING[what]]
    if what == "new in an empty folder":
        (project.parent / "empty").mkdir()
    if what == "add in a folder that isn't there":
        shutil.rmtree(project / "standards/processes")
    if what == "schema over another":
        (project / "out/kitchen.schema.json").write_text("{}\n")
    if words[0] not in ("new", "schema"):
        words += ["--project", str(project), "--as-of", AS_OF.isoformat()]
    if what in ("binder over another, recorded", "export over another", "build"):
        assert run(capsys, monkeypatch, *words)[0] == 0
        edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    return words


def refused(
    what: str, project: Path, words: list[str], disk: Disk, capsys: Any, monkeypatch: Any
) -> None:
    """One run on a disk that refuses: what it says, and that it changed nothing."""
    before = everything(project.parent)
    with pytest.MonkeyPatch.context() as patch:
        for _ in with_disk(patch, disk):
            status, said = run(capsys, monkeypatch, *words)
    at = f"{what}, {disk.at}: {disk.asked[disk.at - 1 : disk.at]}"
    if status == 0 and disk.asked[disk.at - 1] == "os.link" and not disk.stays:
        return  # a disk without second names: a copy is made instead
    assert status == 2, f"{at}: {status}: {said}"
    sentences = [line for line in said.splitlines() if line.startswith("kitchen-manual: ")]
    reported = [line for line in sentences if os.strerror(disk.number) in line]
    assert len(reported) == 1 and "everything is as it was" in reported[0], f"{at}: {said}"
    assert "Traceback" not in said and len(said) < 1200, f"{at}: {said}"
    after = everything(project.parent)
    changed = {n for n in before.keys() | after.keys() if before.get(n) != after.get(n)}
    assert not changed, f"{at}: {sorted(changed)[:5]}"


def faults(what: str, project: Path, capsys: Any, monkeypatch: Any, most: int | None) -> int:
    """Every command refused at each of its writes (or at ``most`` of them); returns how many. The
    kitchen is the same each time, and computed once: what is written of it is written each time."""
    words = laid_out(project, what, capsys, monkeypatch)
    monkeypatch.setattr("generator.cli.common.make_manual", functools.cache(make_manual))
    once: list[Any] = []
    fitted: list[Any] = []

    def fit_once(*asked: Any) -> Any:
        fitted[:] = fitted or [fit(*asked)]
        return fitted[0]

    monkeypatch.setattr("generator.cli.predicted_fit.fit", fit_once)

    def pages(manual: Any) -> Any:
        once[:] = once or [make_site_pages(manual)]
        return list(once[0])

    for module in ("plugin", "exporting"):
        monkeypatch.setattr(f"generator.site.{module}.make_site_pages", pages)
    kept = project.parent.with_name("kept")
    shutil.copytree(project.parent, kept, symlinks=True)
    counting = Disk(project.parent)
    with pytest.MonkeyPatch.context() as patch:
        for _ in with_disk(patch, counting):
            assert run(capsys, monkeypatch, *words)[0] == 0
    total = len(counting.asked)
    assert total >= 3
    shutil.rmtree(project.parent)
    shutil.copytree(kept, project.parent, symlinks=True)
    step = max(1, total // most) if most else 1
    places = sorted({*range(1, total + 1, step), total}) if most else list(range(1, total + 1))
    for n in places:
        number = (errno.ENOSPC, errno.EACCES, errno.EIO)[n % 3]
        refused(what, project, words, Disk(project.parent, n, number), capsys, monkeypatch)
        if counting.asked[n - 1] == "os.link":
            shutil.rmtree(project.parent)
            shutil.copytree(kept, project.parent, symlinks=True)
    full = Disk(project.parent, max(1, total // 2), errno.ENOSPC, stays=True)
    if "write" in counting.asked[full.at - 1 :] or "open" in counting.asked[full.at - 1 :]:
        refused(what, project, words, full, capsys, monkeypatch)
    locked = Disk(project.parent, 1, errno.EROFS, stays=True)
    refused(what, project, words, locked, capsys, monkeypatch)
    assert run(capsys, monkeypatch, *words)[0] == 0, "the same command, given again"
    return len(places) + 2


@pytest.mark.parametrize("what", WRITING)
def test_a_fault_at_a_write_changes_nothing(
    what: str, project: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    many = faults(what, project, capsys, monkeypatch, 3)
    assert many >= 5


@pytest.mark.slow
@pytest.mark.parametrize("what", WRITING)
def test_a_fault_at_each_write_changes_nothing(
    what: str, project: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    most = 120 if what in SAMPLED else None
    many = faults(what, project, capsys, monkeypatch, most)
    with capsys.disabled():
        print(f"\n{what}: {many} faults injected")


# ---- a disk that is full, a limit on the size of a file


@pytest.mark.parametrize("size", [900, 20_000])
@pytest.mark.parametrize("what", ["new", "add", "schema", "binder", "labels", "export", "build"])
def test_a_file_that_may_not_grow_changes_nothing(
    what: str,
    size: int,
    project: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The system's own limit on a file's size (RLIMIT_FSIZE): the write itself fails, in whoever's
    code."""
    resource = pytest.importorskip("resource")
    words = laid_out(project, what, capsys, monkeypatch)
    before = everything(project.parent)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        monkeypatch.setattr(sys, "argv", ["kitchen-manual", *words])
        try:
            main()
            status: Any = 0
        except SystemExit as ended:
            status = ended.code
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    said = capsys.readouterr().err
    if status == 0 or status is None:
        assert size > 0, "all its files are smaller"
        return
    assert status == 2, said
    assert said.count("everything is as it was") == 1 and "Traceback" not in said
    assert everything(project.parent) == before


def test_a_full_disk_changes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A real one of 256 kB, where this machine lets us mount it."""
    small = tmp_path / "small"
    small.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "none", str(small)],
        capture_output=True,
        check=False,
    )
    if made.returncode:
        pytest.skip("no right to mount a disk here; the injected faults stand in")
    try:
        project = small / "kitchen"
        shutil.copytree(BASE, project)
        filler = small / "filler"
        with pytest.raises(OSError, match="No space"), filler.open("wb", buffering=0) as file:
            while True:
                file.write(b"x" * 4096)
        filler.write_bytes(filler.read_bytes()[:-8192])
        before = everything(small)
        options = ("--project", str(project), "--as-of", AS_OF.isoformat())
        for words in (
            ("new", str(small / "other")),
            ("schema", "--out", str(small / "schemas")),
            ("export", str(small / "tree"), *options),
            ("binder", "pass", "--out", str(small / "b.pdf"), "--register", *options),
            (
                "labels",
                "pork-bake",
                "--made",
                "2026-11-24",
                "--out",
                str(small / "l.pdf"),
                *options,
            ),
            ("build", *options),
        ):
            status, said = run(capsys, monkeypatch, *words)
            assert status == 2 and "No space left on device" in said, (words, said)
            assert everything(small) == before, words
    finally:
        subprocess.run(["umount", str(small)], check=True)


# ---- what can't be read


@pytest.mark.parametrize("file", ["mkdocs.yml", "pages/hand.md", "log.csv"])
def test_a_file_that_cannot_be_read_is_named(
    file: str, project: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (project / "pages/hand.md").write_text("# Ours\n")
    path = project / file
    words = ["build"]
    if file == "log.csv":
        words = ["review", str(path), "--formula", "pork-bake", "--step", "chill"]
    opened = open

    def barred(name: Any, *more: Any, **options: Any) -> Any:
        if isinstance(name, (str, os.PathLike)) and Path(name) == path:
            raise PermissionError(errno.EACCES, "Permission denied", str(name))
        return opened(name, *more, **options)

    monkeypatch.setattr("builtins.open", barred)
    monkeypatch.setattr("io.open", barred)
    status, said = run(
        capsys, monkeypatch, *words, "--project", str(project), "--as-of", AS_OF.isoformat()
    )
    assert status in ((1, 2) if file == "log.csv" else (2,)), said
    assert path.name in said and "Permission denied" in said and "Traceback" not in said
    assert not (project / "site").exists()


def test_a_standard_that_cannot_be_read_is_status_2(
    project: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = os.open

    def barred(path: object, *flags: object, **more: object) -> int:
        if str(path).endswith("pork-bake.yaml"):
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return opened(path, *flags, **more)  # type: ignore[call-overload, no-any-return]

    monkeypatch.setattr(os, "open", barred)
    options = ("--project", str(project), "--as-of", AS_OF.isoformat())
    for words in (("check",), ("build",), ("batch", "pork-bake"), ("export", str(project / "t"))):
        status, said = run(capsys, monkeypatch, *words, *options)
        assert status == 2, (words, said)
    edit(project, "formulas/rice-salad.yaml", "[20 portions, 40 portions]", "[20]")
    assert run(capsys, monkeypatch, "check", *options)[0] == 1, "an error of its own as well"


# ---- standard output and standard error


def shell(project: Path, words: str, ends: str) -> subprocess.CompletedProcess[str]:
    """The command in a shell, its streams as ``ends`` say; PIPESTATUS of the command on stdout's
    end."""
    command = f'"{sys.executable}" -c "{COMMAND[2]}" {words} {ends}'
    return subprocess.run(
        ["bash", "-c", command],
        capture_output=True,
        text=True,
        cwd=project,
        check=False,
        env={
            **os.environ,
            "NO_COLOR": "1",
            "PYTHONPATH": os.pathsep.join(
                p for p in (str(ROOT), os.environ.get("PYTHONPATH", "")) if p
            ),
        },
    )


ANSWERING = ("check", "data pork-bake", "--help", "explain amount-without-unit")
PLACES = (">/dev/full", ">&-")


@pytest.mark.parametrize(
    ("words", "ends"),
    [
        pytest.param(words, ends, marks=() if (n + m) % 2 == 0 else pytest.mark.slow)
        for n, words in enumerate(ANSWERING)
        for m, ends in enumerate(PLACES)
    ],
)
def test_an_answer_with_no_place_is_status_2_and_one_sentence(
    project: Path, words: str, ends: str
) -> None:
    done = shell(project, words, ends)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1 and "the answer can't be written" in done.stderr


@pytest.mark.parametrize("broken", [False, True])
def test_a_reader_that_has_read_enough_is_no_fault(project: Path, broken: bool) -> None:
    """`| head`: nothing on standard error, and the status the command would have had."""
    if broken:
        edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    words = "check --format json" if broken else "data pork-bake"
    done = shell(project, words, "| head -c 1; exit ${PIPESTATUS[0]}")
    assert (done.returncode, done.stderr) == (int(broken), "")


@pytest.mark.parametrize("ends", ["2>/dev/full", "2>&-"])
def test_without_standard_error_the_status_still_reports(project: Path, ends: str) -> None:
    edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    assert shell(project, "batch pork-bake", ends).returncode == 1


def test_one_file_for_plot_and_record_is_refused(
    project: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    both = str(project / "both")
    words = (
        "review",
        str(project / "log.csv"),
        "--formula",
        "pork-bake",
        "--step",
        "chill",
        "--plot",
        both,
        "--out",
        both,
    )
    status, said = run(
        capsys, monkeypatch, *words, "--project", str(project), "--as-of", "2026-11-25"
    )
    assert status == 2 and "name one file" in said and not Path(both).exists()


# ---- the pieces


def test_files_are_written_together_or_not_at_all(tmp_path: Path) -> None:
    first, second = tmp_path / "a", tmp_path / "no" / "b"
    first.write_text("before")
    first.chmod(0o640)
    with pytest.raises(Refused, match="everything is as it was"):
        write_together({first: b"after", second: b"after"})
    assert first.read_text() == "before"
    write_together({first: b"after", tmp_path / "b": b"after"})
    assert first.read_text() == "after" and first.stat().st_mode & 0o777 == 0o640
    with pytest.raises(Refused):
        write_together({tmp_path / "c": b"new", tmp_path / "b": b"again"}, fresh=True)
    assert not (tmp_path / "c").exists() and (tmp_path / "b").read_text() == "after"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "b"]


def test_what_is_no_file_is_never_replaced(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    (tmp_path / "round").symlink_to("round")
    for name in ("pipe", "folder", "round"):
        with pytest.raises(Refused):
            write_together({tmp_path / name: b"x"})
    with pytest.raises(Refused, match="not a file"):
        write_together({Path("/dev/null"): b"x"})
    assert not Path("/dev/null").is_file()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder", "pipe", "round"]


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("before")
    (tmp_path / "link").symlink_to("real")
    (tmp_path / "nowhere").symlink_to("later")
    write_together({tmp_path / "link": b"after", tmp_path / "nowhere": b"made"})
    assert (tmp_path / "link").is_symlink() and (tmp_path / "real").read_text() == "after"
    assert (tmp_path / "nowhere").is_symlink() and (tmp_path / "later").read_text() == "made"


def test_a_folder_under_a_file_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(OSError):
        made_folder(tmp_path / "file" / "a" / "b")
    assert everything(tmp_path) == {"file": b"x"}
    assert [p.name for p in made_folder(tmp_path / "a" / "b")] == ["b", "a"]

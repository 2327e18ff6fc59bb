"""The folder of kept results: torn, foreign, full, read-only or shared, it costs time, never truth."""

from __future__ import annotations

import errno
import os
import pickle
import stat
import sys
import threading
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF, lay

from generator.cli.building import build
from generator.files import kept as module
from generator.files.kept import ASKED, OFF, Kept, hash_of, kept_of, usual_folder
from generator.sheet.manual import Manual, make_manual
from generator.sheet.packing import Names

pytestmark = pytest.mark.usefixtures("made_anew")


def asked(kept: Kept, key: str, made: list[str], value: str = "what was made") -> str:
    """The value of a key; ``made`` gets the keys that had to be made."""

    def make() -> str:
        made.append(key)
        return value

    return kept.of(key, make, str.encode, bytes.decode)


def test_what_is_kept_is_made_once(tmp_path: Path) -> None:
    made: list[str] = []
    for _ in range(2):
        kept = Kept(tmp_path / "kept")
        assert asked(kept, "a", made) == "what was made"
        kept.tidied()
    assert made == ["a"] and kept.used == 1 and not kept.words
    assert asked(Kept(tmp_path / "kept"), "b", made, "other") == "other"
    assert asked(Kept(tmp_path / "kept"), "", made) == "what was made", (
        "without a key nothing is kept"
    )
    assert made == ["a", "b", ""]


def test_the_folder_is_this_users_alone(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "one" / "kept")
    asked(kept, "a", [])
    kept.tidied()
    assert stat.S_IMODE((tmp_path / "one" / "kept").stat().st_mode) == 0o700
    (file,) = (tmp_path / "one" / "kept").iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


@pytest.mark.parametrize("cut", [0, 1, 6, 7, 20, 38, 39, 45, -1])
def test_a_torn_file_counts_as_not_there(tmp_path: Path, cut: int) -> None:
    made: list[str] = []
    asked(Kept(tmp_path / "kept"), "a", made)
    (file,) = (tmp_path / "kept").iterdir()
    file.write_bytes(file.read_bytes()[:cut])
    assert asked(Kept(tmp_path / "kept"), "a", made) == "what was made"
    assert made == ["a", "a"]
    assert asked(Kept(tmp_path / "kept"), "a", made) == "what was made", "it is written whole again"
    assert made == ["a", "a"]


def test_each_byte_that_changes_is_seen(tmp_path: Path) -> None:
    asked(Kept(tmp_path / "kept"), "a", [])
    (file,) = (tmp_path / "kept").iterdir()
    whole = file.read_bytes()
    for at in range(len(whole)):
        file.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        made: list[str] = []
        assert asked(Kept(tmp_path / "kept"), "a", made) == "what was made"
        assert made == ["a"], f"byte {at} was believed"


def test_a_file_under_anothers_name_is_not_believed(tmp_path: Path) -> None:
    asked(Kept(tmp_path / "kept"), "a", [], "of a")
    (file,) = (tmp_path / "kept").iterdir()
    file.rename(file.with_name(hash_of("b")))
    assert asked(Kept(tmp_path / "kept"), "b", [], "of b") == "of b"


def test_a_link_a_folder_and_a_pipe_in_a_files_place(tmp_path: Path) -> None:
    asked(Kept(tmp_path / "kept"), "a", [], "old")
    (file,) = (tmp_path / "kept").iterdir()
    away = tmp_path / "away"
    file.rename(away)
    for put in (lambda: file.symlink_to(away), file.mkdir, lambda: os.mkfifo(file)):
        put()
        assert asked(Kept(tmp_path / "kept"), "a", [], "new") == "new"
        if file.is_dir() and not file.is_symlink():
            file.rmdir()
        else:
            file.unlink()


def test_a_linked_folder_is_not_used(tmp_path: Path) -> None:
    (tmp_path / "away").mkdir(mode=0o700)
    (tmp_path / "kept").symlink_to(tmp_path / "away")
    kept = Kept(tmp_path / "kept")
    assert asked(kept, "a", []) == "what was made"
    assert kept.words == f"{tmp_path / 'kept'} is a link. Nothing is kept there."
    assert not list((tmp_path / "away").iterdir())


@pytest.mark.parametrize("mode", [0o777, 0o770, 0o1777, 0o720, 0o702])
def test_a_folder_others_may_write_is_not_used(tmp_path: Path, mode: int) -> None:
    (tmp_path / "kept").mkdir()
    (tmp_path / "kept").chmod(mode)
    kept = Kept(tmp_path / "kept")
    assert asked(kept, "a", []) == "what was made"
    assert kept.words.endswith("may be written by others. Nothing is kept there.")
    assert not list((tmp_path / "kept").iterdir())


def test_a_folder_of_somebody_else_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked(Kept(tmp_path / "kept"), "a", [], "old")
    other = os.getuid() + 1
    monkeypatch.setattr(module.os, "getuid", lambda: other)
    kept = Kept(tmp_path / "kept")
    assert asked(kept, "a", [], "new") == "new"
    assert kept.words.endswith("belongs to somebody else. Nothing is kept there.")


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EDQUOT, errno.EIO])
@pytest.mark.parametrize("call", ["open", "rename", "write"])
def test_a_disk_that_refuses_costs_the_keeping_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, call: str
) -> None:
    kept = Kept(tmp_path / "kept")
    asked(kept, "a", [])
    true = getattr(os, "fdopen" if call == "write" else call)

    class Full:
        def __init__(self, file: Any) -> None:
            self.file = file

        def __enter__(self) -> Full:
            return self

        def __exit__(self, *_: object) -> None:
            self.file.close()

        def write(self, data: bytes) -> None:
            self.file.write(data[:9])
            raise OSError(number, os.strerror(number))

    def refuse(*given: Any, **more: Any) -> Any:
        if call == "write":
            return Full(true(*given, **more)) if given[1] == "wb" else true(*given, **more)
        if call == "rename" or given[1] & os.O_CREAT:
            raise OSError(number, os.strerror(number))
        return true(*given, **more)

    monkeypatch.setattr(module.os, "fdopen" if call == "write" else call, refuse)
    assert asked(kept, "b", [], "made") == "made"
    assert os.strerror(number) in kept.words
    monkeypatch.undo()
    assert asked(kept, "c", [], "after") == "after", "and once is enough: it is not tried again"
    assert len(list((tmp_path / "kept").iterdir())) == 1, "nothing half-written stays"


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    kept = Kept(tmp_path / "file" / "kept")
    assert asked(kept, "a", []) == "what was made"
    assert kept.words.startswith(f"{tmp_path / 'file' / 'kept'} can't be used: ")


def test_two_runs_at_once(tmp_path: Path) -> None:
    """Eight at a time, over the same keys, each deleting what it thinks nobody needs."""
    wrong: list[str] = []

    def work(number: int) -> None:
        for turn in range(10):
            kept = Kept(tmp_path / "kept")
            for key in map(str, range(number, number + 12)):
                if asked(kept, key, [], f"of {key}") != f"of {key}":
                    wrong.append(f"{number}, {turn}: {key}")
            kept.tidied()

    threads = [threading.Thread(target=work, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert {f.name for f in (tmp_path / "kept").iterdir()} <= {hash_of(str(n)) for n in range(20)}


def test_what_nobody_asks_for_goes(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "kept")
    for n in range(420):
        asked(kept, str(n), [])
    kept.tidied()
    kept = Kept(tmp_path / "kept")
    asked(kept, "5", made := [])
    kept.tidied()
    left = {f.name for f in (tmp_path / "kept").iterdir()}
    assert not made and hash_of("5") in left
    assert len(left) == 301, "what was asked for, and three times a hundred"
    for file in (tmp_path / "kept").iterdir():
        os.utime(file, (1, 1))
    asked(kept, "5", made)
    kept.tidied()
    assert [f.name for f in (tmp_path / "kept").iterdir()] == [hash_of("5")]


def test_what_a_process_remembers_is_forgotten_two_runs_later() -> None:
    kept, made = Kept(remembers=True), list[str]()
    for _ in range(3):
        kept.turned()
        asked(kept, "a", made)
    assert made == ["a"]
    kept.turned()
    kept.turned()
    asked(kept, "a", made)
    assert made == ["a", "a"]


def test_where_it_lies() -> None:
    assert usual_folder({ASKED: OFF}) is None
    assert usual_folder({ASKED: "/somewhere"}) == Path("/somewhere")
    assert usual_folder({"XDG_CACHE_HOME": "/x"}) == Path("/x/kitchen-manual")
    found = usual_folder({"XDG_CACHE_HOME": "relative"})
    assert found is not None and found.is_absolute(), "a relative folder is none (XDG, 0.8)"


def test_each_project_has_a_folder_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(ASKED, str(tmp_path / "kept"))
    one, other = kept_of(tmp_path / "a"), kept_of(tmp_path / "b")
    assert one.folder != other.folder and one.folder is not None
    assert one.folder.parent == tmp_path / "kept"


class _Evil:
    """What a pickle can do to whoever reads it."""

    def __init__(self, call: Any, *given: Any) -> None:
        self.reduced = call, given

    def __reduce__(self) -> Any:
        return self.reduced


def test_bytes_from_elsewhere_call_nothing(tmp_path: Path) -> None:
    manual = make_manual(lay("base", tmp_path / "k"), AS_OF)
    assert isinstance(manual, Manual)
    names = Names(manual.house, {})
    formula = manual.walks["pork-bake"].formula
    target = tmp_path / "was-here"
    evil = [
        _Evil(os.mkdir, str(target)),
        _Evil(os.system, f"touch {target}"),
        _Evil(eval, f"open({str(target)!r}, 'w')"),
        _Evil(getattr, os, "mkdir"),
        _Evil(Path),
        _Evil(kept_of, Path(tmp_path)),
        _Evil(sys.exit, 3),
        build,
    ]
    for one in evil:
        try:
            data = pickle.dumps(one)
        except (pickle.PicklingError, TypeError, AttributeError):
            continue
        with pytest.raises(ValueError, match=r"^|."):
            names.unpacked(formula, {}, data)
    for junk in (b"", b"x", b"\x80\x05", pickle.dumps(None)[:-1]):
        with pytest.raises(ValueError, match=r"^|."):
            names.unpacked(formula, {}, junk)
    assert not target.exists()


def test_a_sheet_comes_back_as_it_was(tmp_path: Path) -> None:
    """What is read anew is the very thing that was read; all else is equal."""
    project = lay("base", tmp_path / "k")
    first = make_manual(project, AS_OF, kept=Kept(tmp_path / "kept"))
    kept = Kept(tmp_path / "kept")
    again = make_manual(project, AS_OF, kept=kept)
    assert isinstance(first, Manual) and isinstance(again, Manual)
    assert kept.used == 2 * len(first.sheets), "each walk and each sheet was kept"
    assert first.walks == again.walks and first.sheets == again.sheets
    sheet = again.sheets["pork-bake"]
    assert sheet.house is again.house and sheet.walk is again.walks["pork-bake"]
    assert sheet.formula.vessel is again.standards.equipment["dish"]
    assert sheet.batches[0].lines[0].line is sheet.walk.lines[0]
    assert sheet.walk.findings == first.walks["pork-bake"].findings

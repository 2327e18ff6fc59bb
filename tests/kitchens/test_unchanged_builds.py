"""A build of what was built already says it again and touches nothing; whatever differs, in what
goes in or in the site's folder, is built whole. The oracle is a build without a cache."""

from __future__ import annotations

import datetime
import os
import random
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from commands import DONE, run
from conftest import AS_OF
from test_kept_builds import EDITS, Kitchen, with_a_site

from generator.cli.common import manual_of as true_manual_of
from generator.files.kept import ASKED, hash_of, kept_of
from generator.files.looked_at import Unsure, marks_below
from generator.reference.shared_data import folder_for
from generator.site import unchanged
from generator.site.drawn import PURE
from generator.site.linked import Left
from generator.site.publish import PublishError, _config
from generator.site.served import ours_alone
from generator.site.unchanged import Asked, Built, Last

pytestmark = pytest.mark.usefixtures("made_anew")
DAY = "2026-11-25"


@pytest.fixture
def cached(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache of the test's own."""
    monkeypatch.setenv(ASKED, str(tmp_path / "cache"))
    return tmp_path / "cache"


def built(project: Path, *words: str) -> tuple[DONE[str], bool]:
    """A build, and whether the site's folder is another one."""
    site = project / "site"
    before = site.stat().st_ino if site.is_dir() else None
    said = run(project, "build", *words)
    return said, not site.is_dir() or site.stat().st_ino != before


def bytes_in(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


def looked(project: Path, **more: object) -> Built | None:
    """What a build asked for so would find unchanged."""
    asked = {
        "project": project,
        "reference": folder_for(project),
        "target": project / "site",
        "as_of": AS_OF,
        "strict": False,
        "offline": True,
        **more,
    }
    return Last(kept_of(project), Asked(**asked)).unchanged()  # type: ignore[arg-type]


def with_warnings(folder: Path) -> Path:
    """A kitchen with a site, a warning, and a page by hand whose link leads nowhere."""
    project = with_a_site(folder)
    (project / "pages/other.md").write_text("# Other\n\n[gone](nowhere.md)\n", encoding="utf-8")
    (project / "standards/formulas/lost.txt").write_text("x", encoding="utf-8")
    (project / "standards/lost.yaml").write_text("x: 1\n", encoding="utf-8")
    return project


def test_a_second_build_says_it_again_and_touches_nothing(tmp_path: Path, cached: Path) -> None:
    """Its day is as good as the option that names it: what is computed hangs on the day alone, but
    what was asked in other words is built whole."""
    project = with_warnings(tmp_path / "k")
    first, _ = built(project)
    marks = marks_below(project / "site")
    kept = {p: p.stat().st_mtime_ns for p in cached.rglob("*")}
    second, anew = built(project)
    assert not anew and marks_below(project / "site") == marks
    assert {p: p.stat().st_mtime_ns for p in cached.rglob("*")} == kept, "and keeps nothing new"
    assert second.returncode == first.returncode == 0
    assert second.stdout == first.stdout and first.stdout.endswith(f"pages in {project}/site\n")
    assert second.stderr == first.stderr
    assert "nowhere.md" in first.stderr and "lost.yaml" in first.stderr
    assert "lost.txt" not in first.stderr, "a note is for check"


def test_a_file_of_the_site_that_isnt_as_it_was_written(tmp_path: Path, cached: Path) -> None:
    """Written over with as many bytes and its old time, gone, or one more: all is built anew, and
    what somebody put there is kept."""
    project = with_a_site(tmp_path / "k")
    built(project)
    page = project / "site/pass/rice-salad/index.html"
    was, times = page.read_bytes(), page.stat()
    page.write_bytes(was.replace(b"salad", b"sabad"))
    os.utime(page, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert looked(project) is None
    _, anew = built(project)
    assert anew and page.read_bytes() == was
    page.unlink()
    _, anew = built(project)
    assert anew and page.read_bytes() == was
    (project / "site/CNAME").write_text("kitchen.example\n", encoding="utf-8")
    first, anew = built(project)
    assert anew and "1 file that no build made: CNAME" in first.stderr
    second, anew = built(project)
    assert not anew and "no build made" not in second.stderr, "it was said once"
    assert (project / "site/CNAME").is_file()


_FORMULA = "standards/formulas/rice-salad.yaml"


def put(name: str, text: str = "x: 1\n") -> Callable[[Path], None]:
    """A file that is written where none was."""

    def edit(project: Path) -> None:
        (project / name).parent.mkdir(exist_ok=True)
        (project / name).write_text(text, encoding="utf-8")

    return edit


def same_size(project: Path) -> None:
    """Another figure, as many bytes, the old time."""
    path = project / _FORMULA
    text, times = path.read_text(encoding="utf-8"), path.stat()
    path.write_text(text.replace("2 kg", "3 kg"), encoding="utf-8")
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))


def linked(project: Path) -> None:
    away = project.parent / "away.yaml"
    (project / _FORMULA).rename(away)
    (project / _FORMULA).symlink_to(away)


INPUTS: dict[str, Callable[[Path], None]] = {
    "a weight": same_size,
    "a file more": put("standards/formulas/new.yaml"),
    "a note nobody reads": put("standards/notes.txt"),
    "a page by hand": put("pages/new.md", "# New\n"),
    "a picture": put("pages/p/one.png", "no picture"),
    "an empty folder": lambda project: (project / "standards/plans").mkdir(),
    "a file gone": lambda project: (project / _FORMULA).unlink(),
    "another name": lambda project: (project / _FORMULA).rename(
        project / "standards/formulas/rice.yaml"
    ),
    "the site's settings": lambda project: (project / "mkdocs.yml").write_text(
        (project / "mkdocs.yml").read_text("utf-8") + "# more\n", encoding="utf-8"
    ),
    "a link": linked,
    "its own reference data": lambda project: _with_its_own(project),
    "another run under way": lambda project: (project / ".site-abcd1234").mkdir(),
}


def _with_its_own(project: Path) -> None:
    (project / "shared/limits").mkdir(parents=True)
    (project / "shared/units.yaml").write_text("x", encoding="utf-8")


def restored(project: Path, files: dict[str, bytes]) -> None:
    """The files of a project but its site as they were."""
    for path in sorted(project.rglob("*"), reverse=True):
        name = path.relative_to(project).as_posix()
        if name.split("/")[0] == "site":
            continue
        if path.is_symlink() or (path.is_file() and name not in files):
            path.unlink()
        elif path.is_dir() and not any(n.startswith(f"{name}/") for n in files):
            path.rmdir()
    for name, data in files.items():
        (project / name).write_bytes(data)


def test_whatever_goes_in_is_looked_at_by_its_content(
    tmp_path: Path, cached: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each edit is seen, and none is left once the files are as they were, whatever their times."""
    project = with_a_site(tmp_path / "k")
    (project / "standards/office").mkdir()
    (project / "standards/office/prices.yaml").write_text("x", encoding="utf-8")
    built(project)
    assert looked(project) is not None
    files = {n: b for n, b in bytes_in(project).items() if not n.startswith("site/")}
    for name, edit in INPUTS.items():
        edit(project)
        assert looked(project) is None, name
        restored(project, files)
        assert looked(project) is not None, f"{name}, taken back"
    (project / "standards/office/prices.yaml").write_text("other", encoding="utf-8")
    assert looked(project) is not None, "prices are never opened"
    for option in (
        {"strict": True},
        {"offline": False},
        {"as_of": AS_OF + datetime.timedelta(days=1)},
        {"as_of": None},
        {"target": project / "other"},
    ):
        assert looked(project, **option) is None, option
    for name in ("SOURCE_DATE_EPOCH", "GIT_DIR"):
        with monkeypatch.context() as patch:
            patch.setenv(name, "1")
            assert looked(project) is None, name
    with monkeypatch.context() as patch:
        patch.setattr(unchanged, "program_hash", lambda: "another program")
        assert looked(project) is None
    with monkeypatch.context() as patch:
        patch.setattr(unchanged, "version", lambda name: "9.9")
        assert looked(project) is None, "another builder"


def test_midnight_in_the_kitchen_ends_it(
    tmp_path: Path, cached: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a day the kitchen's own counts, by the clocks of its zone."""
    project = with_a_site(tmp_path / "k")
    built(project)
    found = looked(project)
    assert found is not None and found.zone == "America/New_York" and found.day == DAY
    last = Last(kept_of(project), _asked(project, None))
    last.built = Built(**{**vars(found), "asked": last._words})

    class Clock(datetime.datetime):
        at = datetime.datetime(2026, 11, 26, 4, 59, tzinfo=datetime.UTC)

        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> Clock:  # type: ignore[override]
            return cls.fromtimestamp(cls.at.timestamp(), tz)

    monkeypatch.setattr(unchanged.datetime, "datetime", Clock)
    assert last.unchanged() is not None, "a minute before midnight in the kitchen"
    Clock.at += datetime.timedelta(minutes=1)
    assert last.unchanged() is None


def _asked(project: Path, day: datetime.date | None) -> Asked:
    return Asked(project, folder_for(project), project / "site", day, False, True)


def test_git_has_its_say(tmp_path: Path, cached: Path) -> None:
    """A commit changes no file, and what the manual says of its day and its revisions."""
    project = with_a_site(tmp_path / "k")
    built(project)
    assert looked(project) is not None
    words = ["git", "-c", "user.name=A", "-c", "user.email=a@example.org"]
    for more in (["init", "-q"], ["add", "standards"], ["commit", "-q", "-m", "all"]):
        subprocess.run([*words, *more], cwd=project, check=True)
    assert looked(project) is None
    built(project)
    assert looked(project) is not None
    subprocess.run(
        [*words, "commit", "-q", "--amend", "-m", "all", "--date", "2020-01-01T00:00:00"],
        cwd=project,
        check=True,
    )
    assert looked(project) is None


@pytest.mark.parametrize(
    ("text", "files"),
    [
        ("hooks: [hook.py]\n", {"hook.py": "def on_files(files, config): return files\n"}),
        ("theme: {name: material, custom_dir: over}\n", {"over/x.txt": "x"}),
        ("extra: {a: !ENV [NOBODY_SET_IT, b]}\n", {}),
        ("markdown_extensions: [markdown.extensions.codehilite]\n", {}),
    ],
)
def test_what_is_taken_from_elsewhere_is_built_whole(
    tmp_path: Path, cached: Path, text: str, files: dict[str, str]
) -> None:
    project = with_a_site(tmp_path / "k")
    plain = (project / "mkdocs.yml").read_text(encoding="utf-8")
    key = text.partition(":")[0]
    entry = re.compile(rf"(?m)^{key}:.*\n(?:[ -].*\n)*")
    (project / "mkdocs.yml").write_text(f"{entry.sub('', plain)}\n{text}", encoding="utf-8")
    for name, content in files.items():
        (project / name).parent.mkdir(exist_ok=True)
        (project / name).write_text(content, encoding="utf-8")
    assert _known(project) is False
    (project / "mkdocs.yml").write_text(plain, encoding="utf-8")
    assert _known(project) is True


def _known(project: Path) -> bool:
    """Whether the settings of a site are all told by the files looked at."""
    last = Last(kept_of(project), _asked(project, AS_OF))
    last.begins()
    config, _ = _config(project)
    last.configured(config, PURE, ours_alone(config))
    return last.can_tell


def test_what_changes_while_it_is_built_is_not_believed(
    tmp_path: Path, cached: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file saved during a build, even if it is put back at once, and a site somebody else swapped
    in meanwhile."""
    project = with_a_site(tmp_path / "k")
    path = project / _FORMULA
    text = path.read_text(encoding="utf-8")

    def saved_meanwhile(*given: object, **more: object) -> object:
        path.write_text(text.replace("2 kg", "3 kg"), encoding="utf-8")
        try:
            return true_manual_of(*given, **more)  # type: ignore[arg-type]
        finally:
            path.write_text(text, encoding="utf-8")

    with monkeypatch.context() as patch:
        patch.setattr("generator.cli.built_whole.manual_of", saved_meanwhile)
        built(project)
    assert looked(project) is None
    built(project)
    assert looked(project) is not None
    last = Last(kept_of(project), _asked(project, AS_OF))
    last.begins()
    last.made(project / "site", {}, b"")
    (project / "site/pass/index.html").unlink()
    last.ended(AS_OF, "UTC", [], [], 1)
    assert looked(project) is None


@pytest.mark.parametrize("cut", [0, 7, 60, -2])
def test_a_torn_state_is_none(tmp_path: Path, cached: Path, cut: int) -> None:
    project = with_a_site(tmp_path / "k")
    kept = kept_of(project)
    assert kept.folder is not None
    asked = _asked(project, AS_OF)
    state = Built("a", "b", "c", "d", "e", "f", [], [("log", 30, "w")], 1, {"x": (1, 2, 3, 4)})
    last = Last(kept, asked)
    kept.put(last._key, state.written)
    assert Last(kept, asked).built == state
    (file,) = kept.folder.iterdir()
    file.write_bytes(file.read_bytes()[:cut])
    assert Last(kept, asked).built is None
    for data in (b"", b"[]", b"{}", b'{"asked": 1}', state.written.replace(b"[1,2,3,4]", b"[1]")):
        kept.put(last._key, data)
        assert Last(kept, asked).built is None


def test_what_the_disk_says_of_files(tmp_path: Path) -> None:
    """Each way to change a folder is seen; a file that is being changed now is waited for."""
    top = tmp_path / "top"
    (top / "a").mkdir(parents=True)
    for name in ("a/one", "a/two", "three"):
        (top / name).write_text(name, encoding="utf-8")
    before = marks_below(top)
    assert marks_below(top) == before and set(before) == {"a", "a/one", "a/two", "three"}
    times = (top / "a/one").stat()
    ways: list[Callable[[], object]] = [
        lambda: (top / "a/one").write_text("a/oee", encoding="utf-8"),
        lambda: os.utime(top / "a/one", ns=(times.st_atime_ns, times.st_mtime_ns)),
        lambda: (top / "a/one").chmod(0o600),
        lambda: (top / "empty").mkdir(),
        lambda: (top / "link").symlink_to("three"),
        lambda: (top / "a/two").rename(top / "a/2"),
        lambda: (top / "three").unlink(),
        lambda: (top / "three").write_text("three", encoding="utf-8"),
    ]
    for way in ways:
        way()
        after = marks_below(top)
        assert after != before
        before = after
    with pytest.raises(Unsure):
        marks_below(top, links=False)
    assert marks_below(tmp_path / "nothing") == {}


def page_of(site: Path, name: str) -> Path:
    (found,) = site.rglob(f"{name}/index.html")
    return found


def test_an_edit_writes_what_changed_and_names_the_rest_again(
    tmp_path: Path, cached: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Most files are the very ones of the last site; where the disk gives no second name they are
    copied; a build that fails leaves the old site as it was, to the byte."""
    project = with_a_site(tmp_path / "k")
    (project / "pages/sw.js").write_text("// a worker of their own\n", encoding="utf-8")
    (project / "pages/404.html").write_text("a page of their own\n", encoding="utf-8")
    site, salad = project / "site", project / _FORMULA
    built(project)
    text = salad.read_text(encoding="utf-8")

    def edited(weight: str, clean: bool = True) -> set[str]:
        """The files that are new, after a build that is as a clean one."""
        salad.write_text(text.replace("2 kg", weight), encoding="utf-8")
        numbers = {p.stat().st_ino: p for p in site.rglob("*") if p.is_file()}
        said, anew = built(project)
        assert anew and said.returncode == 0, said.stderr
        if clean:
            run(project, "build", "--no-cache", "--out", str(tmp_path / "clean"))
            assert bytes_in(site) == bytes_in(tmp_path / "clean")
        files = [p for p in site.rglob("*") if p.is_file()]
        return {p.relative_to(site).as_posix() for p in files if p.stat().st_ino not in numbers}

    new = edited("2.5 kg")
    files = {p.relative_to(site).as_posix() for p in site.rglob("*") if p.is_file()}
    assert page_of(site, "rice-salad").relative_to(site).as_posix() in new
    assert page_of(site, "house-spice").relative_to(site).as_posix() not in new
    assert {"index.html", "404.html", "sw.js", "saved.json"} <= new
    assert len(new) < len(files) / 2, sorted(new)
    before = bytes_in(site)
    with monkeypatch.context() as patch:
        patch.setattr("generator.site.publish.verify", _refuses)
        salad.write_text(text.replace("2 kg", "2.6 kg"), encoding="utf-8")
        failed, anew = built(project)
    assert failed.returncode == 1 and not anew and bytes_in(site) == before

    def no_link(*given: object) -> None:
        raise OSError(1, "no second names here")

    with monkeypatch.context() as patch:
        patch.setattr("generator.site.owned.os.link", no_link)
        assert edited("2.7 kg", clean=False) == files
    assert looked(project) is not None, "what was copied is known as well"
    assert bytes_in(site).keys() == before.keys()


def _refuses(*given: object) -> None:
    raise PublishError("no")


def test_what_another_build_left_is_not_believed(tmp_path: Path, cached: Path) -> None:
    """The pages kept beside belong to one build; those of another that was faster don't count."""
    project = with_a_site(tmp_path / "k")
    built(project)
    last = Last(kept_of(project), _asked(project, AS_OF))
    last.begins()
    left = last.left(Left.read)
    assert left is not None and len(left.pages) > 20 and Left.read(left.written) == left
    kept_of(project).put(hash_of("left", last._key), Left({}, {"a": "b"}, {}).written)
    assert last.left(Left.read) is None
    for junk in (b"", b"[]", b"{}", b'{"pages": {"a": ["b", 1]}, "stamps": []}'):
        with pytest.raises(ValueError, match=r"^|."):
            Left.read(junk)


def hand(k: Kitchen) -> None:
    """Somebody edits a file of the site, takes it away or puts one there."""
    site = k.project / "site"
    files = sorted(p for p in site.rglob("*") if p.is_file() and not p.name.startswith("."))
    if not files:
        return
    one = k.rng.choice(files)
    way = k.rng.randrange(3)
    if way == 0:
        data = one.read_bytes()
        one.write_bytes(data[: len(data) // 2] + b"!" + data[len(data) // 2 + 1 :])
    elif way == 1:
        one.unlink()
    else:
        k.serial += 1
        (site / f"by-hand-{k.serial}.txt").write_text("kept", encoding="utf-8")


def run_of_builds(project: Path, seed: int, turns: int) -> int:
    """Random edits, of the standards and of the site's own folder, options and days, each built with
    a cache and without into another folder. Returns how often nothing was built."""
    k = Kitchen(project, random.Random(seed))
    left, strict, unsaved, done = 0, False, False, list[str]()
    for _ in range(turns):
        for _ in range(k.rng.choice((0, 1, 1, 2))):
            edit = k.rng.choice((*EDITS, hand, hand))
            edit(k)
            done.append(edit.__name__)
        if k.rng.random() < 0.2:
            strict, unsaved = k.rng.random() < 0.2, k.rng.random() < 0.3
        options = [*(["--strict"] if strict else []), *(["--no-offline"] if unsaved else [])]
        words = ["--as-of", k.day.isoformat(), *options]
        mine, anew = built(project, *words)
        left += not anew and mine.returncode == 0
        away = project.parent / f"{project.name}-clean"
        clean = run(project, "build", *words, "--no-cache", "--out", str(away))
        about = f"seed {seed}: {done} {words}"
        assert mine.returncode == clean.returncode, about
        assert mine.stdout == clean.stdout.replace(str(away), str(project / "site")), about
        said = [ln for ln in mine.stderr.splitlines() if "that no build made" not in ln]
        assert said == clean.stderr.splitlines(), about
        if mine.returncode == 0:
            found = bytes_in(project / "site")
            made = {n: b for n, b in found.items() if not n.startswith(("by-hand", "."))}
            expected = bytes_in(away)
            expected.pop(".kitchen-manual")
            assert made == expected, about
    return left


def test_a_run_of_builds_gives_what_clean_ones_give(tmp_path: Path, cached: Path) -> None:
    assert run_of_builds(with_warnings(tmp_path / "k"), 3, 5) >= 1


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 120))
def test_more_runs_of_builds(tmp_path: Path, cached: Path, seed: int) -> None:
    run_of_builds(with_warnings(tmp_path / "k"), seed, 12)

"""Shared by the tests: the fixed day, and broken kitchens laid over a clean one."""

from __future__ import annotations

import atexit
import datetime
import functools
import gc
import itertools
import logging
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import computed_once
import pytest
from broken_kitchens import BASES
from broken_kitchens import KITCHENS as BROKEN
from hypothesis import is_hypothesis_test, settings

import generator.cli.common
import generator.pages
from generator.files import source_text
from generator.files.disk import locked
from generator.files.kept import ASKED, NOTHING, OFF, Kept
from generator.intake import reading
from generator.measures import units
from generator.measures.marks import decimal_mark
from generator.pages.page import Page
from generator.reference import library
from generator.reference.library import Library
from generator.sheet import inputs
from generator.sheet.manual import Broken, Manual, make_manual
from generator.site.publish import build_site

AS_OF = datetime.date(2026, 11, 25)
TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent
KITCHENS = TESTS / "kitchens"
BASE = KITCHENS / "base"
"""The clean kitchen that cases are laid over, with a mkdocs.yml and a page."""
STARTER = ROOT / "generator" / "authoring" / "starter"
"""The kitchen `new` lays down."""
if sys.dont_write_bytecode:
    # Each worker and each process started would compile the product and the tests anew, which is a
    # quarter of the run: what is compiled goes to pytest's own folder, and none into the sources.
    sys.dont_write_bytecode = False
    sys.pycache_prefix = str(ROOT / ".pytest_cache" / "compiled")
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix
# How long an example takes is no matter of right or wrong.
settings.register_profile("everyday", deadline=None, derandomize=True, max_examples=40)
settings.register_profile("random", deadline=None, max_examples=500, print_blob=True)
settings.load_profile("everyday")
gc.set_threshold(
    100_000, 20, 50
)  # the reference data is large and stays: looking it over and over is a fifth of the time
os.environ[ASKED] = OFF  # a test that keeps anything says where
REQUIRE_ALL = os.environ.get("REQUIRE_ALL") == "1"


def lay(case: str, target: Path) -> Path:
    """The clean kitchen (``base``), or one of the tables by its name, as a project folder."""
    target.mkdir(parents=True, exist_ok=True)
    for folder, files in _base():
        Path(f"{target}{folder}").mkdir()
        for name, raw in files:
            handle = os.open(
                f"{target}{folder}/{name}", os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644
            )
            os.write(handle, raw)
            os.close(handle)
    if case != "base":
        {**BASES, **BROKEN}[case].lay_over(target)
    return target


@functools.cache
def _base() -> list[tuple[str, list[tuple[str, bytes]]]]:
    """The folders of the clean kitchen's standards, the outer before the inner, with what lies in
    each: six thousand tests lay them."""
    folders = [path for path in (BASE / "standards").rglob("*") if path.is_dir()]
    return [
        (
            path.as_posix().removeprefix(BASE.as_posix()),
            [(one.name, one.read_bytes()) for one in sorted(path.iterdir()) if one.is_file()],
        )
        for path in (BASE / "standards", *sorted(folders))
    ]


def edit(project: Path, file: str, old: str, new: str) -> None:
    """Change one place of a project's file; the place must be there."""
    path = project / "standards" / file
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{old!r} is not in {file}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def compute(project: Path) -> Manual | Broken:
    return make_manual(project, AS_OF)


READ = source_text.read_bytes
_read_once = functools.lru_cache(1024)(READ)
_read_shared = functools.lru_cache(64)(READ)


def _read(raw: bytes, file: str) -> source_text.Document:
    """A file's tree, read once a process: thousands of kitchens have ten of their eleven files in
    common, and copies of ``shared/`` all but one. ``test_broken_kitchens`` holds that nothing
    changes a tree."""
    if len(raw) < 20_000:
        return _read_once(raw, file)
    return (_read_shared if file.startswith("shared/") else READ)(raw, file)


source_text.read_bytes = _read
_validated = reading.validated
_records: dict[tuple[object, ...], tuple[object, object, Any]] = {}


def _validate(model: type[Any], tree: Any, units: Any) -> Any:
    """A sound record, made once of a tree that is read once: it is frozen. What it was made of is
    kept with it, so that nothing else gets the identity it is found by."""
    key = (model, id(tree), id(units), decimal_mark())
    if key not in _records:
        _records[key] = (tree, units, _validated(model, tree, units))
    return _records[key][2]


reading.validated = _validate
_stamps = library._stamps
_shared_stamps = functools.cache(lambda folder: tuple(_stamps(folder)))


def _stamps_once(folder: str) -> Iterable[tuple[str, int, int]]:
    """The state of the reference data's files: of the checkout's, which no test changes, once a
    process, not at each check."""
    return _shared_stamps(folder) if folder == os.fspath(ROOT / "shared") else _stamps(folder)


library._stamps = _stamps_once
_library = library._read
_units = units._load


def _library_once(shared: Path, stamps: tuple[tuple[str, int, int], ...]) -> Library:
    """The checkout's reference data for a copy of it, as copies keep when a file was changed."""
    ours = _shared_stamps(os.fspath(ROOT / "shared"))
    if shared != ROOT / "shared" and _below(shared, stamps) == _below(ROOT / "shared", ours):
        return _library(ROOT / "shared", tuple(sorted(ours)))
    return _library(shared, stamps)


def _below(shared: Path, stamps: Iterable[tuple[str, int, int]]) -> set[tuple[str, int, int]]:
    start = len(os.fspath(shared))
    return {(path[start:], changed, size) for path, changed, size in stamps}


def _units_once(shared: Path, set_name: str, changed: int) -> units.Units:
    """The checkout's units where a copy has the same file: records are made once of the same
    units."""
    ours = (ROOT / "shared" / units.FILE).stat()
    if changed == ours.st_mtime_ns and (shared / units.FILE).stat().st_size == ours.st_size:
        shared = ROOT / "shared"
    return _units(shared, set_name, changed)


_pickled, _unpickled = inputs.pickled, inputs.unpickled
_written: list[tuple[Library, bytes | None]] = []


def _pickled_once(made: Library) -> bytes | None:
    """The reference data as bytes, made once of the same reading: nobody changes it, and each test
    with an empty cache writes it."""
    for held, data in _written:
        if held is made:
            return data
    _written[:] = [(made, _pickled(made)), *_written[:1]]
    return _written[0][1]


inputs.pickled, inputs.unpickled = _pickled_once, functools.lru_cache(2)(_unpickled)
library._read = _library_once
units._load = _units_once

computed_once.installed()
STILL = {ROOT}
"""Projects that no test changes: the demo, and its copy."""
_made = functools.cache(make_manual)


def _once(
    project: Path, as_of: datetime.date, history: bool = True, kept: Kept = NOTHING
) -> Manual | Broken:
    """What a command computes; of the demo once, as a dozen commands ask for it one after the
    other: its few records of batches, too, whether they are asked for or not."""
    still = project in STILL
    return _made(project, as_of) if still else make_manual(project, as_of, history, kept=kept)


generator.cli.common.make_manual = _once
_draw = generator.pages.make_pages
_drawn: list[tuple[Manual, object, list[Page]]] = []


def _drawn_once(manual: Manual | Broken) -> list[Page]:
    """The pages of a manual of a project that no test changes: thirty tests look at the demo's,
    which take a third of a second."""
    if isinstance(manual, Broken) or manual.project not in STILL:
        return _draw(manual)
    kinds = generator.pages.PAGES  # a test may have put others there
    for held, of, pages in _drawn:
        if held is manual and of is kinds:
            return list(pages)
    made = _draw(manual)
    _drawn.insert(0, (manual, kinds, made))
    del _drawn[3:]
    return list(made)


generator.pages.make_pages = _drawn_once


@functools.cache
def demo_alone() -> Path:
    """The demo's project outside its checkout, so that no commit is newer than the fixed day."""
    folder = Path(tempfile.mkdtemp(prefix="demo-")).resolve()
    STILL.add(folder)
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for name in ("standards", "shared", "site_demo"):
        shutil.copytree(ROOT / name, folder / name)
    shutil.copyfile(ROOT / "mkdocs.yml", folder / "mkdocs.yml")
    return folder


_made_paths = itertools.count()


@pytest.fixture
def tmp_path(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of the test's own, by its number in this process: pytest looks over the folders of
    all tests before it to find one."""
    name = re.sub(r"\W", "_", request.node.name)[:30]
    path: Path = tmp_path_factory.getbasetemp() / f"{name}-{next(_made_paths)}"
    path.mkdir(mode=0o700)
    return path


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    """A fresh copy of the clean kitchen."""
    return lay("base", tmp_path / "kitchen")


@pytest.fixture
def made_anew() -> None:
    """For tests of the computing itself: how long it takes, whether it gives the same twice."""


@pytest.fixture(scope="session")
def demo() -> Manual:
    """The demo kitchen, computed."""
    return _made(ROOT, AS_OF)


@pytest.fixture(scope="session")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Manual:
    """The clean kitchen, computed."""
    return compute(lay("base", tmp_path_factory.mktemp("clean") / "kitchen"))


@pytest.fixture(scope="session")
def demo_site(demo: Manual, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's site, built once for all who look at it and change nothing: by the first worker
    that needs it, for the others too."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    base: Path = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo-built"
    folder.mkdir(exist_ok=True)
    with locked(folder / "once"):
        if not (folder / "made" / "site").exists():
            build_site(demo, folder / "made" / "site", strict=True)
    return folder / "made" / "site"


@pytest.fixture
def server(demo_site: Path) -> Iterator[Any]:
    """The demo's site on a server of the test's own, so that no page has anything kept of it."""
    from browsing import served

    with served(demo_site, still=True) as running:
        yield running


@pytest.fixture
def address(server: Any) -> str:
    """Where the demo's site is served, with the slash at its end."""
    found: str = server.address
    return found


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """The system's Chromium."""
    from browsing import chromium

    with chromium() as running:
        yield running


def pytest_xdist_auto_num_workers() -> int:
    """What ``-n auto`` means: a worker for each processor this process may use, a container's share
    and
    1.5 GB of memory a worker counted in."""
    free = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    with suppress(OSError, ValueError):
        share, period = Path("/sys/fs/cgroup/cpu.max").read_text().split()
        free = min(free, -(-int(share) // int(period)))  # "max" is no number: no limit
    with suppress(OSError, ValueError, AttributeError):
        memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
        free = min(free, memory // 1_500_000_000)
    return max(1, free)


def slow_asked_for(config: pytest.Config) -> bool:
    """``-m slow``, and not ``-m 'not slow'``."""
    marks = re.sub(r"\bnot\s+\w+", "", config.getoption("markexpr") or "")
    return re.search(r"\bslow\b", marks) is not None


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    computed_once.keep_for(item)


def pytest_runtest_teardown() -> None:
    """A compiled library may write where the interpreter keeps its bytes, as one of fractions did
    that read a single digit; all that is read or compiled after that in this process is wrong."""
    assert bytes([0])[0] == 0, "this test broke the interpreter's own b'\\0'"


def pytest_configure(config: pytest.Config) -> None:
    """The everyday run tries the same examples each time; the slow one others, and more."""
    if slow_asked_for(config):
        settings.load_profile("random")
    if config.getoption("xmlpath", None) is None and config.getoption("durations", None) is None:
        _send_less(config)


def _send_less(config: pytest.Config) -> None:
    """A worker sends each report of a test, of its fixtures' making and taking away too, which of
    all that pass nobody reads: two thirds of what thousands of tests send, a millisecond each."""
    for hook in config.hook.pytest_runtest_logreport.get_hookimpls():
        if type(hook.plugin).__name__ == "WorkerInteractor":
            hook.function = functools.partial(_sent, hook.function)


def _sent(send: Callable[[pytest.TestReport], None], report: pytest.TestReport) -> None:
    if report.when == "call" or not report.passed or report.sections:
        send(report)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Under ``-m slow`` a property is a slow test too."""
    if slow_asked_for(config):
        for item in items:
            if is_hypothesis_test(getattr(item, "obj", None)):
                item.add_marker(pytest.mark.slow)


def pytest_collection_finish(session: pytest.Session) -> None:
    """What was imported and collected stays to the end: the collector need not look it over."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(tryfirst=True)
def pytest_unconfigure(config: pytest.Config) -> None:
    """Pytest would look over all that is left of the run for errors nobody caught, for seconds; of
    what is left when the last test has passed, nobody asks."""
    gc.freeze()


@functools.cache
def group_of(file: str) -> str | None:
    """The group of a file's tests: the one it names, or a group of its own where tests share what
    is made once a file. None: they may run anywhere."""
    text = (ROOT / file).read_text(encoding="utf-8")
    named = re.search(r'^pytestmark = pytest\.mark\.xdist_group\("(\w+)"\)', text, re.MULTILINE)
    if named:
        return named[1]
    return file if '(scope="module"' in text else None


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Tests that share what is made once a file run in one worker, where it is made once; all
    others wherever there is room (``--dist loadgroup``). By their files, since pytest-xdist 3.8
    writes a group into the name of a test, where pytest 9.2 doesn't read it any more."""
    if config.getoption("dist") != "loadgroup":
        return None
    from xdist.scheduler import LoadGroupScheduling

    class ByFile(LoadGroupScheduling):  # type: ignore[misc]
        def _split_scope(self, nodeid: str) -> str:
            return group_of(nodeid.partition("::")[0]) or nodeid

        def mark_test_complete(self, node: Any, item_index: int, duration: float = 0) -> None:
            """What is through is forgotten: thousands of groups are counted over at each test."""
            super().mark_test_complete(node, item_index, duration)
            given = self.assigned_work[node]
            scope = self._split_scope(self.registered_collections[node][item_index])
            if all(given[scope].values()):
                del given[scope]

    return ByFile(config, log)


def missing_tool(what: str) -> None:
    """Skip for want of a system tool; under REQUIRE_ALL=1 nothing may be skipped."""
    if REQUIRE_ALL:
        pytest.fail(f"{what} is required here and missing")
    pytest.skip(f"{what} is not on this machine")

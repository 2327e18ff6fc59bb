"""Timings with ratios, in one run: ``pytest -m benchmark -s``. Nothing here fails for being slow
on a slow machine; what is held is that the generator is a small share of the whole build."""

from __future__ import annotations

import logging
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest
from browsing import CHROMIUM, FLAGS
from conftest import AS_OF, READ, ROOT
from synthetic import synthetic_kitchen

from generator.binder.documents import binder_document
from generator.files.kept import ASKED, OFF
from generator.pages import make_pages
from generator.sheet.manual import make_manual
from generator.site.exporting import export_tree
from generator.site.publish import build_site

pytestmark = pytest.mark.benchmark


@pytest.fixture(autouse=True)
def every_file_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("generator.files.source_text.read_bytes", READ)


def median(call: Callable[[], object], times: int = 5) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def whole(project: Path, *arguments: str) -> float:
    command = [sys.executable, "-c", "from generator.cli import main; main()", *arguments]
    environment = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}

    def run() -> None:
        subprocess.run(
            [*command, "--project", str(project), "--as-of", AS_OF.isoformat()],
            check=True,
            capture_output=True,
            env=environment,
        )

    return median(run, 3)


def measured(command: list[str], folder: Path, cache: str = OFF) -> tuple[float, float]:
    """Seconds and peak resident MiB of one process of its own, which keeps its results in a
    ``cache``."""
    return spent(command, folder, cache)[1:]


_METER = """
import resource, subprocess, sys
quiet = subprocess.DEVNULL
done = subprocess.run(sys.argv[1:], stdout=quiet, stderr=quiet)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(done.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)
"""


def spent(command: list[str], folder: Path, cache: str = OFF) -> tuple[float, float, float]:
    """The same, its processor seconds first. A process begins with the peak of the one that starts
    it, and this one is large: a small one starts the command."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-S", "-c", _METER, *command],
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1", ASKED: cache},
    )
    code, seconds, peak = done.stdout.split()
    assert code == "0", f"{command} ended with {code}"
    return float(seconds), time.perf_counter() - start, float(peak)


PLAIN = (
    "site_name: Plain\ndocs_dir: pages\ntheme: {name: material, font: false%s}\nplugins: [search]\n"
)
MOST_UNPRUNED = 1000
"""Above, plain Material writes gigabytes of navigation: each page has all of it."""
SAME = ", features: [navigation.prune, navigation.indexes]"


@pytest.mark.parametrize("formulas", [None, 100])
def test_the_generator_beside_the_builder(tmp_path: Path, formulas: int | None) -> None:
    """The demo kitchen, and a made one of so many formulas."""
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    project = ROOT if formulas is None else synthetic_kitchen(tmp_path / "kitchen", formulas)
    manual = make_manual(project, AS_OF)
    assert manual.errors == ()
    compute = median(lambda: make_manual(project, AS_OF))
    render = median(lambda: make_pages(manual))
    build = median(lambda: build_site(manual, tmp_path / "site", strict=False), 3)
    check = whole(project, "check")
    plain = tmp_path / "plain"
    plain.mkdir()
    export_tree(manual, plain / "pages")
    (plain / "mkdocs.yml").write_text(PLAIN % SAME)
    theirs, _ = measured([sys.executable, "-m", "mkdocs", "build", "-q"], plain)
    share = (compute + render) / theirs
    print(
        f"\n{len(manual.sheets)} formulas: check, whole process {check:.2f} s; read + walk "
        f"{compute * 1000:.0f} ms, "
        f"render {render * 1000:.0f} ms, whole build {build:.2f} s, "
        f"{build / len(make_pages(manual)) * 1000:.1f} ms a page; plain Material on the same "
        f"pages {theirs:.2f} s: read + walk + render are {share:.0%} of it"
    )
    assert share < 0.5


def test_three_hundred_formulas_beside_plain_material(tmp_path: Path) -> None:
    """The whole build of a large kitchen beside plain Material on the tree `export` writes of it.

    Plain Material only lays the ready pages out: what it takes, ours can't fall below. Each is a
    process of its own; they take turns.
    """
    project = synthetic_kitchen(tmp_path / "kitchen", 300)
    manual = make_manual(project, AS_OF)
    assert manual.errors == () and len(manual.sheets) >= 300
    ours = [sys.executable, "-c", "from generator.cli import main; main()", "build"]
    ours += ["--as-of", AS_OF.isoformat()]
    mkdocs = [sys.executable, "-m", "mkdocs", "build", "-q"]
    ways: dict[str, tuple[list[str], Path]] = {"kitchen-manual build": (ours, project)}
    for name, more in (("plain Material", ""), ("plain Material, pruned navigation", SAME)):
        folder = tmp_path / name.replace(" ", "-").replace(",", "")
        folder.mkdir()
        pages = export_tree(manual, folder / "pages")
        (folder / "mkdocs.yml").write_text(PLAIN % more)
        ways[name] = (mkdocs, folder)
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    for _ in range(3):
        for name, (command, folder) in ways.items():
            taken[name].append(measured(command, folder))
    print(f"\n300 formulas, {pages} pages:")
    for name, runs in taken.items():
        seconds = statistics.median(s for s, _ in runs)
        print(
            f"  {name}: {seconds:.1f} s, {pages / seconds:.0f} pages/s, "
            f"peak {max(m for _, m in runs):.0f} MiB"
        )
    own = statistics.median(s for s, _ in taken["kitchen-manual build"])
    same = statistics.median(s for s, _ in taken["plain Material, pruned navigation"])
    print(f"  ours beside plain Material with pruned navigation: {own / same:.2f}×")
    assert own < 2 * same, "reading, computing and checking must stay the smaller share"


@pytest.mark.parametrize("formulas", [100, 300, 1000, pytest.param(5000, marks=pytest.mark.slow)])
def test_what_an_edit_costs(tmp_path: Path, formulas: int) -> None:
    """The whole build with nothing kept, with all of it, and after one edit, beside Material on
    the exported tree, plain and with pruned navigation: processor seconds, wall seconds and memory
    of processes of their own. Medians of three runs; the largest is made once."""
    project = synthetic_kitchen(tmp_path / "kitchen", formulas)
    manual = make_manual(project, AS_OF)
    assert manual.errors == ()
    ours = [sys.executable, "-c", "from generator.cli import main; main()", "build"]
    ours += ["--as-of", AS_OF.isoformat(), "--project", str(project)]
    cache = str(tmp_path / "cache")
    bare = {"pruned": SAME} if formulas > MOST_UNPRUNED else {"plain": "", "pruned": SAME}
    for name, more in bare.items():
        (tmp_path / name).mkdir()
        export_tree(manual, tmp_path / name / "pages")
        (tmp_path / name / "mkdocs.yml").write_text(PLAIN % more)
    del manual
    mkdocs = [sys.executable, "-m", "mkdocs", "build", "-q"]
    runs: dict[str, list[tuple[float, float, float]]] = {}
    card = project / "standards/formulas/made-1.yaml"

    def take(name: str, command: list[str], folder: Path, kept: str = OFF) -> None:
        runs.setdefault(name, []).append(spent(command, folder, kept))
        print(f"\n  {name}: {runs[name][-1]}", end="", flush=True)  # the largest take half an hour

    for turn in range(3 if formulas <= MOST_UNPRUNED else 1):
        shutil.rmtree(cache, ignore_errors=True)
        take("nothing kept", ours, project, cache)
        take("nothing changed", ours, project, cache)
        text = re.sub(r"(?m)^name: (.*)$", rf"name: \1 {turn}", card.read_text(), count=1)
        card.write_text(text)
        take("one edit", ours, project, cache)
        for name in bare:
            take(name, mkdocs, tmp_path / name)
    print(f"\n{formulas} formulas:")
    middle = {n: [statistics.median(f) for f in zip(*r, strict=True)] for n, r in runs.items()}
    for name, (cpu, wall, peak) in middle.items():
        shares = ", ".join(f"{cpu / middle[one][0]:.2f} of {one}" for one in bare)
        print(f"  {name}: {cpu:.1f} s CPU, {wall:.1f} s, {peak:.0f} MiB: {shares}")
    assert middle["one edit"][0] < 0.8 * middle["nothing kept"][0]


@pytest.mark.parametrize("formulas", [100, 1000, pytest.param(5000, marks=pytest.mark.slow)])
def test_how_soon_serve_shows_an_edit(tmp_path: Path, formulas: int) -> None:
    """From the save of a formula until its open page is told to load again, beside the whole build
    that follows: seconds, and processor seconds of the server."""
    project = synthetic_kitchen(tmp_path / "kitchen", formulas)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "from generator.cli import main; main()", "serve"]
    command += ["--port", str(port), "--as-of", AS_OF.isoformat(), "--project", str(project)]
    environment = {**os.environ, "NO_MKDOCS_2_WARNING": "1", ASKED: str(tmp_path / "cache")}
    server = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
    )
    card = project / "standards/formulas/made-1.yaml"
    station = card.read_text().split("station: ")[1].split("\n")[0]
    page = f"http://127.0.0.1:{port}/{station}/made-1/"
    try:
        told, whole_builds = [], []
        _idle(server.pid, lambda: _fetched(page) is not None)
        for turn in range(5):
            asked = re.search(rb"livereload\((\d+), (\d+)\)", _fetched(page) or b"")
            assert asked is not None
            text = card.read_text()
            card.write_text(re.sub(r"(?m)^    salt: .*$", f"    salt: 1.{turn + 1} %", text))
            start, busy = time.perf_counter(), _busy(server.pid)
            question = f"http://127.0.0.1:{port}/livereload/{int(asked[1])}/{int(asked[2])}"
            answer = _fetched(question, page)
            told.append((time.perf_counter() - start, _busy(server.pid) - busy))
            assert answer is not None and int(answer) > int(asked[1])
            _idle(server.pid, lambda: True)
            whole_builds.append(_busy(server.pid) - busy)
    finally:
        server.kill()
        server.wait()
    seconds, busy = (statistics.median(one) for one in zip(*told, strict=True))
    print(
        f"\n{formulas} formulas: the open page is told after {seconds:.2f} s "
        f"({busy:.2f} s CPU); all is built after {statistics.median(whole_builds):.2f} s CPU"
    )
    assert busy < statistics.median(whole_builds)


def _fetched(url: str, referer: str = "") -> bytes | None:
    """What a server answers; None where it isn't there yet."""
    try:
        request = urllib.request.Request(url, headers={"Referer": referer})
        with urllib.request.urlopen(request, timeout=90) as answer:
            return bytes(answer.read())
    except OSError:
        return None


def _busy(pid: int) -> float:
    """The processor seconds a process has taken so far."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _idle(pid: int, ready: Callable[[], bool]) -> None:
    """Wait until a process is ready and has little to do for two seconds: to look at the times of
    5,000 files twice a second is a tenth of its time."""
    while True:
        before = _busy(pid)
        time.sleep(2)
        if ready() and _busy(pid) - before < 0.5:
            return


MOST_MIB_A_PAGE = 1.0
PRINT = ["--headless", *FLAGS, "--no-pdf-header-footer"]


@pytest.mark.parametrize(
    ("formulas", "papers", "most_s"),
    [(0, 0, 15.0), (6, 60, 5.0), (46, 180, 15.0)],
    ids=["the demo", "60 sheets", "180 sheets"],
)
def test_the_binder_beside_a_browsers_print(
    tmp_path: Path, formulas: int, papers: int, most_s: float
) -> None:
    """The whole command, from YAML to PDF, beside Chromium's print of the same formulas' pages, in
    processor seconds. A sheet is a sheet of paper: they are printed on one side.

    Chromium gets the ready HTML in one file: no reading, no computing. Its memory is that of its
    main process alone; it has others.
    """
    import pypdf

    project = synthetic_kitchen(tmp_path / "kitchen", formulas) if formulas else ROOT
    manual = make_manual(project, AS_OF)
    out = tmp_path / "binder.pdf"
    ours = [
        sys.executable,
        "-c",
        "from generator.cli import main; main()",
        "binder",
        "--out",
        str(out),
    ]
    ours += ["--as-of", AS_OF.isoformat(), "--project", str(project)]
    bodies = [p.html for p in make_pages(manual) if p.html.startswith('<div class="ks ks-formula"')]
    web = tmp_path / "web.html"
    style = (ROOT / "generator/pages/static/manual.css").read_text()
    web.write_text(
        f'<!doctype html><meta charset="utf-8"><style>{style}</style><body class="md-typeset">'
        + '<div style="break-after: page"></div>'.join(bodies)
    )
    assert CHROMIUM is not None, "this timing needs chromium"
    theirs = [CHROMIUM, *PRINT, f"--user-data-dir={tmp_path / 'profile'}"]
    theirs += [f"--print-to-pdf={tmp_path / 'web.pdf'}", web.as_uri()]
    runs, others = [], []
    for _ in range(3):
        runs.append(spent(ours, tmp_path))
        others.append(spent(theirs, tmp_path))
    document = binder_document(manual, list(manual.house.stations), {}, "")  # type: ignore[union-attr]
    seconds, other = (statistics.median(s for s, *_ in found) for found in (runs, others))
    pages, web_pages = (len(pypdf.PdfReader(f).pages) for f in (out, tmp_path / "web.pdf"))
    print(
        f"\nbinder of {pages} sheets of paper, {len(document['sheets'])} standards: "
        f"{seconds:.2f} s CPU, "
        f"peak {max(m for *_, m in runs):.0f} MiB, {out.stat().st_size / 1e6:.1f} MB; "
        f"Chromium's print of {len(bodies)} formula pages, {web_pages} pages: {other:.2f} s CPU, "
        f"{(tmp_path / 'web.pdf').stat().st_size / 1e6:.1f} MB"
    )
    assert pages >= papers
    assert min(s for s, *_ in runs) <= most_s


_BINDER = """
import gc, resource, sys, time
from pathlib import Path
import datetime
sys.path.insert(0, {helpers!r})
from synthetic import synthetic_kitchen
from generator.binder.documents import binder_document
from generator.binder.drawing import render
from generator.cli import LOOK_SELDOM
from generator.sheet.manual import make_manual
gc.set_threshold(*LOOK_SELDOM)  # as the command does
project = Path({project!r}) if {project!r} else synthetic_kitchen(Path({folder!r}) / "k", 12)
manual = make_manual(project, datetime.date(2026, 11, 25))
peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
begun = time.process_time()
document = binder_document(manual, list(manual.house.stations), {{}}, "https://example.org/")
records = time.process_time() - begun
render({{**document, "sheets": document["sheets"][1:2]}}, "a4")
one = peak()
begun = time.process_time()
drawn = render(document, "a4")
seconds, most = time.process_time() - begun, peak()
import io, pypdf
read = pypdf.PdfReader(io.BytesIO(drawn))
print(len(document["sheets"]), len(read.pages), records, seconds, one, most,
      read.trailer["/Root"]["/MarkInfo"]["/Marked"])
"""


@pytest.mark.parametrize("which", ["the demo", "many"])
def test_time_and_memory_of_a_binder(tmp_path: Path, which: str) -> None:
    """What drawing costs in one process: its processor seconds, and its peak above that of one sheet. Asked
    are 2 s for 100 sheets, 3 s for the demo and 1 MiB a page; what is held is what is reached."""
    project = str(ROOT) if which == "the demo" else ""
    helpers = str(ROOT / "tests" / "helpers")
    code = _BINDER.format(helpers=helpers, project=project, folder=str(tmp_path))
    code = f"import sys; sys.path.insert(0, {str(ROOT / 'tests')!r})\n{code}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    sheets, pages, *figures, marked = done.stdout.split()
    records, seconds, one, peak = map(float, figures)
    each = (peak - one) / int(pages)
    print(
        f"\nbinder of {which}: {sheets} sheets, {pages} pages: records {records:.2f} s, drawn in "
        f"{seconds:.2f} s ({seconds / int(sheets) * 100:.2f} s per 100 sheets), peak {peak:.0f} MiB, "
        f"{each:.1f} MiB a page above one sheet's {one:.0f}"
    )
    assert marked == "True", "the tags are kept"
    assert each < MOST_MIB_A_PAGE

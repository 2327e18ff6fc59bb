"""What a terminal, a browser and a neighbour may see: nothing that steers, nothing from
elsewhere."""

from __future__ import annotations

import html
import http.client
import logging
import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from conftest import ROOT, compute, edit
from each_row import each_row

from generator.cli import cli
from generator.files.finding import (
    Finding,
    Place,
    as_github,
    as_record,
    as_text,
    visible,
    visible_lines,
)
from generator.framing.hosts import answers_to, guarded
from generator.site.publish import build_site
from generator.site.settings import Visible

STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
CLEAR = "\x1b[2J\x1b]0;owned\x07\x9b31m\u202e"
SITE = (
    "site_name: Seen\nsite_url: https://example.org/\ndocs_dir: pages\n"
    "theme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
)


def run(*words: str) -> str:
    """Both streams of a command, which hold nothing that steers a terminal."""
    ran = CliRunner().invoke(cli, [*words])
    assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.exception
    assert not STEERING.search(ran.output), STEERING.search(ran.output)
    return ran.output


def checked(project: Path, form: str = "text") -> str:
    return run("check", "--project", str(project), "--as-of", "2026-11-25", "--format", form)


@pytest.mark.parametrize("form", ["text", "json", "github"])
@pytest.mark.parametrize(
    "code", [*range(9), 11, 12, *range(14, 32), 127, 128, 155, 0x202E, 0x2066, 0x200B]
)
def test_what_steers_a_terminal_is_written_out(kitchen: Path, code: int, form: str) -> None:
    """Typed as it is, and as an escape of YAML."""
    edit(kitchen, "stations/pass.yaml", "name: Pass", f"name: Pa{chr(code)}ss")
    edit(kitchen, "formulas/house-spice.yaml", "name: House spice", f'name: "Sp\\u{code:04x}ice"')
    output = checked(kitchen, form)
    assert output.count("unprintable-character") == 2
    if form == "text":
        assert (f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}") in output


def test_a_long_text_to_clear_the_screen_is_shown(kitchen: Path) -> None:
    edit(kitchen, "stations/pass.yaml", "name: Pass", f"name: {CLEAR}")
    assert "\\x1b[2J\\x1b]0;owned\\x07\\x9b31m\\u202e" in checked(kitchen)


def test_names_of_files_are_written_out(kitchen: Path) -> None:
    folder = os.fsencode(kitchen / "standards/formulas")
    for name in (
        b"\x1b[31mred.yaml",
        b"half\xff.yaml",
        b"line\nbreak.yaml",
        b"back\x08space.txt",
        b"tab\there.yaml",
    ):
        with open(os.path.join(folder, name), "wb") as file:  # noqa: PTH118, PTH123 - names that are no text
            file.write(b"name: x\n")
    output = checked(kitchen)
    for shown in (
        "\\x1b[31mred.yaml",
        "half\\xff.yaml",
        "line\\x0abreak.yaml",
        "back\\x08space.txt",
        "tab\\x09here",
    ):
        assert shown in output
    checked(kitchen, "json")
    checked(kitchen, "github")


def test_a_project_of_a_strange_name_is_written_out(tmp_path: Path) -> None:
    assert "\\x1b" in run("check", "--project", str(tmp_path / "\x1b[31mgone"))


def test_readings_are_written_out(kitchen: Path, tmp_path: Path) -> None:
    log = tmp_path / "\x1b[31mlog.csv"
    log.write_text(
        f"time,temp_c\n2026-11-25 10:00,{CLEAR}\n{CLEAR},3\n2026-11-25 10:00,1,{CLEAR}\n",
        encoding="utf-8",
    )
    review = ("review", "--formula", "pork-bake", "--step", "bake", "--project", str(kitchen))
    assert "\\x1b[2J" in run(*review, str(log))
    log.write_text(f"time,{CLEAR}\n", encoding="utf-8")
    assert "\\x1b" in run(*review, str(log))
    log.write_text("time,temp_c\n2026-11-25 10:00,75\n2026-11-25 10:01,75\n", encoding="utf-8")
    assert "\\x1b[31mlog.csv" in run(*review, str(log), "--format", "json").replace("\\\\", "\\")
    run(*review, str(log))


def test_what_git_says_is_written_out(kitchen: Path) -> None:
    (kitchen / "mkdocs.yml").write_text(SITE)
    for words in (
        ["init", "-q"],
        ["add", "-A"],
        ["-c", "user.name=x", "-c", "user.email=x@example.org", "commit", "-qm", "one"],
    ):
        subprocess.run(["git", "-C", str(kitchen), *words], check=True)
    for since in (CLEAR.replace("\0", ""), "\x1b[31m", "HEAD\x1b"):
        run("changes", "--since", since, "--project", str(kitchen), "--as-of", "2026-11-25")


def test_what_the_builder_logs_is_written_out(caplog: pytest.LogCaptureFixture) -> None:
    log = logging.getLogger("mkdocs.test_of_ours")
    Visible.everywhere()
    Visible.everywhere()
    with caplog.at_level(logging.WARNING, "mkdocs"):
        log.warning('"GET /%s" code %d', "\x1b[31m", 404)
    assert caplog.messages == ['"GET /\\x1b[31m" code 404']
    assert len(log.filters) == 1


def test_every_form_of_a_finding_is_safe() -> None:
    nasty = f"a{CLEAR}\r\nb\udcff\ud800"
    place = Place(f"f{nasty}", 3, 2, nasty, 4)
    finding = Finding("x", "error", nasty, place, nasty, (nasty,), nasty)
    for text in (as_text(finding), as_github(finding), *map(str, as_record(finding).values())):
        assert not STEERING.search(text)
        text.encode("utf-8")
    assert visible("ok\ta\n\\") == "ok\\x09a\\x0a\\"
    assert visible_lines("a\x00\nb") == "a\\x00\nb"


# Hosts.

LOOPBACK = [
    "localhost",
    "localhost:8000",
    "LOCALHOST",
    "localhost.:8000",
    "127.0.0.1",
    "127.0.0.1:8000",
    "127.3.2.1",
    "[::1]",
    "[::1]:8000",
]
FOREIGN = [
    "",
    "evil.example",
    "evil.example:8000",
    "127.0.0.1.evil.example",
    "localhost.evil.example",
    "0.0.0.0",
    "[::]",
    "169.254.169.254",
    "224.0.0.1",
    "[ff02::1]",
    "2130706433",
    "0x7f.1",
    "user@localhost",
    "localhost:8000@evil.example ,",
    " ",
    "xn--e1afmkfd",
    "192.0.2.1",
    "[2001:db8::1]",
]


@each_row("listening", ["127.0.0.1", "localhost", "::1", "0.0.0.0", "::", "kitchen.example"])
def test_a_loopback_name_is_answered_and_a_foreign_one_never(listening: str) -> None:
    assert [h for h in LOOPBACK if not answers_to(listening, h)] == []
    assert [
        h for h in FOREIGN if answers_to(listening, h) and not h.startswith("localhost:8000@")
    ] == []


def test_this_machines_names_are_answered_where_it_is_asked_to_listen_there() -> None:
    name = socket.gethostname()
    for listening in ("0.0.0.0", "::"):
        assert answers_to(listening, name) and answers_to(listening, f"{name.upper()}:8000")
        assert answers_to(listening, f"{name.partition('.')[0]}.local")
    assert answers_to("kitchen.example", "kitchen.example:8000")
    if name.lower() != "localhost":
        assert not answers_to("127.0.0.1", name), "listening to itself alone, it has no other name"


def test_this_machines_addresses_are_answered_where_it_is_asked_to_listen_there() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # sends nothing; says which address would be used
        except OSError:
            pytest.xfail("this machine has no address but its loopback")
        own = str(probe.getsockname()[0])
    assert answers_to("0.0.0.0", f"{own}:8000")
    if not own.startswith("127."):
        assert not answers_to("127.0.0.1", own)


def asked(host: str, path: str, listening: str = "127.0.0.1") -> str:
    said: list[str] = []

    def app(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
        start_response("200 OK", [])
        return [b"the manual"]

    body = b"".join(
        guarded(app, listening)(
            {"HTTP_HOST": host, "PATH_INFO": path}, lambda status, headers: said.append(status)
        )
    )
    assert (b"the manual" in body) == (said == ["200 OK"])
    return said[0]


def test_421_for_a_host_that_is_not_ours_and_404_for_a_nul() -> None:
    assert asked("localhost:8000", "/") == "200 OK"
    assert asked("evil.example", "/") == "421 Misdirected Request"
    assert asked("localhost", "/a\0b") == "404 Not Found"
    assert asked("evil.example", "/a\0b") == "421 Misdirected Request"


# Pages written by hand.


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A site with hostile front matter, headings and names of files, built in a checkout of its
    own."""
    from conftest import lay

    project = lay("base", tmp_path_factory.mktemp("secret-place") / "kitchen")
    (project / "mkdocs.yml").write_text(
        SITE + "draft_docs: |\n  secret-draft.md\n  drafts/\nexclude_docs: |\n  left-out.md\n"
    )
    pages = project / "pages"
    (pages / "drafts").mkdir(parents=True)
    nasty = "</title><script>alert(1)</script><b onclick=alert(2)>x & y</b>"
    quoted = nasty.replace("'", "''")
    (pages / "front.md").write_text(
        f"---\ntitle: '{quoted}'\ndescription: '\"><script>alert(3)</script>'\n"
        "author: chef@example.org\ndate: 2020-01-01\n"
        "tags: ['<script>alert(4)</script>']\n---\n\nNothing to see.\n"
    )
    (pages / "heading.md").write_text(
        "# A &lt;script&gt;alert(5)&lt;/script&gt; <i>b</i> &amp; c\n\nText.\n"
    )
    (pages / "<img src=x onerror=alert(6)>.md").write_text("Only text.\n")
    (pages / "secret-draft.md").write_text("# Secret draft\n\nMail chef@example.org\n")
    (pages / "drafts/new-roll.md").write_text("# New roll, not approved\n")
    (pages / "left-out.md").write_text("# Left out\n")
    for words in (
        ["init", "-q"],
        ["add", "-A"],
        [
            "-c",
            "user.name=Somebody",
            "-c",
            "user.email=somebody@mail.example",
            "commit",
            "-qm",
            "one",
        ],
    ):
        subprocess.run(["git", "-C", str(project), *words], check=True)
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    build_site(compute(project), project / "site", strict=False)
    return project / "site"


def everything(site: Path) -> dict[str, str]:
    return {
        p.relative_to(site).as_posix(): p.read_bytes().decode("utf-8", "replace")
        for p in sorted(site.rglob("*"))
        if p.is_file()
    }


def test_front_matter_and_headings_stay_text(written: Path) -> None:
    for name, text in everything(written).items():
        if name.endswith(".html"):
            assert "<script>alert" not in text and "onclick=alert" not in text.replace(
                "&#61;", "?"
            ), name
            assert not re.search(r"<(b|img)\b[^>]*\bon\w+=", text), name
    front = (written / "front/index.html").read_text()
    title = re.search(r"<title>(.*?)</title>", front, re.DOTALL)
    assert title is not None
    assert (
        html.unescape(title[1])
        == "</title><script>alert(1)</script><b onclick=alert(2)>x & y</b> - Seen"
    )
    heading = (written / "heading/index.html").read_text()
    title = re.search(r"<title>(.*?)</title>", heading, re.DOTALL)
    assert (
        title is not None and html.unescape(title[1]) == "A <script>alert(5)</script> b & c - Seen"
    )
    home = (
        (written / "about/index.html")
        if (written / "about").is_dir()
        else written / "front/index.html"
    )
    assert "&#60;script&#62;alert" in home.read_text(), "the navigation names both pages, as text"


def test_the_published_copy_names_no_draft(written: Path) -> None:
    for name, text in everything(written).items():
        for word in (
            "secret-draft",
            "Secret draft",
            "new-roll",
            "New roll",
            "left-out",
            "Left out",
            "drafts",
        ):
            # the words of the frame have "Left out" themselves
            ours = word == "Left out" and name == "assets/words-es.js"
            assert ours or (word not in text and word not in name), (name, word)


def test_the_published_copy_names_no_place_no_mail_and_no_day_but_the_manuals(
    written: Path,
) -> None:
    words = [
        "secret-place",
        str(written.parent),
        str(Path.home()),
        socket.gethostname(),
        "mail.example",
        "chef@example.org",
        "2020-01-01",
    ]
    for name, text in everything(written).items():
        for word in words:
            assert len(word) < 3 or word == "localhost" or word not in text, (name, word)
    days = set(re.findall(r"<lastmod>(.*?)</lastmod>", (written / "sitemap.xml").read_text()))
    assert days == {"2026-11-25"}


def test_the_same_standards_on_another_day_of_building_are_the_same_files(
    written: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    build_site(compute(written.parent), tmp_path / "again", strict=False)
    first, second = (
        {p.relative_to(site).as_posix(): p.read_bytes() for p in site.rglob("*") if p.is_file()}
        for site in (written, tmp_path / "again")
    )
    assert [n for n in first.keys() | second.keys() if first.get(n) != second.get(n)] == []


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """`serve` itself, on a free port."""
    from conftest import lay

    project = lay("base", tmp_path_factory.mktemp("live") / "kitchen")
    (project / "mkdocs.yml").write_text(SITE.replace("https://example.org/", ""))
    (project / "pages").mkdir()
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    command = [
        sys.executable,
        "-c",
        "from generator.cli import main; main()",
        "serve",
        "--project",
        str(project),
    ]
    started = subprocess.Popen(
        [*command, "--port", str(port), "--as-of", "2026-11-25"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
    )
    try:
        for _ in range(600):
            with suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
                break
            assert started.poll() is None, "serve ended"
            time.sleep(0.1)
        yield port
    finally:
        started.terminate()
        started.wait(timeout=30)


@pytest.mark.parametrize(
    ("host", "path", "status"),
    [
        ("localhost:{port}", "/", 200),
        ("127.0.0.1:{port}", "/range/pork-bake/", 200),
        ("[::1]:{port}", "/", 200),
        ("evil.example", "/", 421),
        ("evil.example:{port}", "/range/pork-bake/", 421),
        ("169.254.169.254", "/", 421),
        ("localhost", "/a%00b", 404),
        ("localhost", "/%00", 404),
        ("localhost", "/..%2f..%2f..%2fetc%2fpasswd", 404),
        ("localhost", "/%1b[31m", 404),
        ("evil.example", "/livereload/0/0", 421),
    ],
)
def test_serve_answers_its_own_names_alone(live: int, host: str, path: str, status: int) -> None:
    asked = http.client.HTTPConnection("127.0.0.1", live, timeout=30)
    asked.putrequest("GET", path, skip_host=True)
    asked.putheader("Host", host.format(port=live))
    asked.endheaders()
    answer = asked.getresponse()
    body = answer.read()
    asked.close()
    assert answer.status == status
    assert (b"Pork bake" in body) == (status == 200)

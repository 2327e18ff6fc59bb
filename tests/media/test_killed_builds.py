"""Builds that are killed: the site is whole, the next command puts right and clears what was
left."""

from __future__ import annotations

import logging
import multiprocessing
import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from conftest import AS_OF, BASE, compute, edit

from generator.cli import cli
from generator.files import replacing
from generator.files.finding import Refused
from generator.files.replacing import exchange, healed, swapped_in
from generator.sheet.manual import Manual
from generator.site import publish
from generator.site.owned import finish, listed
from generator.site.publish import MARK, build_site

FORK = multiprocessing.get_context("fork")
HERE = {
    "CNAME": "manual.example.org\n",
    ".htaccess": "Deny from 10.0.0.1\n",
    ".well-known/security.txt": "x\n",
}


def whole(site: Path) -> dict[str, bytes]:
    """Every file of a site but the packed map, whose header holds the minute."""
    return {
        p.relative_to(site).as_posix(): p.read_bytes()
        for p in sorted(site.rglob("*"))
        if p.is_file() and p.suffix != ".gz"
    }


def litter(site: Path) -> list[str]:
    return [p.name for p in site.parent.iterdir() if p.name.startswith(f".{site.name}-")]


@pytest.fixture(scope="module")
def two(
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[Path, list[Manual], list[dict[str, bytes]]]:
    """A site with files of its host's, and two manuals with what each builds there."""
    logging.getLogger("mkdocs").setLevel(logging.CRITICAL)
    project = tmp_path_factory.mktemp("killed") / "kitchen"
    shutil.copytree(BASE, project)
    site = project / "site"
    manuals, sites = [compute(project)], []
    edit(project, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    manuals.append(compute(project))
    build_site(manuals[0], site, strict=False)
    for name, text in HERE.items():
        (site / name).parent.mkdir(exist_ok=True)
        (site / name).write_text(text)
    for manual in (*manuals, manuals[0]):
        build_site(manual, site, strict=False)
        sites.append(whole(site))
    return site, manuals, sites[1:]


def killed(work: Callable[[], object], after: float | None = None) -> None:
    """Do some work in a process of its own, which kills itself, or is killed ``after`` seconds."""
    process = FORK.Process(target=work)
    process.start()
    if after is not None:
        time.sleep(after)
        os.kill(process.pid or 0, signal.SIGKILL)
    process.join(60)
    assert process.exitcode in (-signal.SIGKILL, 0)


def _die(*_: object, **__: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _at(point: str, manual: Manual, site: Path) -> None:
    """Build, and die at a point of the swap."""
    renamed: list[str] = []
    rename, swap = Path.rename, replacing.exchange

    def moving(self: Path, target: Path) -> Path:
        if self.name in ("new", site.name):
            if point == f"before move {len(renamed) + 1}":
                _die()
            renamed.append(self.name)
        return rename(self, target)

    def exchanging(one: Path, other: Path) -> bool:
        if point == "before the exchange":
            _die()
        done = swap(one, other)
        if point == "behind the exchange":
            _die()
        return done

    Path.rename = moving  # type: ignore[method-assign]
    replacing.exchange = exchanging if "exchange" in point else lambda one, other: False
    if point == "behind move 2":
        replacing.shutil.rmtree = _die  # type: ignore[assignment]
    if point == "in the list":
        publish.finish = _die  # type: ignore[assignment]
    build_site(manual, site, strict=False)


POINTS = (
    "before the exchange",
    "behind the exchange",
    "before move 1",
    "before move 2",
    "behind move 2",
    "in the list",
)


@pytest.mark.parametrize("point", POINTS)
def test_a_build_killed_at_its_swap_leaves_a_whole_site(
    two: tuple[Path, list[Manual], list[dict[str, bytes]]], point: str
) -> None:
    site, manuals, sites = two
    killed(lambda: _at(point, manuals[0], site))
    missing = point == "before move 2"
    assert site.exists() is not missing
    if missing:
        assert "`old` is what it\n" in next(site.parent.glob(".site-*/read-me.txt")).read_text()
    assert len(litter(site)) == 1
    assert (site.parent / litter(site)[0] / ".gitignore").read_text() == "*\n", (
        "git sees none of it"
    )
    reported = healed(site)
    assert bool(reported) is missing and litter(site) == []
    assert whole(site) in sites
    build_site(manuals[1], site, strict=False)
    assert whole(site) == sites[0] and litter(site) == []


def _killed_at_random(
    two: tuple[Path, list[Manual], list[dict[str, bytes]]], times: int, seed: int
) -> int:
    """Kills of a running build at random; returns how many left the site lost or mixed (none
    may)."""
    site, manuals, sites = two
    rng = random.Random(seed)
    start = time.monotonic()
    build_site(manuals[0], site, strict=False)
    takes, lost = time.monotonic() - start, 0
    for n in range(times):
        point = rng.choice(POINTS) if n % 3 == 0 else ""
        manual = manuals[n % 2]
        if point:
            killed(lambda at=point, m=manual: _at(at, m, site))  # type: ignore[misc]
        else:
            killed(lambda m=manual: build_site(m, site, strict=False), rng.random() * takes * 1.1)  # type: ignore[misc]
        healed(site)
        lost += whole(site) not in (*sites, sites[0]) if site.exists() else 1
    build_site(manuals[1], site, strict=False)
    for one in site.parent.glob(".site-*"):  # killed before it locked: cleared when a minute old
        assert not (one / "lock").exists()
        os.utime(one, (0, 0))
    healed(site)
    assert litter(site) == [] and whole(site) == sites[0]
    return lost


def test_four_kills(two: tuple[Path, list[Manual], list[dict[str, bytes]]]) -> None:
    assert _killed_at_random(two, 4, 3) == 0


@pytest.mark.slow
def test_fifty_kills(
    two: tuple[Path, list[Manual], list[dict[str, bytes]]], capsys: pytest.CaptureFixture[str]
) -> None:
    lost = _killed_at_random(two, 50, 11)
    with capsys.disabled():
        print(f"\n50 builds killed: {lost} sites lost or mixed")
    assert lost == 0


# ---- what others put there


def test_files_no_build_made_are_kept_and_reported_of_once(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: K\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    site, words = (
        kitchen / "site",
        ["build", "--project", str(kitchen), "--as-of", AS_OF.isoformat()],
    )
    assert CliRunner().invoke(cli, words).exit_code == 0
    for name, text in HERE.items():
        (site / name).parent.mkdir(exist_ok=True)
        (site / name).write_text(text)
    (site / "link").symlink_to("CNAME")
    (site / "empty").mkdir()
    first = CliRunner().invoke(cli, words)
    assert first.exit_code == 0
    assert (
        "kept in site: 5 files that no build made: .htaccess, .well-known/security.txt, CNAME, "
        "empty, link" in first.output
    )
    (kitchen / "docs/gone.md").write_text("# Gone\n")
    second = CliRunner().invoke(cli, words)
    assert second.exit_code == 0 and "kept" not in second.output, "told once"
    assert (site / "gone/index.html").is_file()
    (kitchen / "docs/gone.md").unlink()
    assert CliRunner().invoke(cli, words).exit_code == 0
    assert not (site / "gone").exists(), "what a build made and makes no more goes"
    assert {name: (site / name).read_text() for name in HERE} == HERE
    assert (site / "link").is_symlink() and (site / "empty").is_dir()
    assert listed(site, MARK).kept >= set(HERE)


def test_a_page_is_never_laid_over_a_file_of_somebody_s(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: K\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    site = kitchen / "site"
    build_site(compute(kitchen), site, strict=False)
    (site / "staff").mkdir()
    (site / "staff/index.html").write_text("by hand")
    (kitchen / "docs/staff.md").write_text("# Staff\n")
    before = whole(site)
    with pytest.raises(Refused, match="was put there by hand"):
        build_site(compute(kitchen), site, strict=False)
    assert whole(site) == before and litter(site) == []


def test_a_site_of_an_older_version_keeps_what_hosts_read(kitchen: Path) -> None:
    """Its mark lists nothing: its pages are the build's, CNAME and names with a dot aren't."""
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: K\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    site = kitchen / "site"
    site.mkdir()
    (site / MARK).write_text("built by kitchen-manual; replaced whole at the next build\n")
    (site / "old.html").write_text("a page that is no more")
    for name, text in HERE.items():
        (site / name).parent.mkdir(exist_ok=True)
        (site / name).write_text(text)
    build_site(compute(kitchen), site, strict=False)
    assert not (site / "old.html").exists()
    assert {name: (site / name).read_text() for name in HERE} == HERE


def test_a_file_that_both_have_alike_is_in_nobodys_way(tmp_path: Path) -> None:
    """A mark that lists what a run wrote tells whose a file is: the same words under one name are
    no loss. One that lists nothing doesn't, and what the run makes is kept."""
    old, new = tmp_path / "old", tmp_path / "new"
    for folder, words in ((old, "example.org"), (new, "example.com")):
        folder.mkdir()
        (folder / "CNAME").write_text(words)
    (old / MARK).write_text("built by an older version")
    assert finish(old, new, MARK, "a run") == ""
    assert (new / "CNAME").read_text() == "example.com"
    (old / MARK).write_text('{"files": [], "kept": []}')
    with pytest.raises(Refused, match="CNAME was put there by hand"):
        finish(old, new, MARK, "a run")
    (old / "CNAME").write_text("example.com")
    assert finish(old, new, MARK, "a run") == ""


# ---- work folders


def test_the_work_folder_of_a_running_build_is_left(tmp_path: Path) -> None:
    site = tmp_path / "site"
    with swapped_in(site) as new:
        new.mkdir()
        os.utime(new.parent, (0, 0))
        assert healed(site) == [] and new.is_dir()
        process = FORK.Process(target=lambda: os._exit(len(healed(site)) + new.is_dir() - 1))
        process.start()
        process.join(30)
        assert process.exitcode == 0, "nor by another process"
    assert site.is_dir() and litter(site) == []


def test_only_work_folders_are_cleared(tmp_path: Path) -> None:
    """A name that looks alike, with anything of somebody's in it, is nobody's litter."""
    ours, theirs, backup = (
        tmp_path / n for n in (".site-abcd1234", ".site-12345678", ".site-backup")
    )
    (ours / "new").mkdir(parents=True)
    (theirs / "new").mkdir(parents=True)
    (theirs / "letter.txt").write_text("keep me")
    backup.mkdir()
    for one in (ours, theirs, backup):
        os.utime(one, (0, 0))
    healed(tmp_path / "site")
    assert sorted(litter(tmp_path / "site")) == [".site-12345678", ".site-backup"]


def test_serve_puts_a_missing_site_back(kitchen: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: K\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    work = kitchen / ".site-abcd1234"
    (work / "old").mkdir(parents=True)
    (work / "old/index.html").write_text("the site")
    os.utime(work, (0, 0))
    monkeypatch.setattr("mkdocs.commands.serve.serve", lambda *a, **k: None)
    publish.serve_site(kitchen, AS_OF, "127.0.0.1", 8000)
    assert (kitchen / "site/index.html").read_text() == "the site" and litter(
        kitchen / "site"
    ) == []


def test_two_folders_change_places_in_one_move(tmp_path: Path) -> None:
    for name in "ab":
        (tmp_path / name).mkdir()
        (tmp_path / name / "is").write_text(name)
    if not exchange(tmp_path / "a", tmp_path / "b"):
        pytest.skip("no such move on this disk")
    assert (tmp_path / "a/is").read_text() == "b" and (tmp_path / "b/is").read_text() == "a"
    with pytest.raises(OSError, match="No such file"):
        exchange(tmp_path / "a", tmp_path / "c")

"""`serve` after an edit: the page that changed is loaded again, no other; what is wrong is in the page,
and the rest stays up."""

from __future__ import annotations

import difflib
import random
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from conftest import AS_OF, lay
from mkdocs.exceptions import Abort

from generator.files.kept import NOTHING, Kept
from generator.site import publish
from generator.site.linked import Left, Linked
from generator.site.publish import PublishError, _config, _mkdocs_build, fetched_in
from generator.site.reloading import Reloading, _now
from generator.site.served import Served

SITE = """site_name: Harbour
docs_dir: pages
theme: {name: material, font: false, features: [navigation.indexes]}
plugins: [kitchen-manual]
"""


PAPER = '<p class="ks-paper" data-sheets="1:2:%s"><b></b> <span></span></p>'


class Server:
    """What of MkDocs's live-reload server is asked: the number of the build under way and of the one
    that can be seen."""

    mount_path = "/manual/"

    def __init__(self) -> None:
        self._wanted_epoch = self._visible_epoch = 100
        self._epoch_cond = threading.Condition()

    def get_app(self) -> Callable[[dict[str, Any], Any], list[bytes]]:
        return lambda environ, start: [b"MkDocs"]

    def rebuilds(self, build: Callable[[], None]) -> int:
        self._wanted_epoch += 10
        build()
        with self._epoch_cond:
            self._visible_epoch = self._wanted_epoch
            self._epoch_cond.notify_all()
        return self._visible_epoch


def asks(app: Any, page: str | None, epoch: int, loaded: int = 7) -> bytes:
    """What an open page is answered that was loaded at a build, and ``loaded`` at a time."""
    environ = {"PATH_INFO": f"/livereload/{epoch}/{loaded}"}
    environ |= {"HTTP_REFERER": f"http://localhost:8000/manual/{page}"} if page is not None else {}
    (answer,) = app(environ, lambda status, headers: None)
    return bytes(answer)


@pytest.fixture(autouse=True)
def nobody_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("generator.site.reloading._LONGEST_S", 0.01)


def test_a_page_is_loaded_again_when_it_says_something_else() -> None:
    pages, server = Reloading(), Server()

    def build(**said: str) -> None:
        for url, html in said.items():
            pages.saw(f"{url}/", html)
        pages.built(whole=True)

    build(one='<a href="x.js?0123456789">1', two="2")
    app = pages.answering(server)
    assert asks(app, "one/", 100) == b"100", "nothing was built since"
    server.rebuilds(lambda: build(one='<a href="x.js?9876543210">1', two="2 new"))
    assert asks(app, "one/", 100) == b"100", "a stamp is no word of the page"
    assert asks(app, "two/", 100) == b"110"
    assert asks(app, "two/", 110) == b"110", "it is loaded again once"
    assert asks(app, "two/index.html?a=1#b", 100) == b"110"
    server.rebuilds(lambda: build(one="1", two="2 new"))
    assert asks(app, "one/", 100) == b"120"
    assert asks(app, "two/", 100) == b"120", "one that missed a build gets the newest"
    server.rebuilds(lambda: build(one="1"))
    assert asks(app, "two/", 110) == b"130", "it is gone"
    assert asks(app, "elsewhere/", 100) == asks(app, None, 100) == b"MkDocs"


def test_who_waits_is_answered_as_soon_as_the_page_is_there(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("generator.site.reloading._LONGEST_S", 30)
    pages, server, got = Reloading(), Server(), []
    pages.saw("one/", "1")
    pages.built(whole=True)
    app = pages.answering(server)
    waiting = threading.Thread(target=lambda: got.append(asks(app, "one/", 100)))
    waiting.start()

    def build() -> None:
        pages.saw("one/", "other")
        pages.built(whole=True)
        assert not got, "the site isn't written yet"

    server.rebuilds(build)
    waiting.join(timeout=10)
    assert got == [b"110"]


def test_a_page_written_first_is_loaded_again_once(monkeypatch: pytest.MonkeyPatch) -> None:
    pages, server = Reloading(), Server()

    def build(**said: str) -> None:
        for url, html in said.items():
            pages.saw(f"{url}/", html)
        pages.built(whole=True)

    build(one=f"{PAPER % 'ab'}1 kg", two="2")
    app = pages.answering(server)
    monkeypatch.setattr("generator.site.reloading._now", lambda: 5000)
    pages.first("one/", "2 kg")
    assert asks(app, "one/", 100, loaded=4000) == b"101", "loaded before it was written"
    assert asks(app, "one/", 100, loaded=5001) == b"100", "it shows what was saved"
    assert asks(app, "two/", 100, loaded=4000) == b"100"
    server.rebuilds(lambda: build(one="2 kg", two="2"))
    assert asks(app, "one/", 100, loaded=5001) == b"100", "the whole build says the same"
    server.rebuilds(lambda: build(one=f"{PAPER % 'ab'}3 kg", two="2"))
    assert asks(app, "one/", 100, loaded=5001) == b"120"
    server.rebuilds(lambda: build(one=f"{PAPER % 'cd'}3 kg", two="2"))
    assert asks(app, "one/", 120, loaded=6001) == b"120", "what paper says is nothing to look at"


def test_another_version_of_the_server_reloads_as_it_likes() -> None:
    server = Server()
    del server._epoch_cond
    assert asks(Reloading().answering(server), "one/", 100) == b"MkDocs"


@pytest.mark.parametrize("ends", [True, False])
def test_a_build_leaves_the_builder_to_who_serves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ends: bool
) -> None:
    """MkDocs keeps a plugin for all configurations of a process."""
    (tmp_path / "mkdocs.yml").write_text(SITE, encoding="utf-8")
    (tmp_path / "pages").mkdir()
    _, plugin = _config(tmp_path)
    serves, used = plugin.served, []

    def built(config: Any) -> None:
        used.append(plugin.served)
        if not ends:
            raise Abort("stopped")

    monkeypatch.setattr("mkdocs.commands.build.build", built)
    monkeypatch.setattr(
        plugin, "serving", False, raising=False
    )  # put back for the tests that serve
    monkeypatch.setattr(plugin, "pages", {}, raising=False)
    with nullcontext() if ends else pytest.raises(PublishError):
        _mkdocs_build(
            SimpleNamespace(project=tmp_path), tmp_path / "s", True, True, lambda _: Left()
        )  # type: ignore[arg-type]
    assert plugin.served is serves
    assert isinstance(used[0], Linked)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Any]]:
    """A kitchen and a build of it as `serve` makes one: what it wrote, and what an open page that was
    loaded before is answered."""
    from mkdocs.commands.build import build

    tmp = tmp_path_factory.mktemp("served")
    project = lay("base", tmp / "kitchen")
    (project / "pages").mkdir()
    (project / "pages/about.md").write_text("# About\n\nWords.\n", encoding="utf-8")
    (project / "mkdocs.yml").write_text(SITE, encoding="utf-8")
    config, plugin = _config(project, site_dir=str(tmp / "site"))
    plugin.earlier.kept, plugin.day = Kept(remembers=True), AS_OF
    config.plugins.on_startup(command="serve", dirty=False)

    def once() -> None:
        config, same = _config(project, site_dir=str(tmp / "site"))
        assert same is plugin, "MkDocs keeps it from build to build"
        build(config, serve_url="http://127.0.0.1:8000/manual/")

    once()
    server = Server()
    app = plugin.reloading.answering(server)

    def after(edit: Callable[[], object]) -> set[str]:
        """The pages that are loaded again after an edit, of those opened just before it: what an
        earlier test had written first they show."""
        loaded = _now()
        edit()
        before = server._visible_epoch
        server.rebuilds(once)
        known = list(plugin.reloading._said)
        return {url for url in known if asks(app, url, before, loaded) != b"%d" % before}

    after.plugin = plugin  # type: ignore[attr-defined]
    yield project, (after, tmp / "site")
    plugin.earlier.kept = plugin.day = None
    config.plugins.on_shutdown()


def test_one_edit_reloads_the_pages_that_show_it(served: tuple[Path, Any]) -> None:
    project, (after, _) = served
    salad = project / "standards/formulas/rice-salad.yaml"
    text = salad.read_text(encoding="utf-8")
    assert after(lambda: None) == set(), "nothing changed"
    changed = after(lambda: salad.write_text(text.replace("2 kg", "2.5 kg", 1), encoding="utf-8"))
    assert "pass/rice-salad/" in changed
    untouched = {"range/pork-bake/", "pass/house-spice/", "about/", "", "control/allergens/"}
    assert not untouched & changed, changed
    assert "pass/rice-salad/" in after(lambda: salad.write_text(text, encoding="utf-8"))


def bytes_in(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, and every folder."""
    found = sorted(folder.rglob("*"))
    return {p.relative_to(folder).as_posix(): p.read_bytes() if p.is_file() else b"" for p in found}


def test_after_each_edit_the_folder_is_as_one_served_first_would_be(
    served: tuple[Path, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pages that stay aren't written again, and nothing of what went is left."""
    from mkdocs import utils
    from mkdocs.commands.build import build

    project, (after, site) = served
    written: list[str] = []
    true = utils.write_file

    def counted(data: bytes, path: str) -> None:
        written.append(Path(path).relative_to(site).as_posix())
        true(data, path)

    formulas, pages = project / "standards/formulas", project / "pages"
    salad, about = formulas / "rice-salad.yaml", pages / "about.md"
    text = salad.read_text(encoding="utf-8")
    edits: list[tuple[Callable[[], object], int]] = [
        (lambda: salad.write_text(text.replace("2 kg", "2.5 kg", 1), "utf-8"), 20),
        (lambda: salad.write_text(text.replace("name: ", "name: Zwieback ", 1), "utf-8"), 999),
        (
            lambda: (formulas / "other.yaml").write_text(
                text.replace("name: ", "name: B "), "utf-8"
            ),
            999,
        ),
        (lambda: (pages / "new.md").write_text("# New\n\n[old](about.md#about)\n", "utf-8"), 999),
        (lambda: (pages / "list.csv").write_text("1,2\n", "utf-8"), 20),
        (lambda: (pages / "list.csv").write_text("1,3\n", "utf-8"), 20),
        (lambda: about.write_text("# About\n\nOther words.\n", "utf-8"), 999),
        (lambda: (pages / "list.csv").unlink(), 20),
        (lambda: (formulas / "other.yaml").unlink(), 999),
        (lambda: (pages / "new.md").unlink(), 999),
        (lambda: salad.write_text("a: [", "utf-8"), 999),
        (lambda: salad.write_text(text, "utf-8"), 999),
        (lambda: None, 15),
    ]
    for number, (edit, most) in enumerate(edits):
        written.clear()
        with monkeypatch.context() as patch:
            patch.setattr(utils, "write_file", counted)
            after(edit)
        config, plugin = _config(project, site_dir=str(tmp_path / str(number)))
        with monkeypatch.context() as patch:  # MkDocs has one of them in a process
            patch.setattr(plugin, "served", Served(Reloading()))
            patch.setattr(plugin.earlier, "kept", NOTHING)
            build(config, serve_url="http://127.0.0.1:8000/manual/")
        assert bytes_in(site) == bytes_in(tmp_path / str(number)), f"after edit {number}"
        assert len(written) <= most, (number, written)
    assert after(lambda: None) == set()


_SEEN_LATER = re.compile(r'\?[0-9a-f]{10}\b|\n?<p class="ks-paper"[^>]*><b></b> <span></span></p>')
"""What the whole build alone knows: stamps of the files round a page, the hashes of paper."""
_FIGURE = re.compile(r"(?<![\w.-])[1-9]\d*(?=(?:\.\d+)? (?:kg|g|%|°C|h|min)\b)")


def _other_figure(text: str, rng: random.Random) -> str:
    """A formula with one of its figures otherwise."""
    one = rng.choice(list(_FIGURE.finditer(text)))
    return text[: one.start()] + str(int(one[0]) + rng.choice((1, 2))) + text[one.end() :]


def _with_a_fault(text: str, rng: random.Random) -> str:
    """A formula with a slip in it: a key, a unit, a bracket, a name, a line too few."""
    lines = text.splitlines(keepends=True)
    number = rng.randrange(1, len(lines))
    slip = rng.choice(
        (
            lambda line: line.replace("a", "ae", 1),
            lambda line: line.replace(" g", " grms", 1),
            lambda line: line.rstrip("\n") + " [\n",
            lambda line: "",
        )
    )
    return "".join([*lines[:number], slip(lines[number]), *lines[number + 1 :]])


@pytest.mark.parametrize("many", [5, pytest.param(150, marks=pytest.mark.slow)])
def test_what_is_shown_first_is_what_the_whole_build_says(
    served: tuple[Path, Any], many: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A figure of any formula is changed, or a slip made in it, and the formula saved: its page is
    written alone, and the build that follows writes the same words, or the same findings and more.
    It is mended, sometimes before the build comes to it."""
    from mkdocs.commands.build import build

    project, (after, site) = served
    first, rng = after.plugin.show_first, random.Random(22)
    cards = sorted((project / "standards/formulas").glob("*.yaml"))
    cards = [one for one in cards if _FIGURE.search(one.read_text("utf-8"))]
    shown = 0

    def shown_first() -> dict[Path, str]:
        """What is written first, without what is seen later: of one page at most."""
        before = {p: p.read_text("utf-8") for p in site.rglob("index.html")}
        written = first()
        now = {p: p.read_text("utf-8") for p in before}
        new = {p: _SEEN_LATER.sub("", words) for p, words in now.items() if words != before[p]}
        assert len(new) <= (1 if written else 0), list(new)
        return new

    after(lambda: None)
    for number in range(many):
        card = rng.choice(cards)
        text = card.read_text("utf-8")
        other = _other_figure(text, rng) if rng.random() < 0.6 else _with_a_fault(text, rng)
        for words in (other, text):
            card.write_text(words, "utf-8")
            said = shown_first()
            shown += len(said)
            if words is text or rng.random() < 0.7:  # else it is saved before the build comes to it
                after(lambda: None)
                for path, first_words in said.items():
                    now = _SEEN_LATER.sub("", path.read_text("utf-8")).splitlines()
                    differing = list(difflib.unified_diff(first_words.splitlines(), now, n=0))
                    assert not differing, (number, card.name, other, differing)
    assert shown >= many // 2
    config, plugin = _config(project, site_dir=str(tmp_path / "whole"))
    with monkeypatch.context() as patch:
        patch.setattr(plugin, "served", Served(Reloading()))
        patch.setattr(plugin.earlier, "kept", NOTHING)
        build(config, serve_url="http://127.0.0.1:8000/manual/")
    assert bytes_in(site) == bytes_in(tmp_path / "whole")


def test_what_isnt_one_formulas_own_is_left_to_the_whole_build(served: tuple[Path, Any]) -> None:
    project, (after, site) = served
    first, standards = after.plugin.show_first, project / "standards"
    salad, kitchen = standards / "formulas/rice-salad.yaml", standards / "kitchen.yaml"
    text, cups = salad.read_text("utf-8"), kitchen.read_text("utf-8")
    after(lambda: None)
    assert not first(), "nothing was saved"
    before = bytes_in(site)
    for other in ("a: [", text.replace("name: ", "name: B", 1)):  # its name is on other pages
        salad.write_text(other, "utf-8")
        assert not first() and bytes_in(site) == before
    salad.write_text(text.replace("2 kg", "2.5 kg", 1), "utf-8")
    kitchen.write_text(f"{cups}\n", "utf-8")
    assert not first() and bytes_in(site) == before, "two files were saved"
    kitchen.write_text(cups, "utf-8")
    after(lambda: salad.write_text(text, "utf-8"))
    salad.unlink()
    assert not first()
    after(lambda: salad.write_text(text, "utf-8"))


def test_the_whole_build_follows_whatever_comes_of_the_first_page(
    served: tuple[Path, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, (after, _) = served
    built: list[int] = []
    plugin = after.plugin

    def fails() -> bool:
        raise OSError("the disk is full")

    monkeypatch.setattr(plugin, "show_first", fails)
    plugin.built_after_first(lambda: built.append(1))
    assert built == [1]


def test_what_is_wrong_is_in_the_page_and_the_rest_stays(served: tuple[Path, Any]) -> None:
    project, (after, site) = served
    salad = project / "standards/formulas/rice-salad.yaml"
    text = salad.read_text(encoding="utf-8")
    bake = (site / "range/pork-bake/index.html").read_text(encoding="utf-8")
    changed = after(lambda: salad.write_text(text.replace("station:", "statoin:"), "utf-8"))
    page = (site / "pass/rice-salad/index.html").read_text(encoding="utf-8")
    assert "pass/rice-salad/" in changed and "statoin" in page and "Not computed" in page
    assert "kg" in bake and "range/pork-bake/" in set(_in(site))
    assert after(lambda: salad.write_text("a: [", encoding="utf-8")) >= {"pass/rice-salad/"}
    assert after(lambda: salad.write_text(text, encoding="utf-8")) >= {"pass/rice-salad/"}
    assert (site / "range/pork-bake/index.html").read_text(encoding="utf-8") == bake


def test_without_a_kitchen_open_pages_stay_as_they_are(served: tuple[Path, Any]) -> None:
    project, (after, _) = served
    kitchen = project / "standards/kitchen.yaml"
    text = kitchen.read_text(encoding="utf-8")
    changed = after(lambda: kitchen.write_text("a: [", encoding="utf-8"))
    assert "" in changed and "control/limits/" not in changed, "home says what is wrong"
    assert "" in after(lambda: kitchen.write_text(text, encoding="utf-8"))


def _in(site: Path) -> Iterator[str]:
    for path in site.rglob("index.html"):
        folder = path.parent.relative_to(site).as_posix()
        yield "" if folder == "." else f"{folder}/"


PIECES = (
    *(
        "<script",
        "<link",
        "<img",
        "<a",
        "<iframe",
        " src=",
        " href=",
        " data=",
        " srcset =",
        "rel=",
    ),
    *(
        "stylesheet",
        "icon",
        "canonical",
        '"',
        "'",
        ">",
        "/>",
        "//",
        "https://",
        "http:",
        "x",
        " ",
        "\n",
    ),
    *("@import ", "url(", "(", ")", "a.example", "SRC=", "<LINK", "</a", "="),
)


def test_what_is_fetched_is_found_as_by_looking_at_every_sign() -> None:
    """Random pieces of pages, and of none; the pattern over the whole text is what it must equal."""
    rng, found = random.Random(5), 0
    for _ in range(6000):
        text = "".join(rng.choice(PIECES) for _ in range(rng.randint(3, 24)))
        whole = publish._FETCHED.search(text)
        assert fetched_in(text) == (whole[0] if whole else ""), text
        found += whole is not None
    assert found > 300, "some must fetch"

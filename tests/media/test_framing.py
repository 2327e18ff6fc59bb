"""The frame: the policy holds on every page, the style sheet loses nothing a page asks for, the
files carry their stamps, the sign is a picture."""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import re
import struct
import zlib
from pathlib import Path

import jinja2
import pytest
from conftest import ROOT, compute
from each_row import each_row
from mkdocs.config import load_config
from mkdocs.structure.files import Files

from generator.framing import LICENCE_FILE, LOOK_FILE, MORE_FILE, POLICY, STATIC
from generator.framing.icon import png, svg
from generator.framing.policy import refused_in
from generator.framing.searching import Entry
from generator.framing.slim import slim, slim_sheet
from generator.framing.trimming import _parted, names_in, parted, trimmed
from generator.pages import ASSETS, ON_DEMAND
from generator.pages import STATIC as LOOK
from generator.pages.page import Body
from generator.site.publish import build_site
from generator.site.theming import quickened


def test_the_policy_is_the_one_that_was_settled() -> None:
    assert POLICY == (
        "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
        "form-action 'none'"
    )


def test_nothing_on_any_page_needs_more_than_the_policy_gives(demo_site: Path) -> None:
    pages = sorted(demo_site.rglob("*.html"))
    assert len(pages) > 140
    for path in pages:
        html = path.read_text(encoding="utf-8")
        head = html[: html.index("</head>")]
        meta = f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        assert meta in head and head.index(meta) < head.index("<link"), path
        assert refused_in(html) == [], path
        # A second look, by another reading: the words themselves.
        assert not re.search(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+=[\"']", html), path


@each_row(
    ("html", "reported"),
    [
        ('<p style="color:red">', "style= in <p>"),
        ("<script>1</script>", "<script>"),
        ("<STYLE>a{}</STYLE>", "<style>"),
        ("<a onclick='x()'>", "onclick= in <a>"),
        ('<a href=" JavaScript:x()">', "href=javascript: in <a>"),
        ('<form action="/x">', "<form>"),
        ('<img src="https://example.org/a.png">', "src= to another place in <img>"),
        ("<object data=x>", "<object>"),
        ('<link rel="stylesheet" href="//example.org/a.css">', "href= to another place in <link>"),
        ('<base href="/">', "<base>"),
    ],
)
def test_what_the_policy_refuses_is_seen(html: str, reported: str) -> None:
    assert refused_in(html) == [reported]


@each_row(
    "html",
    [
        '<script type="application/json">{}</script>',
        '<script src="x.js"></script>',
        "<p>style=&quot;x&quot; &lt;script&gt;</p>",
        '<td align="right">',
        '<a href="https://example.org">',
    ],
)
def test_what_the_policy_allows_is_let_be(html: str) -> None:
    assert refused_in(html) == []


def test_a_page_by_hand_that_breaks_it_is_reported(
    kitchen: Path, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (kitchen / "pages").mkdir()
    (kitchen / "pages/mine.md").write_text(
        '# Mine\n\n<p style="color:red">Red</p>\n\n|a|b|\n|-:|:-|\n|1|2|\n'
    )
    (kitchen / "mkdocs.yml").write_text(
        "site_name: X\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
        "plugins: [kitchen-manual]\n"
    )
    with caplog.at_level("WARNING", logger="mkdocs"):
        build_site(compute(kitchen), tmp_path / "site", strict=False)
    assert "mine.md: style= in <p> is refused by the site's security policy" in caplog.text
    assert caplog.text.count("refused") == 1, "a table's columns are aligned without a style"
    assert 'align="right"' in (tmp_path / "site/mine/index.html").read_text()


SHEET = """@charset "UTF-8";
/* a { } */
:root{--used:url("data:image/svg+xml,<svg a='}'/>");--unused:1px;--through:var(--deep);--deep:2px}
.here,.gone .x{color:red}
.gone{background:var(--unused)}
a:not(.gone)>b{margin:0}
:is(.gone,.here) i{margin:var(--through)}
@media (min-width:1em){.gone{top:0}.here::before{content:"}.gone{";background:var(--used)}}
@media print{.gone{top:1px}}
@keyframes turn{0%{left:0}to{left:1px}}
.a\\:b{top:2px}
[data-x=".gone"] p{top:3px}
"""


def test_a_sheet_keeps_what_pages_ask_for_and_nothing_else() -> None:
    cut = trimmed(SHEET, {"here", "a:b"})
    assert cut == (
        """:root{--used:url("data:image/svg+xml,<svg a='}'/>");--through:var(--deep);--deep:2px}"""
        """.here{color:red}a:not(.gone)>b{margin:0}:is(.gone,.here) i{margin:var(--through)}"""
        """@media (min-width:1em){.here::before{content:"}.gone{";background:var(--used)}}"""
        """@keyframes turn{0%{left:0}to{left:1px}}.a\\:b{top:2px}[data-x=".gone"] p{top:3px}"""
    )
    assert trimmed(cut, {"here", "a:b"}) == cut


def test_a_sheet_that_ends_too_soon_is_refused() -> None:
    with pytest.raises(ValueError, match="braces"):
        trimmed(".a{color:red", {"a"})


def test_names_are_read_from_every_kind_of_quote() -> None:
    escaped = Body.of('<p class="ks-fig ks&#45;two">')
    assert "ks-two" in names_in([escaped]), "as the pages' escaper writes it"
    bodies = [Body.of('<p class="a b-c" id=d>'), Body.of("<i id='e' data-class=\"no\">")]
    assert names_in(bodies) >= {"a", "b-c", "d", "e"}


def test_every_file_of_the_frame_carries_the_stamp_of_its_content(demo_site: Path) -> None:
    page = (demo_site / "cold-kitchen/turkey-chive-roll/index.html").read_text()
    stamped = re.findall(r'(?:src|href)="\.\./\.\./(assets/[\w.-]+)\?(\w+)"', page)
    for data in ("then", "print", "find"):
        listed = re.findall(rf'data-{data}="([^"]+)"', page)[0]
        stamped += re.findall(r"(assets/[\w.-]+)\?(\w+)", listed)
    names = [name for name, _ in stamped]
    assert {
        "assets/manual.css",
        "assets/start.js",
        "assets/frame.js",
        "assets/manual.js",
        "assets/find.js",
        "assets/minisearch.js",
    } <= set(names)
    assert " assets/index.js " in page, "without a stamp, which would change every page"
    for name, stamp in stamped:
        assert hashlib.sha256((demo_site / name).read_bytes()).hexdigest().startswith(stamp), name
    assert not list(demo_site.rglob("bundle*.js")) and not list(demo_site.rglob("*.map"))


def test_scripts_hold_no_text_over_several_lines() -> None:
    """``slim`` takes away line ends' indents; a text over lines would lose its own."""
    for path in [*STATIC.glob("*.js"), *(LOOK / a for a in ASSETS if a.endswith(".js"))]:
        if path.name == "minisearch.js":
            continue
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            assert line.count("`") % 2 == 0, f"{path.name}:{number}"
    assert slim("// a\n  b();\n\n    // c\n  d(`x // y`);\n") == "b();\nd(`x // y`);\n"


def test_the_cut_style_sheet_carries_its_licence_as_its_package_has_it(demo_site: Path) -> None:
    """The MIT licence asks for its notice in every substantial part (the package's own copy)."""
    files = importlib.metadata.files("mkdocs-material") or []
    notice = next(f for f in files if f.name == "LICENSE" and "dist-info" in f.parts[0]).read_text()
    words = [line for line in notice.splitlines() if line and "Copyright" not in line]
    text = (demo_site / LICENCE_FILE).read_text(encoding="utf-8")
    assert all(line in text for line in words)
    assert "Martin Donath" in text
    sheet = (demo_site / LOOK_FILE).read_text(encoding="utf-8")
    assert sheet.startswith("/*! mkdocs-material, cut.")
    assert "Martin Donath" in sheet.partition("*/")[0] and "MIT" in sheet.partition("*/")[0]
    assert LICENCE_FILE.rpartition("/")[2] in sheet.partition("*/")[0]


def test_a_sheet_parts_in_two_that_hold_each_rule_once() -> None:
    """A selector goes where its classes are; what asks for none stays in the first."""
    css = "p{a:b}.x,.y .x{c:d}@media print{.y{e:f}p{g:h}}@font-face{i:j}.x:not(.y){k:l}"
    assert parted(css, {"y"}) == (
        "p{a:b}.x{c:d}@media print{p{g:h}}@font-face{i:j}.x:not(.y){k:l}",
        ".y .x{c:d}@media print{.y{e:f}}",
    )


def test_a_slimmed_sheet_says_the_same() -> None:
    sheet = """/* why */
    .a > .b , p :is(.c, .d)::before { content: "· ; {" ; width: calc(100% - 6px); }
    @media screen and (min-width: 3px) {
      .e { inset: auto 0 0; }
    }
    """
    assert slim_sheet(sheet) == (
        '.a>.b,p :is(.c,.d)::before{content:"· ; {";width:calc(100% - 6px)}'
        "@media screen and (min-width:3px){.e{inset:auto 0 0}}\n"
    )


def test_a_formula_asks_for_no_sheet_of_other_pages(demo_site: Path) -> None:
    """Its first look waits for one file; the other pages have the rules that it doesn't need."""
    formula = (demo_site / "cold-kitchen/turkey-chive-roll/index.html").read_text()
    register = (demo_site / "control/limits/index.html").read_text()
    assert "assets/more.css" not in formula and "assets/more.css" in register
    assert "defer" not in formula and formula.count("<script") == 1
    first, more = ((demo_site / name).read_text() for name in (LOOK_FILE, MORE_FILE))
    assert ".ks-grid" in more and ".ks-grid" not in first
    assert "#sxl0" in first, "an id that a script puts together"
    assert ".ks-limit" in first and ".ks-limit{" not in more


def test_the_kept_library_names_its_version_and_licence() -> None:
    text = (STATIC / "minisearch.js").read_text(encoding="utf-8")
    assert text.startswith("/*! MiniSearch 7.2.0") and "Permission is hereby granted" in text
    assert "MiniSearch 7.2.0" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_kept_code_writer_names_its_version_and_licence() -> None:
    text = (LOOK / "qr.js").read_text(encoding="utf-8")
    assert text.startswith("/*! uqr 0.1.3") and "Permission is hereby granted" in text
    assert "uqr 0.1.3" in (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("script", ["frame.js", "bench.js", "hand.js", "handover.js"])
def test_what_a_script_fetches_it_asks_for_by_its_stamp(demo_site: Path, script: str) -> None:
    text = (demo_site / "assets" / script).read_text(encoding="utf-8")
    asked = re.findall(r'"(\w+\.js)(?:\?(\w+))?"', text)
    late = [(name, stamp) for name, stamp in asked if name in ON_DEMAND]
    assert late
    for name, stamp in late:
        data = (demo_site / "assets" / name).read_bytes()
        assert stamp and hashlib.sha256(data).hexdigest().startswith(stamp), name


def test_the_picture_of_the_sign_is_its_drawing() -> None:
    """Each dot has the colour of the last shape over it; a shape ends where its edge is."""
    data = png(32)
    at = data.index(b"IDAT")
    (length,) = struct.unpack(">I", data[at - 4 : at])
    rows = zlib.decompress(data[at + 4 : at + 4 + length])
    drawn = [["" for _ in range(32)] for _ in range(32)]
    for fill, *edges in re.findall(r'fill="#(\w+)" d="M(\d+) (\d+)H(\d+)V(\d+)H', svg()):
        left, top, right, bottom = map(int, edges)
        for y in range(top, bottom):
            drawn[y][left:right] = [fill] * (right - left)
    for y, row in enumerate(drawn):
        begin = y * 97 + 1
        assert [rows[begin + 3 * x : begin + 3 * x + 3].hex() for x in range(32)] == row, y


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("[a],b", ["[a]", "b"]),
        ("(a,b),c", ["(a,b)", "c"]),
        ("a", ["a"]),
        ("a,'b,c',", ["a", "'b,c'", ""]),
    ],
)
def test_a_list_of_selectors_is_parted_outside_of_brackets(text: str, parts: list[str]) -> None:
    assert _parted(text, ",") == parts


def test_a_row_of_the_search_leaves_out_only_its_empty_end() -> None:
    assert Entry("Salt", "ingredient", "salt/").row() == ["Salt", "ingredient", "salt/"]
    heavy = Entry("Salt", "ingredient", "salt/", words=("salty", "sea"), weight=0.5)
    assert heavy.row() == ["Salt", "ingredient", "salt/", "", "salty sea", [], 0.5]
    also = Entry("Salt", "ingredient", "salt/", also=("Fine", "Sea"), refs=[3])
    assert also.row() == ["Salt", "ingredient", "salt/", "Fine, Sea", "", [3]]


@pytest.mark.parametrize("size", [192, 512])
def test_the_sign_is_a_picture_of_its_size(size: int) -> None:
    """Read back chunk by chunk (ISO/IEC 15948): size, checks, and as many bytes as pixels."""
    data = png(size)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        name, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(
            name + body
        )
        chunks[name] = body
        at += 12 + length
    assert struct.unpack(">II", chunks[b"IHDR"][:8]) == (size, size)
    pixels = zlib.decompress(chunks[b"IDAT"])
    assert len(pixels) == size * (1 + 3 * size)

    def colour(x: int, y: int) -> str:
        at = y * (1 + 3 * size) + 1 + 3 * x
        return pixels[at : at + 3].hex()

    unit = size // 32
    assert colour(0, 0) == colour(size - 1, size - 1) == "0b4f5e", "accent to the edge"
    assert colour(8 * unit, 8 * unit) == "fbfaf6" and colour(9 * unit, 13 * unit) == "0b4f5e"
    assert svg().startswith("<svg ") and len(set(re.findall(r'fill="(#\w+)"', svg()))) == 2


def test_the_phone_is_reported_what_to_put_on_its_screen(demo_site: Path) -> None:
    facts = json.loads((demo_site / "manifest.webmanifest").read_text(encoding="utf-8"))
    assert facts["name"] == "Heron Mill Canteen · standards manual"
    assert facts["short_name"] == "Heron Mill Canteen" and facts["display"] == "standalone"
    assert {i["sizes"] for i in facts["icons"]} == {"192x192", "512x512"}
    assert {i["purpose"] for i in facts["icons"]} == {"any", "maskable"}
    for icon in facts["icons"]:
        assert (demo_site / icon["src"]).read_bytes()[:4] == b"\x89PNG"


# ---- the theme's templates


def test_a_site_gets_the_same_files_of_the_theme_without_a_walk_through_its_icons() -> None:
    config = load_config(str(ROOT / "mkdocs.yml"))
    plain, quick = config.theme.get_env(), load_config(str(ROOT / "mkdocs.yml")).theme
    quickened(quick)
    env = quick.get_env()
    assert len(env.list_templates()) < len(plain.list_templates()) / 50
    hidden = [name for name in plain.list_templates() if "/." in f"/{name}"]
    assert set(plain.list_templates()) - set(env.list_templates()) == set(hidden)
    assert env.get_template(hidden[0]).render() == plain.get_template(hidden[0]).render()
    found = []
    for one in (plain, env):
        files = Files([])
        files.add_files_from_theme(one, config)
        found.append([file.src_uri for file in files])
    assert found[0] == found[1] and len(found[0]) > 10


def test_a_template_is_compiled_once_and_again_when_it_is_changed(tmp_path: Path) -> None:
    class Theme:
        dirs = (str(tmp_path),)

        def get_env(self) -> jinja2.Environment:
            return jinja2.Environment()

    def shown(*extensions: str) -> str:
        theme = Theme()
        quickened(theme)
        env = theme.get_env()
        for extension in extensions:
            env.add_extension(extension)
        return env.get_template("page.html").render(n=7)

    (tmp_path / "page.html").write_text("{{ n }} loaves")
    with pytest.MonkeyPatch.context() as patch:
        compiled = []
        compile_ = jinja2.Environment.compile
        patch.setattr(
            jinja2.Environment,
            "compile",
            lambda self, *a, **k: compiled.append(a) or compile_(self, *a, **k),  # type: ignore[func-returns-value]
        )
        assert [shown(), shown()] == ["7 loaves"] * 2 and len(compiled) == 1
        (tmp_path / "page.html").write_text("{{ n }} rolls{% do 1 %}")
        with pytest.raises(jinja2.TemplateSyntaxError):
            shown()
        assert shown("jinja2.ext.do") == "7 rolls"
        with pytest.raises(jinja2.TemplateSyntaxError):
            shown()  # what one environment may read is none of another's

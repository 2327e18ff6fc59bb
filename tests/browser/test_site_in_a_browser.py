"""The built demo in a real browser: nothing cut off, no script needed, no request leaves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from browsing import KINDS
from browsing import tab as phone
from conftest import ROOT

from generator.sheet.manual import Manual

PAGES = (
    "",
    "cold-kitchen/",
    "cold-kitchen/turkey-chive-roll/",
    "cold-kitchen/sour-beets/",
    "counter/melon-tomato/",
    "bakehouse/mill-loaf/",
    "control/limits/",
    "control/allergens/",
    "control/cautions/",
    "kitchen/processes/",
    "processes/poached-roll/",
    "kitchen/ingredients/",
    "ingredients/egg-whole/",
    "kitchen/equipment/",
    "reference/conversions/",
    "reference/glossary/",
    "reference/sources/",
    "reference/tags/",
    "reference/find/",
    "about/",
)
FORMULA = "cold-kitchen/turkey-chive-roll/"


CUT = """() => [...document.querySelectorAll('.ks *')].filter(e => {
    const s = getComputedStyle(e), r = e.getBoundingClientRect();
    if (!r.width || s.position === 'absolute' || e.closest('pre, .ks-hide')) return false;
    return r.right > innerWidth + 1 || r.left < -17;
}).map(e => e.className || e.tagName)"""
SMALL = """() => [...document.querySelectorAll('.ks *')].filter(e => e.offsetParent && e.tagName !== 'INPUT'
    && parseFloat(getComputedStyle(e).fontSize) < 16).map(e => e.className || e.tagName)"""
LOW = """() => [...document.querySelectorAll('.ks-list > li, summary, .ks-trail a, .ks-button, .ks-bar a')]
    .filter(e => e.offsetParent && e.getBoundingClientRect().height < 47.9).map(e => e.textContent)"""
BROKEN = """() => {
    const all = [...document.querySelectorAll('.ks dt, .ks-bar a')];
    all.forEach(e => { e.style.overflowWrap = 'normal'; });  // a word broken in two is as bad as one cut off
    const broken = all.filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent);
    all.forEach(e => { e.style.overflowWrap = ''; });
    return broken;
}"""


LOOKED = f"() => [[innerWidth, document.documentElement.scrollWidth <= innerWidth], ({CUT})(), ({SMALL})(), ({LOW})(), ({BROKEN})()]"


WIDTHS = (320, 360, 390, 768, 1280)


def assert_nothing_is_cut_off(tab: Any, page: str, widths: Sequence[int] = WIDTHS) -> None:
    """Nothing is wider than the glass; no text is below 16 px, and what is tapped beside the running
    text is 48 px high. Of the page that is open, in one width after the other."""
    for width in widths:
        tab.set_viewport_size({"width": width, "height": 800})
        inside, cut, small, low, broken = tab.evaluate(LOOKED)
        assert inside == [width, True], page
        assert cut == [], (page, width)
        if page not in ("", "about/") and width < 1000:
            assert small == [], (page, width)
            assert low == [], (page, width)
            assert broken == [], (page, width)


@contextmanager
def quiet(tab: Any, address: str) -> Iterator[None]:
    """No request leaves for elsewhere, and the console has no fault."""
    requests: list[str] = []
    faults: list[str] = []
    tab.on("request", lambda r: requests.append(r.url))
    tab.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    yield
    assert [r for r in requests if not r.startswith(address)] == []
    assert faults == []


def test_nothing_is_cut_off_or_too_small(browser: Any, address: str) -> None:
    """Each page loaded once, looked at in five widths: those of a kind are in the visit of
    ``test_axe_finds_nothing``."""
    with phone(browser, viewport={"width": 320, "height": 800}) as tab, quiet(tab, address):
        for number, page in enumerate(one for one in PAGES if one not in KINDS):
            tab.goto(address + page)
            assert_nothing_is_cut_off(tab, page, WIDTHS[:: -1 if number % 2 else 1])


GUIDE = sorted((ROOT / "site_demo/guide").rglob("*.md"))


def test_the_guide_is_read_on_a_phone(browser: Any, address: str) -> None:
    """Nothing wider than the glass, not even what is typed."""
    assert len(GUIDE) >= 12
    with phone(browser, viewport={"width": 320, "height": 800}) as tab:
        for number, path in enumerate(GUIDE):
            page = path.relative_to(ROOT / "site_demo").with_suffix("").as_posix()
            tab.goto(address + page.removesuffix("index").rstrip("/") + "/")
            for width in (390, 320) if number % 2 else (320, 390):
                tab.set_viewport_size({"width": width, "height": 800})
                inside, wide, cut = tab.evaluate(
                    """() => [innerWidth, document.documentElement.scrollWidth, [...document.querySelectorAll('.md-content *')].filter(e => {
                        const r = e.getBoundingClientRect();
                        const slides = e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).overflowX !== 'visible';
                        return r.width && (r.right > innerWidth + 1 || slides && e.clientWidth);
                    }).map(e => e.tagName + ' ' + e.textContent.slice(0, 40))]"""
                )
                assert inside == width and wide <= width, path.stem
                assert cut == [], path.stem


def test_sizes_and_loads_change_without_a_script(browser: Any, address: str, demo: Manual) -> None:
    with phone(browser, viewport={"width": 390, "height": 844}, java_script_enabled=False) as tab:
        tab.goto(address + FORMULA)
        first, second = demo.sheets["turkey-chive-roll"].batches[:2]

        def shown(batch: Any, name: str) -> str:
            return next(
                ln.weighing.scale.shows(ln.weighing.grams)
                for ln in batch.lines
                if ln.name.startswith(name)
            )

        row = tab.locator(".ks-row:visible").first
        assert shown(first, "Turkey thigh") in row.inner_text()
        assert tab.locator(".ks-loadbar:visible").count() == 0
        tab.locator("label[for=s1]").click()
        # the mixer's first line: the grinder takes all of its own at once
        row = tab.locator(".ks-row:visible", has_text="Turkey breast").first
        assert shown(second, "Turkey breast") in row.inner_text()
        assert tab.locator(".ks-load:visible").count() == 1
        tab.locator("label[for=s1l1]").first.click()
        assert tab.locator(".ks-load-1:visible").count() == 1
        row = tab.locator(".ks-row:visible").first
        row.locator("label").click()
        assert row.locator("input").is_checked()
        assert "16" in tab.locator(".ks-bar-size").inner_text()
        assert "load 2 of 2" in tab.locator(".ks-bar-size").inner_text()


def test_it_can_be_read_and_hit(browser: Any, address: str) -> None:
    """Body at least 18 px, weights and probe figures at least 22 px, targets at least 48 px."""
    with phone(browser, viewport={"width": 390, "height": 844}) as tab:
        tab.goto(address + FORMULA)

        def sizes(selector: str) -> list[float]:
            return list(
                tab.evaluate(
                    f"""[...document.querySelectorAll('{selector}')].filter(e => e.offsetParent)
                    .map(e => parseFloat(getComputedStyle(e).fontSize))"""
                )
            )

        assert min(sizes(".ks-num b")) >= 36
        assert min(sizes(".ks-limit:not(.ks-limit-again) .ks-fig b")) >= 72
        assert min(sizes(".ks-limit-again .ks-fig b")) >= 40  # as a weight: it stood whole before
        assert min(sizes(".ks-do, .ks-limit dd, .ks-gives, .ks-name")) >= 18
        assert min(sizes(".ks *:not(input)")) >= 16
        heights = tab.evaluate(
            "[...document.querySelectorAll('.ks-row > label, .ks-segment, .ks-bar a, .ks-step-tick')]"
            ".filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height)"
        )
        assert min(heights) >= 63.9


def test_edit_leads_to_the_yaml(browser: Any, address: str) -> None:
    with phone(browser, viewport={"width": 1280, "height": 800}) as tab:
        tab.goto(address + FORMULA)
        links = tab.evaluate(
            "[...document.querySelectorAll('a[rel=edit], a.md-content__button')].map(a => a.href)"
        )
        assert links and all(x.endswith("standards/formulas/turkey-chive-roll.yaml") for x in links)


def test_a_page_printed_from_the_browser_is_a_sheet(
    browser: Any, address: str, tmp_path: Path
) -> None:
    """Weights, limits and what to do are on it, the way about isn't; rows keep together."""
    import pypdf

    with phone(browser) as page:
        page.goto(address + FORMULA)
        for paper in ("A4", "Letter"):
            out = tmp_path / f"{paper}.pdf"
            page.pdf(path=str(out), format=paper)
            pages = [p.extract_text() for p in pypdf.PdfReader(out).pages]
            text = " ".join(" ".join(pages).replace("\u00a0", " ").split())
            assert len(pages) <= 6, paper  # each hazard at hand has its caution
            for reported in (
                "3192 g",
                "76.6 g",
                "Contains milk, eggs",
                "Bench scale",
                "If missed",
                "or hotter",
                "within 2 h",
            ):
                assert reported in text, reported
            for reported in (
                "On this page",
                "Search",
                "Use by: day 5",
                "Edit this page",
                "Skip to content",
            ):
                assert (reported in text) is reported.startswith("Use by"), reported
            assert "Why 76 °C?" not in text and "3-401.11(A)(3)" in text  # the working stays there


def test_a_page_reports_whether_the_paper_is_current(
    browser: Any, address: str, demo: Manual
) -> None:
    from generator.site.papers import current_sheets

    number, revision, hash, _ = current_sheets(demo)["cold-kitchen/turkey-chive-roll.md"][0]
    with phone(browser, viewport={"width": 390, "height": 844}) as page:
        reported = page.locator(".ks-paper")
        page.goto(address + FORMULA)
        assert not reported.is_visible()
        for query, word, rest in (
            (
                f"s={number}&r={revision}&h={hash}",
                "This paper is current.",
                f"Sheet {number}, revision {revision}",
            ),
            (
                f"s={number}&r=1&h={hash}",
                "Older paper.",
                f"Print sheet {number} again: revision {revision} is current",
            ),
            (
                f"s={number}&r={int(revision) + 1}&h={hash}",
                "Newer paper than this site.",
                f"The paper is revision {int(revision) + 1}; the manual of",
            ),
            (
                f"s={number}&r={revision}&h=00000000",
                "Same revision, other figures.",
                f"Print sheet {number} again. Take this paper out.",
            ),
            (f"s={number}&r=none&h={hash}", "Replaced.", f"Print sheet {number} again"),
            (
                f"s=999&r={revision}&h={hash}",
                "Newer paper than this site.",
                "Sheet 999 isn't in the",
            ),
            (f"s=r&r={revision}&h=0", "Printed on request.", "can't compare its figures"),
            ("s=r&r=1&h=0", "Older paper.", "Print this sheet again"),
            ("s=%3Cb%3E&r=1&h=0", "Taken out.", "Sheet <b> is no longer"),
        ):
            page.goto(f"{address}{FORMULA}?{query}")
            assert reported.is_visible() and reported.locator("b").text_content() == word
            assert rest in str(reported.text_content()), query
        page.goto(f"{address}{FORMULA}?s={number}&r={revision}&h={hash}")
        page.offline(True)
        page.wait_for_function(
            "() => document.querySelector('.ks-paper b').textContent.startsWith('Can')"
        )
        page.offline(False)
        page.wait_for_function(
            "() => document.querySelector('.ks-paper b').textContent.startsWith('This')"
        )
        page.goto(
            f"{address}cold-kitchen/?s=0&r=5&h={current_sheets(demo)['cold-kitchen/index.md'][0][2]}"
        )
        assert reported.locator("b").text_content() == "This paper is current."

"""How long a formula's page is on a phone of 360 × 780: where its first weight is, how many words
of ours are open, how many there are in all, how many sheets a browser prints. ``-s`` prints each
formula's."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from browsing import Server, tab
from pypdf import PdfReader

from generator.pages import make_pages
from generator.sheet.manual import Manual

PHONE = {"width": 360, "height": 780}
BAR = 65
OPEN_WORDS = 250
"""Of ours that are open at most: beside the chef's own sentences, names of dishes and ingredients,
limits' boxes, WARNING and DANGER."""
SHEETS = 4
LONGEST = 7_021
"""The height of the longest page in px at most, nothing ticked: less than half of the 14,146 it once was. A batch
half done is shorter, since done steps fold."""
# A word holds a letter; the unit of a figure ("12 g", "76 °C") belongs to the figure.
COUNTED = """() => {
    const page = document.querySelector('.ks-formula'), ours = [], all = [];
    const other = 'h1, .ks-own, .ks-name, .ks-limit, .ks-not-covered, .ks-warning, .ks-danger, .ks-s-warning, .ks-s-danger';
    const unit = /(\\d)[\\s\\u00a0\\u202f]*(kg|g|ml|l|mm|cm|m|min|h|s|°C|°F|%)(?![\\p{L}\\d])/gu;
    const words = text => text.replace(unit, '$1').split(/\\s+/).filter(word => /\\p{L}/u.test(word));
    const hidden = e => !e.checkVisibility({visibilityProperty: true}) || e.closest('.ks-hide, select');
    const walker = document.createTreeWalker(page, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
        const at = walker.currentNode.parentElement;
        if (hidden(at) || at.closest('.ks-num')) continue;
        const found = words(walker.currentNode.textContent);
        all.push(...found);
        if (!at.closest(other)) ours.push(...found);
    }
    const first = [...page.querySelectorAll('.ks-num b')].find(b => b.offsetParent);
    return [ours.length, all.length, Math.round(first.getBoundingClientRect().bottom + scrollY),
            document.documentElement.scrollHeight];
}"""


def pages(demo: Manual) -> list[str]:
    return [f"{s.formula.formula.home}/{ident}/" for ident, s in demo.sheets.items()]


def longest(demo: Manual, most: int = 8) -> list[str]:
    """The formulas' pages with the most letters above the first weight, and with the most that are
    open: of 34, the highest, the one with the lowest first weight and the one with the most of our
    words are among a dozen."""
    text = {page.uri: page.html for page in make_pages(demo)}

    def letters(html: str) -> int:
        return len(re.sub(r"\s+|<[^>]*>", "", html))

    def above(at: str) -> int:
        return letters(text[f"{at.strip('/')}.md"].partition('class="ks-num"')[0])

    def opened(at: str) -> int:
        return letters(
            re.sub(r"<details.*?</details>", "", text[f"{at.strip('/')}.md"], flags=re.DOTALL)
        )

    chosen = {at for of in (above, opened) for at in sorted(pages(demo), key=of)[-most:]}
    return [at for at in pages(demo) if at in chosen]


@pytest.mark.parametrize("every", [False, pytest.param(True, marks=pytest.mark.slow)])
def test_the_first_weight_is_on_the_first_screen_and_little_of_ours_is_open(
    browser: Any, server: Server, demo: Manual, every: bool
) -> None:
    lines, low, long, high = [], [], [], []
    with tab(browser, viewport=PHONE) as page:
        for at in pages(demo) if every else longest(demo):
            page.goto(server.address + at)
            page.wait_for_selector(".ks-holds")  # the script has put its keys in place
            assert not page.locator(".ks-copy").is_visible()  # paper's
            ours, every, y, height = page.evaluate(COUNTED)
            lines.append(
                f"{at:34} {ours:4} words of ours open, {every:5} in all, {y:4} px, {height:6} px"
            )
            low += [lines[-1]] if y > PHONE["height"] - BAR else []
            long += [lines[-1]] if ours > OPEN_WORDS else []
            high += [lines[-1]] if height > LONGEST else []
    print("\n" + "\n".join(lines))
    assert low == []
    assert long == []
    assert high == []


def test_a_warning_and_a_danger_never_fold(browser: Any, server: Server, demo: Manual) -> None:
    """Each is seen with all its words the first time; a notice and a caution opens by a tap."""
    with tab(browser, viewport=PHONE) as page:
        for ident in ("weir-sausage", "chuck-in-bags", "turkey-chive-roll"):
            sheet = demo.sheets[ident]
            page.goto(f"{server.address}{sheet.formula.formula.home}/{ident}/")
            seen = " ".join(page.locator(".ks-formula").inner_text().split())
            whole = [n for n in sheet.notices.all if n.whole]
            assert any(n.open for n in whole) and any(not n.open for n in whole)
            for notice in whole:
                assert (notice.words in seen) is (notice.open or not notice.rest), notice.id
                assert notice.short[:-1] in seen, notice.id
            fold = page.locator(".ks-folded").first
            fold.locator("summary").click()
            assert all(line.is_visible() for line in fold.locator("p").all())


def test_a_key_to_start_a_clock_doesnt_push_the_next_steps_tick_aside(
    browser: Any, server: Server
) -> None:
    """It is taller than a short line beside it: the tick of the next step lay on that step's words."""
    aside = """() => [...document.querySelectorAll('.ks-step')].map(step => [step.id, Math.round(
        step.getBoundingClientRect().right - step.querySelector('.ks-tick').getBoundingClientRect().right)])"""
    with tab(browser, viewport={"width": 412, "height": 780}) as page:
        for ident in ("stove/barley-soup", "sweets/millpond-cream"):
            page.goto(f"{server.address}{ident}/")
            found = dict(page.evaluate(aside))
            assert len(found) > 3 and len(set(found.values())) == 1, found


def test_a_step_that_is_done_folds_and_its_name_opens_it(browser: Any, server: Server) -> None:
    with tab(browser, viewport=PHONE) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        step = page.locator("#step-6")
        page.locator("#step-6 .ks-step-tick").click(force=True)
        page.locator(".ks-batches .ks-go").click()
        page.wait_for_selector("#step-6 .ks-reopen")
        assert not step.locator(".ks-limit").is_visible()
        key = step.locator(".ks-reopen")
        assert key.get_attribute("aria-expanded") == "false" and key.inner_text() == "Poach"
        key.click()
        assert step.locator(".ks-limit").is_visible()
        page.locator("#step-6 .ks-step-tick").click(force=True)
        page.wait_for_selector("#step-6 .ks-reopen", state="detached")
        assert step.locator(".ks-limit").is_visible()


@pytest.mark.parametrize("ident", ["meat-room/weir-sausage", "stove/chuck-in-bags"])
def test_a_browser_prints_a_formula_on_four_sheets(
    browser: Any, server: Server, ident: str
) -> None:
    """The longest, whole: each sheet says what it is, its revision, which page of how many, and
    that it is a copy."""
    with tab(browser) as page:
        page.goto(f"{server.address}{ident}/")
        for paper in ("A4", "Letter"):
            sheets = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
            assert len(sheets) <= SHEETS, paper
            for number, sheet in enumerate(sheets, 1):
                words = " ".join(sheet.extract_text().split())
                assert f"{number} / {len(sheets)}" in words
                for each in (ident.split("/")[1], "revision 2", "Printed copy: check"):
                    assert each in words, (paper, number, each)


def test_a_limit_stands_whole_once_and_later_says_its_figure_and_where(
    browser: Any, server: Server, demo: Manual
) -> None:
    """The same limit, word for word, at a later step: figure, words and key; a reading of it is
    answered with what to do that stands at the first."""
    told = """() => [...document.querySelectorAll('.ks-limit')].map(e => [e.id, e.dataset.as || '',
        [...e.querySelectorAll('.ks-fig')].map(f => f.innerText.replace(/\\s+/g, ' ').trim()).join(), e.querySelectorAll('dt').length])"""
    with tab(browser, viewport=PHONE) as page:
        again = 0
        for at in ("meat-room/weir-sausage/", "cold-kitchen/turkey-chive-roll/"):
            page.goto(server.address + at)
            page.wait_for_selector(".ks-holds")
            whole = {}
            for ident, other, figures, rows in page.evaluate(told):
                if other:
                    again += 1
                    assert whole[other] == figures and rows == 0
                else:
                    assert rows > 0
                    whole[ident] = figures
        assert again >= 3
        page.goto(server.address + "meat-room/weir-sausage/")
        short = page.locator("#step-4 .ks-limit-again")
        assert short.locator(".ks-as a").get_attribute("href") == "#step-1"
        assert "4 °C or colder" in " ".join(short.inner_text().split())
        short.get_by_role("button", name="Reading").click()
        page.locator(".ks-batches .ks-go").click()  # a reading belongs to a batch
        page.locator(".ks-keys").get_by_role("button", name="9", exact=True).click()
        page.locator(".ks-keypad .ks-go, .ks-keys .ks-go").first.click()
        page.wait_for_selector(".ks-verdict")
        assert "Throw it away" in page.locator(".ks-verdict").inner_text()


@pytest.mark.slow
def test_a_browser_prints_every_formula_on_four_sheets(
    browser: Any, server: Server, demo: Manual
) -> None:
    over = []
    with tab(browser) as page:
        for at in pages(demo):
            page.goto(server.address + at)
            for paper in ("A4", "Letter"):
                sheets = len(PdfReader(io.BytesIO(page.pdf(format=paper))).pages)
                over += [f"{at} {paper} {sheets}"] if sheets > SHEETS else []
    assert over == []


def test_the_base_on_hand_is_a_field_and_says_what_it_makes(browser: Any, server: Server) -> None:
    with tab(browser, viewport=PHONE) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.locator(".ks-bar-size").click()
        told, go = page.locator(".ks-reports"), page.locator(".ks-sheet .ks-go")
        page.get_by_label("Mince and dice on hand").fill("4.2")
        assert (
            told.inner_text()
            .replace("\u00a0", " ")
            .startswith("4.2 kg of mince and dice makes 7 rolls.")
        )
        page.get_by_label("Slices to serve").fill("100")
        assert page.get_by_label("Mince and dice on hand").input_value() == ""
        assert "100 slices" in told.inner_text().replace("\u00a0", " ")
        page.get_by_label("Slices to serve").fill("")
        page.get_by_label("Mince and dice on hand").fill("0.1")
        assert go.is_disabled()


def test_ten_times_the_usual_size_asks(browser: Any, server: Server) -> None:
    """And more than the kitchen ever makes; its own largest size isn't asked about."""
    with tab(browser, viewport=PHONE) as page:
        page.goto(server.address + "counter/melon-tomato/")
        page.locator(".ks-bar-size").click()
        go, told = page.locator(".ks-sheet .ks-go"), page.locator(".ks-reports")
        kind = page.locator(".ks-ask select").first
        kind.select_option("total")
        page.locator(".ks-ask input").fill("10")
        usual = told.inner_text()
        assert "Is it right?" not in usual and go.inner_text().startswith("Weigh")
        page.locator(".ks-ask input").fill("30")
        assert "times the usual" in told.inner_text() and "Is it right?" in told.inner_text()
        assert go.inner_text().startswith("Yes, weigh")


def test_a_weight_is_read_as_one_number_under_its_scale(
    browser: Any, server: Server, demo: Manual
) -> None:
    """A screen reader hears "76.6 g", not "76" and ".6"; in any size and in the other units, which
    say what stays. One heading of a scale is for the rows that follow on it, over parts too: it comes
    again only where the scale is another."""
    sheet = demo.sheets["turkey-chive-roll"]
    names = [ln.weighing.scale.name for ln in sheet.batches[0].lines if ln.weighing.scale]
    changes = [a for a, b in zip(names, ["", *names], strict=False) if a != b]
    named = "() => [...document.querySelectorAll('.ks-row')].filter(r => r.checkVisibility()).map(r => [r.querySelector('.ks-num').textContent, r.querySelector('.ks-hide').textContent])"
    with tab(browser, viewport=PHONE) as page:
        for query in ("", "?fills=7"):
            page.goto(f"{server.address}cold-kitchen/turkey-chive-roll/{query}")
            page.wait_for_selector(".ks-holds")
            if query:
                page.wait_for_selector(".ks-size.ks-for-x")
            assert page.locator(".ks-scale:visible b").all_inner_texts() == changes
            stays = page.locator(".ks-stays")
            for other in (False, True):
                assert stays.is_visible() is other
                pairs = page.evaluate(named)
                assert len(pairs) >= 7
                for seen, heard in pairs:
                    assert "".join(seen.split()) == "".join(heard.split())
                page.get_by_role("button", name="°F, lb, oz").click()
                if not other:
                    assert "As before: the chef's own sentences" in stays.inner_text()
                    assert "lb" in page.locator(".ks-row:visible .ks-hide").first.inner_text()
            assert not stays.is_visible()
        salt = page.get_by_role("checkbox", name=re.compile(r"Fine salt 67\.0\s?g"))
        assert salt.count() == 1, page.locator(".ks-row:visible").nth(4).inner_text()


def test_it_is_read_at_twice_its_size(browser: Any, server: Server) -> None:
    """200 % on a phone of 360 px leaves 180 px: nothing is wider, nothing is cut (WCAG 1.4.4)."""
    with tab(browser, viewport={"width": 180, "height": 390}) as page:
        for at in (
            "cold-kitchen/turkey-chive-roll/",
            "stove/barley-soup/",
            "meat-room/weir-sausage/",
        ):
            page.goto(server.address + at)
            page.wait_for_selector(".ks-holds")
            wide = page.evaluate(
                """() => [...document.querySelectorAll('.ks *')].filter(e => e.checkVisibility() && !e.closest('.ks-hide, svg'))
                    .filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.className + ' ' + e.textContent.slice(0, 30))"""
            )
            assert wide == [], at
            assert page.evaluate("document.documentElement.scrollWidth") <= 180


def test_forced_colours_show_what_is_chosen_and_ticked(browser: Any, server: Server) -> None:
    """With the reader's own colours (WCAG 1.4.11): a chosen size and a ticked box differ from others."""
    with tab(browser, viewport=PHONE, forced_colors="active") as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.locator(".ks-row:visible label").first.click()
        page.locator(".ks-batches .ks-go").click()
        page.wait_for_function("() => document.querySelector('.ks-row .ks-tick').checked")
        ground = "e => getComputedStyle(e).backgroundColor"
        chosen, other = (page.locator(f"label[for={i}]").evaluate(ground) for i in ("s0", "s1"))
        assert chosen != other
        boxes = page.locator(".ks-row:visible .ks-box")
        assert boxes.nth(0).evaluate(ground) != boxes.nth(1).evaluate(ground)
        edges = page.locator(".ks-limit").first.evaluate("e => getComputedStyle(e).borderTopWidth")
        assert edges == "3px"


def test_each_fold_shows_the_keyboard_and_none_is_behind_the_bar(
    browser: Any, server: Server
) -> None:
    """WCAG 2.4.7 and 2.4.11, on a phone with its bar."""
    with tab(browser, viewport=PHONE, reduced_motion="reduce") as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.wait_for_selector(".ks-holds")
        folds = 0
        for _ in range(110):
            page.keyboard.press("Tab")
            stop = page.evaluate(
                """() => {
                    const e = document.activeElement, box = (e.labels && e.labels[0] || e).getBoundingClientRect(), s = getComputedStyle(e);
                    if (e === document.body) return null;
                    return [e.tagName, e.outerHTML.slice(0, 80), s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
                            Boolean(e.closest('header, .ks-bar, .md-skip')) || box.top < innerHeight - 65 && box.bottom > 48];
                }"""
            )
            if stop is None:
                break
            tag, html, outlined, clear = stop
            assert clear, f"behind a bar: {html}"
            if tag == "SUMMARY":
                folds += 1
                assert outlined, html
        assert folds >= 10

"""The key °F, lb, oz: what a page shows is in the other units then, is in both, or is among what the
page says to stay. Nothing of the page is left out: folds, attributes, the list of contents."""

from __future__ import annotations

from typing import Any

from browsing import KINDS, Server, tab

from generator.sheet.manual import Manual

STAYS = {
    ".ks-own, .ks-prepare": "the chef's own sentences",
    ".ks-segment, .ks-bar-size, .ks-only-plain": "names of sizes",
    ".ks-machine, .ks-load-head": "loads",
    ".ks-gives": "what you get",
    ".ks-scale, .ks-on, .ks-remark": "scales",
    ".ks-note": "spoons and pieces",
    ".ks-row:not(:has(.ks-num [data-alt]))": "a dose of curing salt or gelling agent",
    ".ks-dough": "the water of a dough",
    ".ks-code": "the law's own line",
    "details": "all that opens at a +",
}
"""What may hold a figure that the key leaves alone, and the words of the page that name it."""
LEFT = """(stays) => {
    const own = /\\d[\\d\\s.,]*(°C|k?g|m?l)(?![\\p{L}\\d])/gu, other = /\\d[\\d\\s.,]*(°F|lb|oz)(?![\\p{L}\\d])/gu;
    const found = [], page = document.querySelector('.ks-formula');
    const one = (at, text, of = stays.find(s => at.closest(s)) || '') => {
        const unit = /^\\s*(°C|k?g|m?l)\\s*$/.test(text); // a large figure's unit stands apart
        if (!unit && !own.test(text)) return;
        own.lastIndex = 0;
        // "205 °F (96 °C)": the pair stands beside it, in the text or in what the text is of
        const whole = at.closest('dd, p, li, span.ks-chip') || at, said = whole.textContent;
        const pairs = [(said.match(own) || []).length, (said.match(other) || []).length];
        if (at.closest('dl:not(.ks-basis)') && pairs[1] >= pairs[0]) return;
        found.push([of, text.trim(), at.className]);
    };
    const lists = [page, ...document.querySelectorAll('.md-nav--secondary')];
    for (const root of lists) {
        const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
        while (walker.nextNode()) {
            const at = walker.currentNode.parentElement;
            if (!at.closest('script, style, option, .ks-copy')) one(at, walker.currentNode.textContent);
        }
        for (const at of root.querySelectorAll('[title], [aria-label], [alt]'))
            for (const name of ['title', 'aria-label', 'alt']) one(at, at.getAttribute(name) || '', at.matches('.ks-size') ? stays[1] : undefined);
    }
    return found;
}"""
FORMULAS = (
    "cold-kitchen/turkey-chive-roll/",
    "meat-room/weir-sausage/",
    "meat-room/millrace-shoulder/",
    "roasting/roast-beef-cold/",
    "bakehouse/sluice-loaf/",
    "stove/barley-soup/",
    "stove/chuck-in-bags/",
    "stove/sluice-legs/",
    "counter/melon-tomato/",
    "cold-kitchen/char-raw/",
)


def test_each_figure_is_switched_or_paired_or_the_page_says_that_it_stays(
    browser: Any, server: Server, demo: Manual
) -> None:
    """On a phone, and of some at a desk, where the list of contents stands beside the page."""
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        seen: set[str] = set()
        for at in FORMULAS:
            page.goto(server.address + at)
            page.wait_for_selector(".ks-holds")
            if at == FORMULAS[0]:
                page.get_by_role("button", name="°F, lb, oz").click()
            page.wait_for_selector(".ks-stays:visible")
            told = page.locator(".ks-stays").inner_text()
            left = page.evaluate(LEFT, list(STAYS))
            if at in FORMULAS[:3]:
                page.set_viewport_size({"width": 1280, "height": 780})
                assert page.locator(".ks-stays").inner_text() == told
                left += page.evaluate(LEFT, list(STAYS))
                page.set_viewport_size({"width": 360, "height": 780})
            assert [one for one in left if not one[0]] == [], at
            seen |= {one[0] for one in left}
            facts = [ln.ingredient for ln in demo.sheets[at.split("/")[1]].formula.lines]
            dosed = {f.name for f in facts if f and f.function in ("cure", "gelling-agent")}
            rows = page.locator(".ks-row:not(:has(.ks-num [data-alt])) .ks-name")
            assert {name.split(",")[0] for name in rows.all_text_contents()} <= {
                name.split(",")[0] for name in dosed
            }
            for one in left:
                assert STAYS[one[0]] in told, one
        assert len(seen) >= 5


NO_FIGURES = (
    *("control/cautions/", "kitchen/processes/", "kitchen/ingredients/", "kitchen/plans/"),
    *("reference/glossary/", "reference/tags/", "reference/find/", "guide/"),
)
"""Kinds of pages without a figure, as ``control/allergens/`` and three more are, which are opened."""


def test_a_page_without_the_key_says_that_its_figures_stay(browser: Any, server: Server) -> None:
    """Of the kitchen's pages: the guide, the glossary and a missing page have no figures to weigh
    or read by. Without the key pressed nothing is said."""
    figures = """() => [...document.querySelectorAll('.ks:not(.ks-formula)')].map(e => e.textContent).filter(t => /\\d\\s?(°C|k?g)(?![\\p{L}])/u.test(t)).length"""
    kinds = [at for at in KINDS if at not in (FORMULAS[0], *NO_FIGURES)]
    with tab(browser) as page:
        page.goto(server.address + "control/limits/")
        assert page.locator(".ks-stays").count() == 0
        page.evaluate("localStorage['ks units'] = 'other'")
        told = 0
        for at in kinds:
            page.goto(server.address + at)
            if page.evaluate(figures):
                told += 1
                page.wait_for_selector(".ks-stays")
                assert "stay in the kitchen's own units" in page.locator(".ks-stays").inner_text()
            else:
                assert page.locator(".ks-stays").count() == 0, at
        assert 5 <= told < len(kinds) - 3


def test_a_reading_and_a_clock_are_of_the_scale_that_is_chosen(
    browser: Any, server: Server
) -> None:
    with tab(browser, viewport={"width": 360, "height": 780}) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.get_by_role("button", name="°F, lb, oz").click()
        page.locator(".ks-bar-limits").click()
        limits = page.locator("dialog[open]").inner_text()
        assert "°F" in limits and "°C" not in limits
        page.locator("dialog[open] a", has_text="Chill").click()
        key = page.locator("#step-7 .ks-at-start .ks-timer button").first
        assert "°F" in key.inner_text() and "°C" not in key.inner_text()
        key.click()
        page.locator(".ks-batches .ks-go").click()
        page.wait_for_selector(".ks-running a[href]", state="attached")
        for running in page.locator(".ks-running a").all():
            assert "°C" not in running.inner_text()
        page.locator("#step-6").get_by_role("button", name="Reading").click()
        pad = page.locator(".ks-keypad")
        pad.locator(".ks-typed").wait_for()
        assert "°F" in pad.locator(".ks-typed").inner_text()

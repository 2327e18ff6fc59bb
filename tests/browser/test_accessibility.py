"""WCAG 2.2 AA as far as axe-core can say, on one page of each kind, bright and dark, phone and
desk; and what it can't say: the way through by keys, and what is seen of it."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest
from browsing import KINDS, Server, settled, tab
from conftest import missing_tool
from test_site_in_a_browser import PAGES, assert_nothing_is_cut_off, quiet

SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 800}}
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


@pytest.fixture(scope="session")
def axe() -> str:
    """axe-core's own script, as a package of PyPI carries it."""
    try:
        return (files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8")
    except ModuleNotFoundError:
        missing_tool("axe-core (axe-playwright-python)")
    raise AssertionError


COLOURS = ["color-contrast", "link-in-text-block"]
"""The rules that may say bright from dark: the others have nothing new to see in the dark."""


LOOK = """async ([rules, every, within]) => {
    const drawnOn = new Map(), alike = new Map(), none = {};
    const grounds = e => {  // what an element is drawn on: its own ground, and all those behind it
        if (!e) return '';
        if (!drawnOn.has(e)) {
            const s = getComputedStyle(e);
            const own = [s.backgroundColor, s.backgroundImage, s.opacity, s.position, s.filter, s.mixBlendMode];
            drawnOn.set(e, own.join() + '/' + grounds(e.parentElement));
        }
        return drawnOn.get(e);
    };
    const says = e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || e.matches('input, select, textarea, button');
    const looked = [];
    if (!every) {
        for (const e of document.querySelectorAll(`${within}, ${within} *`)) {
            if (!says(e) || !e.checkVisibility({visibilityProperty: true})) continue;
            const s = getComputedStyle(e);
            const key = [s.color, s.fontSize, s.fontWeight, s.textShadow, grounds(e)].join('|');
            alike.set(key, [...(alike.get(key) || []), e]);
        }
        looked.push(...[...alike.values()].flatMap(like => like.length > 1 ? [like[0], like.at(-1)] : like));
        for (const e of looked) e.setAttribute('data-looked-at', '');
    }
    axe.configure({rules: [{id: 'color-contrast', selector: every ? '*' : '[data-looked-at]'}]});
    const {violations} = await axe.run({include: [within]}, {reporter: 'no-passes', resultTypes: ['violations'], runOnly: rules});
    for (const e of looked) e.removeAttribute('data-looked-at');
    const why = n => [...n.any, ...n.all, ...n.none].map(check => check.message).join('; ');
    return violations.map(v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target + ' ' + why(n)).join(' | '));
}"""
"""Looks a page over. The contrast of letters is four fifths of axe's work, and the same wherever
letters of one colour, size and weight are drawn on the same grounds: it looks at the first and the
last of them, or at ``every`` one."""
THIN = """() => {
    const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
    const faults = [...new Set(ids.filter((id, at) => ids.indexOf(id) !== at))].map(id => `twice: ${id}`);
    let level = 0;
    for (const e of document.querySelectorAll('h1, h2, h3, h4, h5, h6')) {
        if (!e.checkVisibility({visibilityProperty: true})) continue;
        if (level && e.tagName[1] - level > 1) faults.push(`heading-order: ${e.textContent}`);
        level = +e.tagName[1];
    }
    const numbers = new Map(), shapes = new Map(), paths = new Map(), alike = new Map();
    const number = words => { if (!numbers.has(words)) numbers.set(words, numbers.size); return numbers.get(words); };
    const names = /^(id|href|for|value|name|src|alt|title|data-.*|aria-(label|labelledby|describedby|controls|owns))$/;
    const pressed = 'a, button, input, select, summary, label, [tabindex]';
    const own = e => {
        const s = getComputedStyle(e), of = [...e.attributes].map(a => `${a.name}=${names.test(a.name) ? Boolean(a.value.trim()) : a.value}`);
        return [e.tagName, ...of.sort(), s.color, s.backgroundColor, s.backgroundImage, s.opacity, s.fontSize, s.fontWeight, s.display, s.visibility, s.position].join();
    };
    const small = e => { const box = e.getBoundingClientRect(); return `${box.width < 24} ${box.height < 24}`; };
    const broken = e => {
        const tops = [...e.children].filter(one => one.matches(pressed)).map(one => one.getBoundingClientRect().top);
        return tops.length > 1 && Math.max(...tops) - Math.min(...tops) > 4;
    };
    const shape = e => {
        if (!shapes.has(e)) {
            const inside = [...e.childNodes].map(n => n.nodeType === 1 ? `${shape(n)};` : n.nodeType === 3 && n.data.trim() ? '.;' : '');
            const few = inside.join('').replace(/((?:[^;]*;){1,3}?)\\1{2,}/g, '$1$1');
            shapes.set(e, number(`${own(e)} ${e.matches(pressed) && small(e)} ${broken(e)} (${few})`));
        }
        return shapes.get(e);
    };
    const path = e => {
        if (!paths.has(e)) paths.set(e, number(`${e.parentElement ? path(e.parentElement) : ''} ${own(e)}`));
        return paths.get(e);
    };
    for (const parent of document.querySelectorAll('main *')) {
        if (parent.children.length < 4) continue;
        for (const e of parent.children) {
            const key = `${path(parent)} ${shape(e)}`;
            alike.set(key, [...(alike.get(key) || []), e]);
        }
    }
    const away = [...alike.values()].flatMap(like => like.slice(3, -3)).filter(e => e.previousElementSibling);
    for (const e of away) e.remove();
    return faults;
}"""
"""Leaves of the rows of a page that are alike the first three and the last three, and the first of each list: alike
down to each attribute, each colour and size of letters, whether a text or a name is empty, and whether what is
pressed is small or stands on more lines than one, in lists that are alike as well; more than two of the same beside
one another are as two. Gives what axe can't see any more: ids that are there twice, headings that leave a level out."""


def violations(
    page: Any,
    axe: str,
    rules: list[str] = RULES,
    every: bool = False,
    within: str = "html",
) -> list[str]:
    """What axe finds, each with the places: on the page, or ``within`` what is open over it.
    Injected from outside the page, past its policy."""
    if not page.evaluate("!!window.axe"):
        page.evaluate(axe + "; 0")
    return [str(v) for v in page.evaluate(LOOK, [rules, every, within])]


def bright_and_dark(page: Any, axe: str, within: str = "html") -> list[str]:
    """What axe finds in the bright, and of colours in the dark."""
    found = violations(page, axe, within=within)
    page.emulate_media(color_scheme="dark")
    found += [f"dark: {one}" for one in violations(page, axe, COLOURS, within=within)]
    page.emulate_media(color_scheme="light")
    return found


@pytest.mark.parametrize(("scheme", "pale"), [("light", "#999"), ("dark", "#555")])
def test_letters_too_pale_are_found_wherever_they_stand(
    browser: Any, server: Server, axe: str, scheme: str, pale: str
) -> None:
    """On one line among many like it: its letters, the ground of them, or all of it."""
    with tab(browser, color_scheme=scheme, reduced_motion="reduce") as page:
        page.goto(server.address + "reference/sources/")
        assert page.evaluate(THIN) == []
        lines = page.locator("main li:visible, main p:visible, main td:visible")
        assert lines.count() > 10
        for style in (f"color: {pale}", "background: #777; color: #888", "opacity: 0.25"):
            line = lines.nth(lines.count() // 2)
            line.evaluate("(e, style) => { e.style.cssText = style; }", style)
            assert any("color-contrast" in v for v in violations(page, axe, COLOURS)), style
            line.evaluate("e => { e.style.cssText = ''; }")


FAULTS = (
    ("link-name", "e.querySelector('a').textContent = ''"),
    ("color-contrast", "e.querySelector('a').className = 'pale'"),
    ("color-contrast", "e.style.background = '#777'"),
    ("aria-valid-attr-value", "e.setAttribute('aria-live', 'loud')"),
    ("tabindex", "e.tabIndex = 5"),
    ("target-size", "e.innerHTML = '<button>1</button>'.repeat(2)"),
    ("image-alt", "e.append(new Image())"),
    ("list", "e.outerHTML = '<div>row</div>'"),
    (
        "target-size",
        "e.querySelectorAll('b button').forEach(b => { b.textContent = 'many words '.repeat(3); })",
    ),
)
"""What may go wrong in a row among many, and what axe calls it."""
ROWS = """sections => {
    const chips = '<b><button>1</button><button>2</button><button>3</button></b>';
    const rows = n => [...Array(60 / sections).keys()].map(m => `<li><a href='#r${n}'>Row ${n} ${m}</a> of many ${chips}</li>`);
    const lists = [...Array(sections).keys()].map(n => `<section><h2>Rows ${n}</h2><ul>${rows(n).join('')}</ul></section>`);
    document.querySelector('main').innerHTML = `<h1>Rows</h1>${lists.join('')}`;
    const s = new CSSStyleSheet();
    s.replaceSync(`.pale { color: #bbb } main li { margin: 20px 0 } main li button { all: unset; font-size: 9px }
        main li b { display: block; padding-top: 16px; line-height: 16px }
        main li b button { display: inline-block; font-size: 16px; height: 16px; min-width: 30px }`);
    document.adoptedStyleSheets = [s];
}"""


@pytest.mark.parametrize("sections", [1, 12])
def test_a_fault_in_the_middle_of_many_rows_is_found(
    browser: Any, server: Server, axe: str, sections: int
) -> None:
    """In one long list, and in short ones that are alike."""
    with tab(browser, reduced_motion="reduce") as page:
        page.goto(server.address + "about/")
        for fault, script in (("", ""), *FAULTS):
            page.evaluate(ROWS, sections)
            page.evaluate(
                f"() => {{ const e = document.querySelectorAll('main li')[32]; {script}; }}"
            )
            assert page.evaluate(THIN) == []
            assert page.locator("main li").count() <= 7 + sections - 1
            found = [one.partition(":")[0] for one in violations(page, axe)]
            assert fault in found if fault else found == [], (script, found)
        page.evaluate(
            "document.querySelectorAll('main li')[1].id = document.querySelector('main [id]')?.id || (document.querySelector('main h1').id = 'one')"
        )
        assert page.evaluate(THIN) == ["twice: one"]
        page.evaluate(ROWS, 12)
        page.evaluate("document.querySelectorAll('main h2')[6].outerHTML = '<h4>Rows 6</h4>'")
        page.evaluate("document.querySelectorAll('main h2')[0].outerHTML = '<h3>Rows 0</h3>'")
        assert page.evaluate(THIN) == ["heading-order: Rows 0", "heading-order: Rows 6"]


SHARES = 4
"""Into how many tests a look at every kind of page is parted, for as many workers."""
DESK = (*KINDS[:16:4], "reference/glossary/", *KINDS[20::4])
"""What a desk adds is the frame, the same on all of them."""


def called(value: object) -> str | None:
    """The pages of a case by the first of them and their number."""
    return f"{value[0] or 'home'} and {len(value) - 1} more" if isinstance(value, tuple) else None


@pytest.mark.parametrize("kinds", [KINDS[n::SHARES] for n in range(SHARES)], ids=called)
def test_axe_finds_nothing(browser: Any, server: Server, axe: str, kinds: tuple[str, ...]) -> None:
    """Every kind of page, on a phone, bright by all rules and dark by those of colours, and some at
    a desk; of rows that are alike, some. In Spanish: ``test_words_on_the_page``. The same visit holds
    that nothing is cut off in five widths (``test_site_in_a_browser``), before folds are opened."""
    faults: dict[str, list[str]] = {}
    options = {"reduced_motion": "reduce", "color_scheme": "light"}
    with tab(browser, **options) as page, quiet(page, server.address):
        for kind in kinds:
            page.goto(server.address + kind)
            if kind in PAGES:
                assert_nothing_is_cut_off(page, kind)
            page.set_viewport_size(SIZES["phone"])
            page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
            found = page.evaluate(THIN) + bright_and_dark(page, axe)
            if kind in DESK:
                page.set_viewport_size(SIZES["desk"])
                found += [f"desk: {one}" for one in bright_and_dark(page, axe)]
            if found:
                faults[kind] = found
    assert not faults, "\n".join(f"{kind}: {fault}" for kind in faults for fault in faults[kind])


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_axe_finds_nothing_in_any_row(
    browser: Any, server: Server, axe: str, size: str, scheme: str
) -> None:
    """All letters of all of them."""
    faults: dict[str, list[str]] = {}
    with tab(browser, viewport=SIZES[size], color_scheme=scheme, reduced_motion="reduce") as page:
        for kind in KINDS:
            page.goto(server.address + kind)
            page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
            rules = RULES if scheme == "light" else COLOURS
            if found := violations(page, axe, rules, every=True):
                faults[kind] = found
    assert not faults, "\n".join(f"{kind}: {fault}" for kind in faults for fault in faults[kind])


def test_axe_finds_nothing_in_what_opens(browser: Any, server: Server, axe: str) -> None:
    """The menu, the search with hits, the foot of the home page, the line of a saved page."""
    with tab(browser, color_scheme="light", reduced_motion="reduce") as page:
        page.goto(server.address)
        page.wait_for_selector("#ks-save")
        assert bright_and_dark(page, axe) == []
        page.locator("#ks-menu").click()
        assert bright_and_dark(page, axe) == []
        page.keyboard.press("Escape")
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        page.locator(".ks-search input").fill("turkey")
        settled(page)
        assert page.locator("#ks-hits a").count() > 3
        assert bright_and_dark(page, axe) == []
        page.keyboard.press("Escape")
        page.evaluate(
            "document.querySelector('.ks-changed').hidden = false;"
            "for (const p of document.querySelectorAll('.ks-phone [data-say]')) p.hidden = false"
        )
        assert bright_and_dark(page, axe) == []


OPEN = "dialog[open]"
"""What is over the page, which can't be used behind it, and was looked at before."""


def test_axe_finds_nothing_at_the_bench(browser: Any, server: Server, axe: str) -> None:
    """A batch started, its clocks and readings, the keypad and its verdict, the list, a code, the
    limits, one thing a screen."""
    with tab(browser, color_scheme="light", reduced_motion="reduce") as page:
        page.goto(server.address + "roasting/roast-beef-cold/")
        page.locator("#step-5 .ks-at-start .ks-timer button").first.click()
        page.wait_for_selector(".ks-batches[open]")
        assert bright_and_dark(page, axe, OPEN) == []
        page.locator(".ks-batches .ks-go").click()
        page.wait_for_selector("#step-5 .ks-face")
        page.locator("#step-5").get_by_role("button", name="Reading").click()
        page.locator(".ks-keys").get_by_role("button", name="4", exact=True).click()
        page.locator(".ks-keys").get_by_role("button", name="5", exact=True).click()
        assert bright_and_dark(page, axe, OPEN) == []
        page.locator(".ks-keypad .ks-go").click()
        page.wait_for_selector(".ks-told-verdict")
        assert bright_and_dark(page, axe, OPEN) == []
        page.keyboard.press("Escape")
        assert bright_and_dark(page, axe) == []
        page.locator(".ks-holds").click()
        page.wait_for_selector(".ks-batches[open]")
        assert bright_and_dark(page, axe, OPEN) == []
        page.get_by_role("button", name="Hand it over to another phone").click()
        page.wait_for_selector("canvas.ks-qr")
        assert bright_and_dark(page, axe, OPEN) == []
        page.keyboard.press("Escape")
        page.locator(".ks-bar-limits").click()
        page.wait_for_selector(".ks-sheet[open] a")
        assert bright_and_dark(page, axe, OPEN) == []
        page.keyboard.press("Escape")
        page.get_by_role("button", name="One at a time").click()
        page.wait_for_selector(".ks-one[open]")
        assert bright_and_dark(page, axe, OPEN) == []
        page.goto(server.address + "control/limits/")
        page.wait_for_selector("a.ks-clock")
        page.locator(".ks-running button").click()
        assert page.evaluate(THIN) == []
        assert bright_and_dark(page, axe) == []


def test_the_menu_by_keys(browser: Any, server: Server) -> None:
    with tab(browser) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "md-skip"
        assert page.evaluate("document.activeElement.getBoundingClientRect().top") >= 0, (
            "it is seen"
        )
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.id") == "ks-menu"
        assert not page.locator("#ks-nav").is_visible(), "closed, its links are in nobody's way"
        page.keyboard.press("Enter")
        assert page.evaluate("document.querySelector('#ks-nav').contains(document.activeElement)")
        for _ in range(40):
            page.keyboard.press("Tab")
            inside = page.evaluate(
                "document.activeElement === document.body || "
                "document.querySelector('#ks-nav').contains(document.activeElement)"
            )
            assert inside, "the page behind is out of reach while the menu is open"
        page.keyboard.press("Escape")
        assert page.evaluate("document.activeElement.id") == "ks-menu"
        assert not page.locator("#ks-nav").is_visible()


def test_the_menu_without_a_script(browser: Any, server: Server) -> None:
    with tab(browser, java_script_enabled=False) as page:
        page.goto(server.address + "cold-kitchen/turkey-chive-roll/")
        page.locator("#ks-menu").click()
        page.locator("#ks-nav").get_by_role("link", name="Stove").click()
        page.wait_for_url("**/stove/")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_dark_or_bright_as_the_phone_and_as_chosen(
    browser: Any, server: Server, scheme: str
) -> None:
    def paper(page: Any) -> str:
        return str(page.evaluate("getComputedStyle(document.body).backgroundColor"))

    palette = """() => { const s = getComputedStyle(document.documentElement);
        return ['paper', 'bar', 'paper2', 'ink', 'ink2', 'edge', 'hair', 'accent', 'on-accent', 'danger', 'warning',
            'caution', 'notice'].map(name => s.getPropertyValue(`--ks-${name}`).trim()); }"""
    light, dark = "rgb(251, 250, 246)", "rgb(20, 22, 24)"
    as_is, other = (light, dark) if scheme == "light" else (dark, light)
    with tab(browser, color_scheme=scheme, java_script_enabled=False) as page:
        page.goto(server.address + "about/")
        assert paper(page) == as_is, "without a script as well"
    with tab(browser, color_scheme=scheme) as page:
        page.goto(server.address + "about/")
        assert paper(page) == as_is
        page.emulate_media(color_scheme="dark" if scheme == "light" else "light")
        colours = page.evaluate(palette)
        assert all(colours) and paper(page) == other
        page.emulate_media(color_scheme=scheme)
        page.get_by_role("button", name="Dark or bright").click()
        assert paper(page) == other
        assert page.evaluate(palette) == colours, "those that axe looked at"
        page.goto(server.address)
        assert paper(page) == other, "kept on the next page"
        page.get_by_role("button", name="Dark or bright").click()
        assert paper(page) == as_is


@pytest.mark.parametrize(
    "kind", ["cold-kitchen/turkey-chive-roll/", "control/limits/", "guide/look-up/amounts/"]
)
def test_what_has_the_keyboard_is_seen(browser: Any, server: Server, kind: str) -> None:
    """Every stop of Tab shows an outline, and none lies under the bars (WCAG 2.4.7, 2.4.11)."""
    with tab(browser, viewport=SIZES["desk"], reduced_motion="reduce") as page:
        page.goto(server.address + kind)
        stops = 0
        for _ in range(60):
            page.keyboard.press("Tab")
            stop = page.evaluate(
                """() => {
                    const e = document.activeElement;
                    if (e === document.body) return null;
                    const near = [e, e.nextElementSibling, e.parentElement, e.nextElementSibling?.querySelector('*'),
                                  e.closest('.ks-segments'), e.labels && e.labels[0],
                                  ...(e.labels && e.labels[0] ? e.labels[0].querySelectorAll('*') : [])].filter(Boolean);
                    const drawn = near.some(x => getComputedStyle(x).outlineStyle !== 'none' && parseFloat(getComputedStyle(x).outlineWidth) >= 2);
                    const box = (e.labels && e.labels[0] || e).getBoundingClientRect();
                    return [e.outerHTML.slice(0, 90), drawn, box.bottom > 48 || Boolean(e.closest('header, .md-skip'))];
                }"""
            )
            if stop is None:
                break
            stops += 1
            assert stop[1], f"no outline: {stop[0]}"
            assert stop[2], f"under the bar: {stop[0]}"
        assert stops > 20

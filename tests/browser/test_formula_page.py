"""The formula page in a cook's hand: sizes picked, ticks kept, clocks, the other units, real
Chromium."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import browsing
import pytest

from generator.cli.sizes import asked_batch
from generator.files.finding import Refused
from generator.pages.formula import _yielded
from generator.rules.basics.limit import HeatingLimit, KeepingLimit, most_time
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch
from generator.views.clock_view import law_clocks
from generator.views.weigh_view import weigh_view

ROLL = "cold-kitchen/turkey-chive-roll/"
SAUSAGE = "meat-room/race-sausage/"
CURED = "meat-room/weir-sausage/"
LEGS = "stove/sluice-legs/"
CREAM = "sweets/millpond-cream/"
SOUP = "stove/barley-soup/"
AT_NOON = "2026-11-25T12:00:00-06:00"


@pytest.fixture
def tab(browser: Any, server: Any) -> Iterator[Any]:
    """A phone; faults in the console fail the test. The server outlasts it."""
    with strict_tab(browser) as page:
        yield page


@pytest.fixture
def tab_at_noon(browser: Any, server: Any) -> Iterator[Any]:
    with strict_tab(browser, at=AT_NOON) as page:
        yield page


def strict_tab(browser: Any, **options: Any) -> Any:
    """A phone of the kitchen's zone, on which the console has nothing to say."""
    return browsing.tab(browser, strict=True, timezone_id="America/Chicago", **options)


def batch_of(demo: Manual, formula: str, **size: Any) -> Batch:
    found = asked_batch(demo.sheets[formula], {"on_hand": (), **size})
    assert found is not None
    return found


def rows_of(demo: Manual, batch: Batch, formula: str) -> list[tuple[str, str, str]]:
    """Name, figure and note of each row as the generator's own page would show them."""
    view = weigh_view(demo.sheets[formula], batch, "x/y.md", {})
    parts = [part for group in view.groups for part in list(group.parts) * group.loads]
    return [
        (r.name, r.whole + r.decimals + "\u00a0" + r.unit, r.note) for p in parts for r in p.rows
    ]


def shown(tab: Any, index: int | str) -> list[tuple[str, str, str]]:
    """The same from the page, for one size, every load."""
    return [
        tuple(row)
        for row in tab.evaluate(
            """index => [...document.querySelectorAll(`.ks-size.ks-for-${index} .ks-row`)].map(r =>
                [r.querySelector('.ks-name').firstChild.textContent.replace(/, $/, ''),
                 r.querySelector('.ks-num').textContent, r.querySelector('.ks-note').textContent])""",
            index,
        )
    ]


def start(tab: Any) -> None:
    """Start a batch as the sheet proposes it, by one tap."""
    tab.wait_for_selector(".ks-batches[open]")
    tab.locator(".ks-batches .ks-go").click()
    tab.wait_for_selector(".ks-batches:not([open])", state="attached")
    tab.wait_for_selector(".ks-holds.ks-going")


def started(tab: Any) -> None:
    """A batch in hand."""
    tab.get_by_role("button", name="Start a batch").first.click()
    start(tab)


def kept(tab: Any) -> None:
    """Wait until what was tapped is kept: another transaction comes after it."""
    tab.evaluate("() => ksStore.begin ? ksStore.all() : 0")


def ask(tab: Any, what: str, amount: str, unit: str = "") -> None:
    """Open the sheet and say how much."""
    if not tab.locator(".ks-sheet[open]").count():
        tab.get_by_role("button", name="Other").click()
        tab.wait_for_selector(".ks-sheet[open]")
    box = tab.locator(".ks-ask").last
    box.locator("select").first.select_option(what)
    box.locator("input").fill(amount)
    if unit:
        box.locator("select").last.select_option(unit)


SIZES = {
    ROLL: (
        ("total", "21.5", "kg"),
        ("fills", "13", ""),
        ("portions", "333", ""),
        ("yield", "9", "lb"),
    ),
    SAUSAGE: (("base", "7", "kg"),),
    SOUP: (("fills", "3", ""),),
    LEGS: (("portions", "160", ""), ("total", "31", "kg")),
    CREAM: (("fills", "7", ""), ("portions", "130", "")),
}


@pytest.mark.parametrize("page", SIZES)
def test_a_size_taken_in_the_sheet_is_the_generators(
    tab: Any, address: str, demo: Manual, page: str
) -> None:
    """Every row's figure, note and scale, the loads and what is yielded, by real taps; the page is
    opened anew for each."""
    for kind, amount, unit in SIZES[page]:
        a_size_taken(tab, address + page, demo, kind, amount, unit)


def a_size_taken(tab: Any, where: str, demo: Manual, kind: str, amount: str, unit: str) -> None:
    formula = where.split("/")[-2]
    batch = batch_of(demo, formula, **{f"{kind}_": f"{amount} {unit}".strip()})
    tab.goto(where)
    ask(tab, kind, amount, unit)
    go = tab.locator(".ks-go")
    assert go.inner_text() == f"Weigh {batch.label}"
    view = weigh_view(demo.sheets[formula], batch, "x/y.md", {})
    said = tab.locator(".ks-reports").inner_text()
    assert f"Weigh {view.total[0]}" in said
    go.click()
    tab.wait_for_selector(".ks-sheet:not([open])", state="attached")
    assert shown(tab, "x") == rows_of(demo, batch, formula)
    scales = tab.evaluate(
        "[...document.querySelectorAll('.ks-for-x .ks-row .ks-on')].map(e => "
        "e.firstChild.textContent)"
    )
    lines = [ln for group in batch.groups() for ln in list(group.lines) * group.loads]
    assert scales == [ln.weighing.scale.name for ln in lines if ln.weighing.scale]
    coarse = tab.locator(".ks-size.ks-for-x .ks-remark", has_text="Scale too coarse.").count()
    assert coarse == sum(
        ln.weighing.needs is not None and ln.line.joined.line.amount.kind != "as-needed"
        for ln in lines
    )
    assert tab.locator(".ks-for-x .ks-load:visible").count() == 1
    assert tab.locator(".ks-bar-size").inner_text().startswith(batch.label.split("\u00a0")[0])
    if batch.loads.count > 1:
        assert f"load 1 of {batch.loads.count}" in tab.locator(".ks-bar-size").inner_text()
        tab.get_by_text("Load 1 weighed: go to load 2").locator("visible=true").click()
        assert tab.locator(".ks-for-x .ks-load-1:visible").count() == 1
    finished = str(tab.locator(".ks-yield.ks-for-x").text_content())
    for _, words in _yielded(demo.sheets[formula].formula, batch):
        assert words in finished
    for one in batch.step_loads:
        assert tab.locator(".ks-machine .ks-for-x").count() == len(batch.step_loads), one
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390


def test_what_is_on_hand(tab: Any, address: str, demo: Manual) -> None:
    """Two things on hand: the scarcest decides, the rest is left over."""
    tab.goto(address + ROLL)
    ask(tab, "turkey-thigh", "7.5", "kg")
    tab.get_by_role("button", name="And something else").click()
    ask(tab, "egg-white", "20", "large")
    batch = batch_of(
        demo, "turkey-chive-roll", on_hand=("turkey-thigh=7.5 kg", "egg-white=20 large")
    )
    assert batch.on_hand is not None
    said = tab.locator(".ks-reports").inner_text()
    names = {ln.line.joined.item: ln.name for ln in batch.lines}
    assert f"{names[batch.on_hand.binding]} runs out first." in said
    tab.locator(".ks-go").click()
    assert shown(tab, "x") == rows_of(demo, batch, "turkey-chive-roll")
    assert "have=" in tab.url
    again = tab.url
    tab.goto("about:blank")
    tab.goto(again)
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    assert shown(tab, "x") == rows_of(demo, batch, "turkey-chive-roll")


def test_a_size_is_shared_by_its_address(tab: Any, address: str, demo: Manual) -> None:
    """The address says the size; the place on the page is kept; the kitchen's own sizes too."""
    tab.goto(f"{address}{ROLL}?total=5kg#step-3")
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    batch = batch_of(demo, "turkey-chive-roll", total_="5kg")
    assert shown(tab, "x") == rows_of(demo, batch, "turkey-chive-roll")
    assert tab.url.endswith("?total=5kg#step-3")
    tab.goto(f"{address}{ROLL}?fills=16#weigh")
    assert tab.locator("#s1").is_checked()
    tab.locator("label[for=s2]").click()
    assert tab.url.endswith("?fills=24#weigh")
    tab.reload()
    assert tab.locator("#s2").is_checked()


REFUSED = (
    ("total", "90000", "kg", "That is over 10,000 times the formula. Check the figure."),
    ("total", "1", "kg", "is below the 2 kg it needs. Make 3 rolls."),
    ("total", "1,500", "kg", "1,500 kg: 1500 or 1.5?"),
    ("total", "-3", "kg", "an amount must be above zero."),
    ("total", "9**9", "kg", "is not an amount."),
    ("fills", "2.5", "", "2.5 is not a whole number of fills."),
)


def test_a_size_that_cannot_be_is_refused_in_words(tab: Any, address: str) -> None:
    """Each typed in the sheet of a page that was opened by an address with the one before."""
    tab.goto(address + ROLL)
    for kind, amount, unit, words in REFUSED:
        ask(tab, kind, amount, unit)
        said = tab.locator(".ks-reports").inner_text().replace("\u00a0", " ")
        assert said.startswith("Not possible.") and words in said, amount
        assert tab.locator(".ks-go").is_disabled()
        asked = f"{amount} {unit}".strip()
        query = tab.evaluate("p => String(new URLSearchParams([p]))", [kind, asked])
        tab.goto(f"{address}{ROLL}?{query}")
        reported = tab.locator(".ks-refused")
        reported.wait_for()
        assert words in reported.inner_text().replace("\u00a0", " "), amount
        assert tab.locator("#s0").is_checked(), "the page shows the kitchen's own size"


def test_a_legal_maximum_keeps_to_the_kitchens_sizes(tab: Any, address: str) -> None:
    """No other size is offered or taken from the address, and the page says why."""
    tab.goto(f"{address}{CURED}?total=7kg")
    assert tab.get_by_role("button", name="Other").count() == 0
    assert tab.locator(".ks-sheet").count() == 0
    assert "Make it in these sizes only" in tab.locator(".ks-only").inner_text()
    assert tab.locator(".ks-size.ks-for-x").count() == 0
    record = json.loads(tab.locator(".ks-formula").get_attribute("data-batch"))
    assert "lines" not in record


def ticked(tab: Any, count: int, more: str = ".ks-row:visible ") -> None:
    """So many ticks are shown."""
    tab.wait_for_function(
        """([more, count]) => [...document.querySelectorAll('input.ks-tick:checked')].filter(
            e => !more || e.closest('.ks-row')?.checkVisibility()).length === count""",
        arg=[more, count],
    )


def test_a_tick_asks_for_a_batch_and_lasts_over_a_reload(tab: Any, address: str) -> None:
    tab.goto(address + ROLL)
    tab.locator(".ks-row:visible > label").nth(0).click()
    tab.wait_for_selector(".ks-batches[open]")
    assert tab.locator(".ks-tick:checked").count() == 0, "nothing is ticked before it is kept"
    start(tab)
    ticked(tab, 1)
    tab.locator(".ks-row:visible > label").nth(2).click()
    tab.locator("#d1").check()
    kept(tab)
    tab.reload()
    ticked(tab, 2)
    assert tab.locator("#d1").is_checked()
    tab.locator(".ks-row:visible > label").nth(2).click()
    tab.get_by_role("button", name="Clear ticks (2)").click()
    ticked(tab, 0, "")
    tab.reload()
    tab.wait_for_selector(".ks-holds.ks-going")
    ticked(tab, 0, "")


def test_another_size_asks_what_becomes_of_the_ticks(tab: Any, address: str) -> None:
    """A tick stays only where the weight stays; back is back; closing the question is back."""
    tab.goto(address + ROLL)
    started(tab)
    for row in (0, 2):
        tab.locator(".ks-row:visible > label").nth(row).click()
    tab.locator("#d1").check()
    kept(tab)
    tab.locator("label[for=s2]").click()
    sheet = tab.locator(".ks-batches[open]")
    sheet.get_by_text("Make 24 rolls?").wait_for()
    rows = """n => Object.fromEntries([...document.querySelectorAll(`.ks-for-${n} .ks-row`)]
        .map(r => [r.querySelector('.ks-name').textContent, r.querySelector('.ks-num').textContent]))"""
    small, large = tab.evaluate(rows, 0), tab.evaluate(rows, 2)
    both = [name for i, name in enumerate(small) if i in (0, 2) and large[name] == small[name]]
    said = "No weight stays the same." if not both else f"{len(both)} weight"
    asked = sheet.inner_text()  # a row that moves to another machine's list is weighed anew
    assert said in asked or "No weight stays the same." in asked
    tab.keyboard.press("Escape")
    tab.wait_for_selector(".ks-batches:not([open])", state="attached")
    tab.wait_for_function("() => document.querySelector('#s0').checked")
    ticked(tab, 2)
    assert tab.locator("#d1").is_checked()
    tab.locator("label[for=s2]").click()
    sheet.get_by_role("button", name="Clear all 3 ticks").click()
    tab.wait_for_selector(".ks-batches:not([open])", state="attached")
    ticked(tab, 0, "")
    assert tab.url.endswith("?fills=24")
    tab.goto("about:blank")
    tab.goto(address + ROLL)  # opened anew, without the size in its address
    tab.wait_for_selector(".ks-holds.ks-going")
    assert tab.locator("#s2").is_checked()
    ask(tab, "fills", "5")
    tab.locator(".ks-go:visible").click()
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    tab.locator(".ks-row:visible > label").nth(1).click()
    kept(tab)
    tab.goto("about:blank")
    tab.goto(address + ROLL)
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    ticked(tab, 1)


def test_ticks_of_another_revision_are_not_carried_over(tab: Any, address: str) -> None:
    tab.goto(address + ROLL)
    started(tab)
    tab.locator(".ks-row:visible > label").nth(0).click()
    kept(tab)
    tab.evaluate(
        """async () => { const [b] = await ksStore.all();
            await ksStore.change(b.id, kept => { kept.revision -= 1; }); }"""
    )
    asked = tab.locator(".ks-hand-ask")
    asked.get_by_text("The standard has changed").wait_for()
    ticked(tab, 0, "")
    tab.locator(".ks-row:visible > label").nth(1).click()
    ticked(tab, 0, "")
    asked.get_by_role("button", name="Go on with this page, no ticks").click()
    tab.wait_for_selector(".ks-holds.ks-going")
    ticked(tab, 0, "")
    record = tab.evaluate("async () => (await ksStore.all())[0]")
    assert len(record["earlier"]) == 1 and "w-0-1" in record["earlier"][0]["ticks"], (
        "nothing is lost"
    )
    assert record["ticks"] == {}


def test_a_load_weighed_opens_the_next_after_a_reload(tab: Any, address: str) -> None:
    tab.goto(f"{address}{ROLL}?fills=16")
    started(tab)
    for i in range(tab.locator(".ks-row:visible").count()):
        tab.locator(".ks-row:visible > label").nth(i).click()
    assert "done" in tab.locator(".ks-loadbar:visible .ks-segment").first.inner_text()
    kept(tab)
    tab.reload()
    tab.wait_for_selector(".ks-load-1:visible")
    assert tab.locator(".ks-load-1:visible").count() == 1
    tab.set_viewport_size({"width": 1280, "height": 800})  # a column a load, the same ticks
    assert tab.locator("[data-for]:visible, .ks-box2:visible").count() >= 7
    tab.locator(".ks-box2:visible").first.click()
    kept(tab)
    tab.set_viewport_size({"width": 390, "height": 844})
    assert tab.locator(".ks-load-1:visible input.ks-tick:checked").count() == 1


def test_where_nothing_may_be_stored_the_page_works_and_says_so(browser: Any, address: str) -> None:
    with strict_tab(browser, faults_of="denied") as tab:
        for store in ("localStorage", "sessionStorage", "indexedDB"):
            tab.add_init_script(
                f"Object.defineProperty(window, '{store}', {{get() {{ throw new Error('denied'); }}}})"
            )
        tab.goto(address + ROLL)
        tab.locator(".ks-row:visible > label").nth(0).click()
        start(tab)
        ticked(tab, 1)
        assert "This phone can't keep batches." in tab.locator(".ks-told").inner_text()
        tab.get_by_role("button", name="Clear ticks (1)").click()
        ask(tab, "fills", "5")
        tab.locator(".ks-go:visible").click()
        tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
        assert tab.locator(".ks-size.ks-for-x:visible").count() == 1


def test_a_clock_runs_to_its_end_over_a_reload_and_never_says_done(
    tab_at_noon: Any, address: str
) -> None:
    tab = tab_at_noon
    tab.add_init_script("navigator.vibrate = p => { window.shaken = p; return true; }")
    tab.goto(address + ROLL)
    tab.locator("#step-3 .ks-timer").get_by_role("button", name="Start 5 min").click()
    start(tab)
    box = tab.locator("#step-3 .ks-timer")
    box.get_by_text("5:00 left, until 12:05").wait_for()
    assert "3 Mix: 5:00" in tab.locator(".ks-clock").inner_text()
    tab.clock.run_for(61_000)
    assert re.search(r"(3:59|4:00) left", box.inner_text())
    tab.reload()
    box.get_by_text("left, until 12:05").wait_for()
    assert tab.evaluate("window.shaken") is None
    tab.clock.run_for(240_000)
    assert "Time is up. Check the food." in box.inner_text()
    assert "3 Mix: Time is up. Check the food." in tab.locator(".ks-hide[role=alert]").inner_text()
    assert tab.evaluate("Array.isArray(window.shaken)")
    assert tab.locator(".ks-clock.ks-up").inner_text() == "3 Mix: time is up"
    words = (box.inner_text() + tab.locator(".ks-clock").inner_text()).lower()
    assert not re.search(r"\bdone\b|ready|safe|cooked", words)
    box.get_by_role("button", name="Seen").click()
    box.get_by_role("button", name="Start 5 min").wait_for()
    assert tab.locator(".ks-clock:visible").count() == 0


def test_holds_have_clocks(tab: Any, address: str, demo: Manual) -> None:
    """Each hold of a limit and each time of a step, as long as the sheet says; and each clock the
    law runs."""
    for formula, page in (
        ("roast-beef-cold", "roasting/roast-beef-cold/"),
        ("turkey-chive-roll", ROLL),
    ):
        walk = demo.sheets[formula].walk
        expected = sorted(
            [int(s.step.step.time.shortest) for s in walk.steps if s.step.step.time is not None]
            + [int(lm.hold_s) for s in walk.steps for lm in s.limits if getattr(lm, "hold_s", None)]
        )
        tab.goto(address + page)
        found = tab.evaluate(
            "[...document.querySelectorAll('[data-timer]')].map(e => +e.dataset.timer)"
        )
        assert sorted(found) == expected and len(expected) > 0
        assert tab.locator(":is(dd, .ks-step-text) > .ks-timer").count() == len(expected)
        law = sum(len(law_clocks(lm, "°C")) for lm in walk.limits)
        assert tab.locator(":is(.ks-at-bench, .ks-at-start) > .ks-timer").count() == law > 0


def test_the_screen_is_kept_on_when_asked_and_asked_again_on_return(
    tab: Any,
    address: str,
) -> None:
    tab.add_init_script(
        """window.asked = 0; window.let = 0;
        Object.defineProperty(navigator, 'wakeLock', {value: {request: async () => { window.asked++; return {release: () => { window.let++; }}; }}});"""
    )
    tab.goto(address + ROLL)
    key = tab.get_by_role("button", name="Screen on")
    assert tab.evaluate("window.asked") == 0
    key.click()
    assert tab.evaluate("window.asked") == 1 and key.get_attribute("aria-pressed") == "true"
    tab.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert tab.evaluate("window.asked") == 2
    key.click()
    assert tab.evaluate("window.let") == 1 and key.get_attribute("aria-pressed") == "false"
    tab.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert tab.evaluate("window.asked") == 2


def test_no_button_for_a_screen_that_cannot_be_kept_on(tab: Any, address: str) -> None:
    tab.add_init_script("Object.defineProperty(navigator, 'wakeLock', {value: undefined})")
    tab.goto(address + ROLL)
    assert tab.get_by_role("button", name="Screen on").count() == 0


def test_the_other_units_are_stricter_and_the_cure_stays_in_grams(
    tab: Any,
    address: str,
    demo: Manual,
) -> None:
    """Pounds and ounces exact to a step of the scale; limits in the other scale never laxer."""
    tab.goto(address + CURED)
    before = tab.locator(".ks-fig b").all_inner_texts()
    tab.get_by_role("button", name="°F, lb, oz").click()
    sheet = demo.sheets["weir-sausage"]
    rows = {row[0]: row[1] for row in shown(tab, 0)}
    ounce = demo.house.units.by_name["oz"].factor  # type: ignore[union-attr]
    for line in sheet.batches[0].per_load():
        facts = line.line.joined.ingredient
        text = rows[line.name]
        if facts is not None and facts.function == "cure":
            assert text.endswith("g")
            continue
        match = re.fullmatch(r"(?:([\d\u2009]+)\xa0lb\xa0)?([\d.]+)\xa0oz", text)
        assert match, text
        scale = line.weighing.scale
        assert scale is not None
        back = (int((match[1] or "0").replace("\u2009", "")) * 16 + float(match[2])) * float(ounce)
        assert abs(back - float(line.weighing.grams)) <= float(scale.division) / 2
    after = tab.locator(".ks-fig b").all_inner_texts()
    units = tab.locator(".ks-fig i").all_inner_texts()
    asked = [(b, a) for b, a, u in zip(before, after, units, strict=True) if u == "°F"]
    assert len(asked) >= 3
    read = (HeatingLimit, KeepingLimit)
    limits = [x for x in sheet.walk.limits if isinstance(x, read) and most_time(x) is None]
    for limit in limits:
        pairs = [a for b, a in asked if b == str(limit.read)]
        exact = limit.read * 9 / 5 + 32
        for figure in pairs:
            strict = (
                int(figure) >= limit.figure.read_at_f
                if limit.bound == "min"
                else int(figure) <= limit.figure.read_at_f
            )
            assert strict, (figure, limit.id)
            assert abs(int(figure) - exact) < 2
    tab.reload()
    assert tab.locator(".ks-fig b").all_inner_texts() == after, "it is remembered"
    tab.get_by_role("button", name="°F, lb, oz").click()
    assert tab.locator(".ks-fig b").all_inner_texts() == before


def test_the_other_units_of_any_size(tab: Any, address: str, demo: Manual) -> None:
    """What the script writes for a size of its own is what the generator would print."""
    tab.goto(f"{address}{ROLL}?total=9.3kg")
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    tab.get_by_role("button", name="°F, lb, oz").click()
    batch = batch_of(demo, "turkey-chive-roll", total_="9.3kg")
    view = weigh_view(demo.sheets["turkey-chive-roll"], batch, "x/y.md", {})
    rows = [r for g in view.groups for part in g.parts * g.loads for r in part.rows]
    assert [row[1] for row in shown(tab, "x")] == [
        f"{r.other[0]}{r.other[1]}\u00a0{r.other[2]}" for r in rows
    ]
    assert view.total[1] in tab.locator(".ks-gives .ks-for-x").inner_text()


def test_the_bar_opens_the_sheet_and_a_size_picked_there_closes_it(tab: Any, address: str) -> None:
    tab.goto(address + ROLL)
    tab.locator(".ks-bar-size").click()
    tab.wait_for_selector(".ks-sheet[open]")
    tab.locator(".ks-sheet label[for=s2]").click()
    tab.wait_for_selector(".ks-sheet:not([open])", state="attached")
    assert tab.locator(".ks-much #s2").is_checked()
    tab.locator(".ks-bar-size").click()
    tab.wait_for_selector(".ks-sheet[open]")
    tab.keyboard.press("Escape")
    tab.wait_for_selector(".ks-sheet:not([open])", state="attached")
    tab.wait_for_selector(".ks-much .ks-sizes")  # they are in the page again


def test_targets_and_type_at_the_bench(tab: Any, address: str) -> None:
    """Main targets are touched 64 px high, all are 48 px, 8 px apart or one strip; body 18 px, weights and probe
    figures 22 px; nothing wider than the glass: with a clock running, in the other units, in the
    sheet."""
    tab.set_viewport_size({"width": 320, "height": 780})
    tab.goto(f"{address}{ROLL}?total=12.34kg")
    tab.wait_for_selector(".ks-size.ks-for-x", state="attached")
    tab.get_by_role("button", name="°F, lb, oz").click()
    tab.locator("#step-6 .ks-timer button:visible").first.click()
    start(tab)
    for width in (320, 360, 390, 768):
        tab.set_viewport_size({"width": width, "height": 780})
        assert tab.evaluate("innerWidth") == width
        targets_and_type(tab, width)
        tab.keyboard.press("Escape")
        tab.wait_for_selector(".ks-sheet:not([open])", state="attached")


def targets_and_type(tab: Any, width: int) -> None:
    """As they are on a glass of this width; leaves the sheet open."""
    high = """sel => [...document.querySelectorAll(sel)].filter(e => e.checkVisibility())
        .map(e => [e.textContent.slice(0, 30), e.getBoundingClientRect().height])"""
    main = ".ks-row > label, .ks-segment, .ks-bar a, .ks-step-tick"
    assert [x for x in tab.evaluate(high, main) if x[1] < 63.9] == []
    keys = ".ks-button, .ks-timer button, .ks-tools button"
    assert [x for x in tab.evaluate(high, keys) if x[1] < 47.9] == []
    # A key may be drawn lower than a wet thumb needs: it is touched 64 px high all the same.
    touched = """sel => [...document.querySelectorAll(sel)].filter(e => e.checkVisibility() && !e.closest('.ks-strips')).filter(e => {
        e.scrollIntoView({block: 'center', behavior: 'instant'});
        const r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;
        return [-31, 31].some(by => e !== document.elementFromPoint(x, y + by).closest(sel));
    }).map(e => e.textContent)"""
    assert tab.evaluate(touched, keys) == []
    assert [
        x for x in tab.evaluate(high, "summary, a.ks-clock, .ks-list > li") if x[1] < 47.9
    ] == []
    size = """sel => Math.min(...[...document.querySelectorAll(sel)].filter(e => e.checkVisibility())
        .map(e => parseFloat(getComputedStyle(e).fontSize)))"""
    assert tab.evaluate(size, ".ks-num b, .ks-num i, .ks-fig b") >= 22
    assert tab.evaluate(size, ".ks-do, .ks-gives p, .ks-name, .ks-limit dd, .ks-timer *") >= 18
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    cut = """() => [...document.querySelectorAll('.ks *')].filter(e => e.checkVisibility()).filter(e => {
        const r = e.getBoundingClientRect();
        return r.width && getComputedStyle(e).position !== 'absolute' && !e.closest('.ks-hide, svg')
            && (r.right > innerWidth + 1 || r.left < -17); }).map(e => e.className + ' ' + e.textContent.slice(0, 30))"""
    assert tab.evaluate(cut) == []
    ask(tab, "turkey-thigh", "7.5", "kg")
    assert [
        x
        for x in tab.evaluate(
            high, ".ks-sheet :is(button, select, input:not(.ks-radio)), .ks-sheet .ks-segment"
        )
        if x[1] < 63.9
    ] == []
    assert tab.evaluate(size, ".ks-ask > *, .ks-reports") >= 18
    assert tab.evaluate(cut) == []
    assert tab.evaluate("document.querySelector('.ks-sheet').scrollWidth") <= width


@pytest.mark.slow
@pytest.mark.parametrize("width", [320, 768])
def test_every_formula_at_sizes_of_every_kind_is_the_generators_page(
    tab: Any, address: str, demo: Manual, width: int
) -> None:
    """Rows, remarks, folds and yields of a size taken from the address, over all demo formulas."""
    tab.set_viewport_size({"width": width, "height": 700})
    held = 0
    for formula, sheet in demo.sheets.items():
        item = sheet.walk.lines[0].joined.item
        asked = [
            ("total", "3.3 kg"),
            ("total", "17 kg"),
            ("base", "41 kg"),
            ("yield", "8.7 kg"),
            ("portions", "77"),
        ]
        for kind, text in [*asked, ("have", f"{item}:6.5 kg")]:
            size: dict[str, Any] = {f"{kind}_": text}
            if kind == "have":
                size = {"on_hand": (text.replace(":", "="),)}
            where = (
                f"{address}{sheet.formula.formula.home}/{formula}/?{kind}={text.replace(' ', '+')}"
            )
            tab.goto(where)
            if "only" in json.loads(tab.locator(".ks-formula").get_attribute("data-batch")):
                break
            tab.wait_for_selector(".ks-refused, .ks-size.ks-for-x", state="attached")
            try:
                batch = batch_of(demo, formula, **size)
            except Refused:
                assert tab.locator(".ks-refused").count() == 1, where
                continue
            view = weigh_view(sheet, batch, "x/y.md", {})
            rows = [r for g in view.groups for part in g.parts * g.loads for r in part.rows]
            assert shown(tab, "x") == rows_of(demo, batch, formula), where

            def texts(selector: str) -> list[str]:
                found = tab.locator(f".ks-size.ks-for-x {selector}").all_text_contents()
                return [" ".join(text.split()) for text in found]

            remarks = [
                " ".join(f"{m.before} {m.bold} {m.after}".split()) for r in rows for m in r.remarks
            ]
            assert sorted(t for t in texts(".ks-remark") if not t.startswith("How ")) == sorted(
                remarks
            ), where
            assert texts(".ks-weighing") == [" ".join(w.weighing.split()) for w in view.why], where
            bought = [f"{a} as purchased for {b} trimmed" for _, a, b in view.purchase]
            assert [t for t in texts("dd") if "as purchased" in t] == [
                " ".join(b.split()) for b in bought
            ], where
            got = str(tab.locator(".ks-yield.ks-for-x").text_content())
            assert all(words in got for _, words in _yielded(sheet.formula, batch)), where
            assert tab.evaluate("document.documentElement.scrollWidth") <= width, where
            held += 1
    assert held > 80

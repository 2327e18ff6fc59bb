"""Batches on a phone: kept in one store for all tabs, over reloads, crashes and moved clocks; their
clocks on every page; handed to another phone by code or file. Real Chromium."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import browsing
import jsonschema
import pytest
import zxingcpp
from browsing import FLAGS, LAUNCHED, served
from commands import run
from conftest import BASE, ROOT, compute, edit
from PIL import Image
from playwright.sync_api import Error

from generator.authoring.schemas import schemas
from generator.framing import STATIC as FRAME
from generator.pages import ASSETS, ON_DEMAND, STATIC
from generator.sheet.manual import Manual
from generator.site.publish import build_site

ROLL = "cold-kitchen/turkey-chive-roll/"
SOUP = "stove/barley-soup/"
LIMITS = "control/limits/"
NOON = "2026-11-25T12:00:00-06:00"
PHONE = {"viewport": {"width": 390, "height": 844}, "timezone_id": "America/Chicago"}
SHAKES = "navigator.vibrate = p => { (window.shaken ||= []).push(p); return true; }"
EVERYTHING = "async () => [...(await ksStore.all()), ...(await ksStore.ended())]"


class Phone:
    """A phone with a store of its own for all its tabs; ``first`` is the one that is open."""

    def __init__(self, browser: Any, till: contextlib.ExitStack, faults: list[str]) -> None:
        self._browser, self._till = browser, till
        self._first: Any = None
        self._faults = faults

    def new_page(self, at: str | None = None) -> Any:
        """Another tab, the clock of the phone set where ``at`` says."""
        if self._first is None:
            options = {**PHONE, "at": at}
            page = self._till.enter_context(browsing.tab(self._browser, strict=True, **options))
            self._first = page
        else:
            page = self._first.beside()
            page.on("pageerror", lambda e: self._faults.append(str(e)))
            page.on("console", lambda m: self._faults.append(m.text) if m.type == "error" else None)
            if at:
                page.clock.install(time=at)
        page.add_init_script(SHAKES)
        return page


@contextlib.contextmanager
def profile(browser: Any) -> Iterator[Phone]:
    """A phone with a store of its own; faults in the console of any of its tabs fail the test."""
    faults: list[str] = []
    with contextlib.ExitStack() as till:
        yield Phone(browser, till, faults)
    assert faults == []


@pytest.fixture
def phone(browser: Any, server: Any) -> Iterator[Phone]:
    """The server outlasts it: what a page asks for late is no fault."""
    with profile(browser) as one:
        yield one


def opened(phone: Any, address: str, at: str | None = None) -> Any:
    """A tab, with the clock of the phone set where ``at`` says."""
    tab = phone.new_page(at)
    tab.goto(address)
    return tab


def start(tab: Any, who: str = "", asked: bool = False) -> None:
    """Start a batch as the sheet proposes it; ``asked``: the page asks for one by itself."""
    sheet = tab.locator(".ks-batches[open]")
    if not asked:
        tab.locator(".ks-holds").click()
    tab.wait_for_selector(".ks-batches[open]")
    if not sheet.locator(".ks-go").count():
        sheet.get_by_role("button", name="Start another batch").click()
    if who:
        sheet.locator("input").last.fill(who)
    sheet.locator(".ks-go").click()
    tab.wait_for_selector(".ks-batches:not([open])", state="attached")
    tab.wait_for_selector(".ks-holds.ks-going")


def row(tab: Any, n: int) -> Any:
    return tab.locator(".ks-row:visible > label").nth(n)


def ticks(tab: Any) -> list[str]:
    found: list[str] = tab.evaluate(
        "[...document.querySelectorAll('.ks-tick:checked')].map(e => e.id)"
    )
    return found


def await_ticks(tab: Any, count: int) -> None:
    tab.wait_for_function(
        "n => document.querySelectorAll('.ks-tick:checked').length === n", arg=count
    )


def records(tab: Any) -> list[dict[str, Any]]:
    tab.wait_for_function("() => self.ksStore")
    found: list[dict[str, Any]] = tab.evaluate(EVERYTHING)
    return sorted(found, key=lambda b: b["started"])


def said(place: Any) -> str:
    """What is read there, its spaces as plain ones."""
    return " ".join(place.inner_text().replace("\u00a0", " ").split())


def going(tab: Any, number: int) -> None:
    tab.wait_for_function(
        "n => document.querySelector('.ks-holds.ks-going')?.textContent === `Batch ${n}`",
        arg=number,
    )


# --- one store, many tabs


def test_two_batches_in_three_tabs_lose_nothing(phone: Any, address: str) -> None:
    """Two tabs of one batch and one of another tick at once; each shows its batch's ticks and no
    other's."""
    one = opened(phone, address + ROLL)
    start(one, "Ana")
    two = opened(phone, address + ROLL)
    going(two, 1)
    three = opened(phone, address + ROLL)
    going(three, 1)
    start(three, "Ben")
    going(three, 2)
    await_ticks(three, 0)
    keys = [f"w-0-{n}" for n in range(1, 5)]
    mark = """(keys) => { for (const key of keys)
        document.getElementById(key.replace('w-', 'w0-')).parentElement.querySelector('label').click(); }"""
    one.evaluate(mark, keys[:2])
    two.evaluate(mark, keys[2:])
    three.evaluate(mark, keys[:1])
    for tab in (one, two):
        await_ticks(tab, 4)
    await_ticks(three, 1)
    first, second = records(one)
    assert sorted(k for k, t in first["ticks"].items() if t["done"]) == sorted(keys)
    assert list(second["ticks"]) == keys[:1]
    assert (first["number"], first["who"]) == (1, "Ana")
    assert (second["number"], second["who"]) == (2, "Ben")
    # Twenty changes from each of three tabs, all under way at once.
    many = """async id => { await Promise.all([...Array(20).keys()].map(i => ksStore.change(id, b => {
        b.clocks.push({ id: Math.random() + '', key: 'x ' + i, kind: 'time', anchor: 'step-1', name: 'x', revision: 1,
            started: new Date().toISOString(), due: [], stopped: new Date().toISOString() }); }))); }"""
    for tab in (one, two, three):
        tab.evaluate(f"id => {{ window.job = ({many})(id); }}", first["id"])
    for tab in (one, two, three):
        tab.evaluate("() => window.job")
    assert len(records(one)[0]["clocks"]) == 60
    one.reload()
    going(one, 1)
    await_ticks(one, 4)
    three.reload()
    going(three, 2)
    await_ticks(three, 1)


def test_two_tabs_that_start_at_once_get_two_numbers(phone: Any, address: str) -> None:
    tabs = [opened(phone, address + ROLL) for _ in range(2)]
    for tab in tabs:
        tab.locator(".ks-holds").click()
        tab.wait_for_selector(".ks-batches[open] .ks-go")
    for tab in tabs:
        tab.evaluate("document.querySelector('.ks-batches .ks-go').click()")
    for tab in tabs:
        tab.wait_for_selector(".ks-holds.ks-going")
    assert sorted(b["number"] for b in records(tabs[0])) == [1, 2]


def test_a_page_opened_beside_two_batches_asks_which(phone: Any, address: str) -> None:
    one = opened(phone, address + ROLL)
    start(one, "Ana")
    row(one, 0).click()
    await_ticks(one, 1)
    start(one, "Ben")
    await_ticks(one, 0)
    fresh = opened(phone, address + ROLL)
    asked = fresh.locator(".ks-hand-ask")
    asked.get_by_text("Which batch is in your hand?").wait_for()
    assert ticks(fresh) == []
    row(fresh, 1).click()
    fresh.wait_for_timeout(200)
    assert ticks(fresh) == [], "no tick before the batch is known"
    asked.get_by_role("button", name="Batch 1 (Ana)").click()
    going(fresh, 1)
    await_ticks(fresh, 1)


def test_a_batch_that_ends_leaves_a_clean_page_and_its_record(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    start(tab)
    row(tab, 0).click()
    await_ticks(tab, 1)
    tab.locator("#step-3 .ks-timer button").first.click()
    tab.wait_for_selector("#step-3 .ks-face")
    tab.locator(".ks-holds").click()
    sheet = tab.locator(".ks-batches[open]")
    sheet.get_by_role("button", name="End batch 1").click()
    sheet.get_by_role("button", name="1 clock of it runs. End it all the same?").click()
    tab.wait_for_selector(".ks-holds:not(.ks-going)")
    await_ticks(tab, 0)
    assert tab.locator("#step-3 .ks-face").count() == 0
    (record,) = records(tab)
    assert record["ended"] and record["clocks"][0]["stopped"] == record["ended"]
    assert record["ticks"]["w-0-1"]["done"]
    start(tab)
    going(tab, 2)
    await_ticks(tab, 0)


def test_an_address_of_another_size_reads_and_changes_no_batch(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    start(tab)
    row(tab, 0).click()
    await_ticks(tab, 1)
    other = opened(phone, f"{address}{ROLL}?fills=16")
    other.locator(".ks-hand-ask").get_by_text("This page shows another size.").wait_for()
    assert ticks(other) == [] and other.locator("#s1").is_checked()
    assert records(other)[0]["size"] == "fills=8"
    other.get_by_role("button", name="Show batch 1").click()
    await_ticks(other, 1)
    assert other.locator("#s0").is_checked()


# --- crashes and clocks


def processes(folder: str, kind: str) -> list[int]:
    """A browser's processes by the profile it was given: its own ("") or its "renderer"s."""
    found = []
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError, ValueError):
            words = (entry / "cmdline").read_bytes().decode("utf-8", "replace")
            of_it = f"--user-data-dir={folder}" in words
            mine = "--type=" not in words if not kind else f"--type={kind}" in words
            if of_it and mine:
                found.append(int(entry.name))
    return found


@contextlib.contextmanager
def own_browser(browser: Any, folder: str) -> Iterator[Any]:
    """A browser of its own on a profile in ``folder``, which may be killed or stopped."""
    context = browser.browser_type.launch_persistent_context(
        folder, executable_path=LAUNCHED, args=FLAGS, **PHONE
    )
    yield context
    with contextlib.suppress(Error):
        context.close()


def test_a_battery_dies_and_a_locked_phone_wakes(
    browser: Any, address: str, tmp_path: Path
) -> None:
    """The whole browser is killed, not closed: what was shown as kept is there again. Then what a
    locked phone does, which stops the browser's processes: nothing rings meanwhile, and on waking it
    rings at once. The guide says so."""
    folder = str(tmp_path / "phone")
    with own_browser(browser, folder) as context:
        tab = context.pages[0]
        tab.goto(address + ROLL)
        start(tab)
        row(tab, 0).click()
        tab.wait_for_function("async () => (await ksStore.all())[0]?.ticks['w-0-1']?.done")
        (mine,) = processes(folder, "")
        os.kill(mine, signal.SIGKILL)
    for left in Path(folder).glob("Singleton*"):
        left.unlink()
    with own_browser(browser, folder) as context:
        tab = context.pages[0]
        tab.add_init_script(
            "navigator.vibrate = () => { (window.rang ||= []).push(Date.now()); return true; }"
        )
        tab.goto(address + ROLL)
        going(tab, 1)
        await_ticks(tab, 1)
        tab.locator("#step-3 .ks-timer button").first.click()
        tab.wait_for_selector("#step-3 .ks-face")
        tab.evaluate(
            """async () => { const [b] = await ksStore.all();
                await ksStore.change(b.id, k => { k.clocks[0].due[0].at = new Date(Date.now() + 2000).toISOString(); }); }"""
        )
        stopped = processes(folder, "renderer")
        for one in stopped:
            os.kill(one, signal.SIGSTOP)
        time.sleep(4)
        woken = time.time() * 1000
        for one in stopped:
            os.kill(one, signal.SIGCONT)
        tab.wait_for_function("() => window.rang?.length === 1", timeout=5000)
        (rang,) = tab.evaluate("window.rang")
    assert woken - 50 <= rang <= woken + 2500
    guide = (ROOT / "site_demo/guide/look-up/phone.md").read_text(encoding="utf-8")
    assert "While the phone is locked, no alarm sounds." in guide


@pytest.mark.parametrize(
    ("days", "day"), [pytest.param(9, "04", marks=pytest.mark.slow), (30, "25")]
)
def test_days_later_the_page_is_clean_and_the_old_batch_is_asked_about(
    phone: Any, address: str, days: int, day: str
) -> None:
    """A clock set forward, or a phone found again: no tick, no silent clock, nothing lost."""
    tab = opened(phone, address + ROLL, NOON)
    start(tab, "Ana")
    row(tab, 0).click()
    await_ticks(tab, 1)
    tab.locator("#step-7 .ks-at-start .ks-timer button").first.click()
    tab.wait_for_selector("#step-7 .ks-face")
    month = "12"
    later = opened(phone, address + ROLL, f"2026-{month}-{day}T12:00:00-06:00")
    asked = later.locator(".ks-hand-ask")
    asked.get_by_text("Batch 1 (Ana) of Wed 25 Nov 2026: still going?").wait_for()
    assert ticks(later) == []
    clock = later.locator("a.ks-clock")
    assert "20 °C was due at 14:00 on Wed 25 Nov" in said(clock)
    assert later.evaluate("window.shaken.length") == 2, "both deadlines are over, each rings"
    row(later, 1).click()
    later.wait_for_timeout(100)
    assert ticks(later) == []
    asked.get_by_role("button", name="Yes, still going").click()
    await_ticks(later, 1)
    assert ticks(later) == ["w0-0-1"]
    (record,) = records(later)
    assert record["day"] == "2026-11-25" and record["going"] == f"2026-{month}-{day}"
    assert days in (9, 30)


@pytest.mark.parametrize("days", [pytest.param(9, marks=pytest.mark.slow), 30])
def test_a_phone_clock_that_was_set_back_says_so(phone: Any, address: str, days: int) -> None:
    tab = opened(phone, address + ROLL, NOON)
    start(tab)
    tab.locator("#step-7 .ks-at-start .ks-timer button").first.click()
    tab.wait_for_selector("#step-7 .ks-face")
    back = {9: "2026-11-16", 30: "2026-10-26"}[days]
    early = opened(phone, address + LIMITS, f"{back}T12:00:00-05:00")
    early.wait_for_selector("a.ks-clock")
    words = said(early.locator("a.ks-clock"))
    assert "20 °C by 14:00 on Wed 25 Nov" in words or "20 °C by 13:00" in words or "on Wed" in words
    assert "This phone's clock was set back: look at another clock." in words
    assert early.evaluate("window.shaken") is None


def test_a_batch_left_in_an_open_tab_over_night_is_asked_about(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL, "2026-11-25T23:50:00-06:00")
    start(tab)
    row(tab, 0).click()
    await_ticks(tab, 1)
    tab.clock.fast_forward("00:20:00")
    row(tab, 1).click()
    await_ticks(tab, 2)  # work that goes on past midnight isn't asked about
    tab.clock.fast_forward("05:00:00")
    row(tab, 2).click()
    tab.locator(".ks-hand-ask").get_by_text("still going?").wait_for()
    assert ticks(tab) == []
    kept = sorted(records(tab)[0]["ticks"])
    assert kept == ["w-0-1", "w-0-2"], "the tap wasn't kept for yesterday's batch"


# --- clocks the law runs


def test_the_cooling_clock_has_both_deadlines_and_an_alarm_before_each(
    phone: Any, address: str
) -> None:
    tab = opened(phone, address + ROLL, NOON)
    box = tab.locator("#step-7 .ks-at-start .ks-timer")
    assert said(box) == "The probe reads 59 °C: start"
    box.get_by_role("button").click()
    start(tab, asked=True)
    box.get_by_text("20 °C by 14:00").wait_for()
    assert "2:00:00 left" in said(box) and "4 °C by 18:00" in said(box)
    (record,) = records(tab)
    (clock,) = record["clocks"]
    due = [d["at"][:16] for d in clock["due"]]
    assert due == ["2026-11-25T20:00", "2026-11-26T00:00"]
    (reading,) = record["readings"]
    assert (reading["value"], reading["unit"]) == ("59", "°C")
    other = opened(phone, address + LIMITS, "2026-11-25T13:49:00-06:00")
    other.wait_for_selector("a.ks-clock")
    assert "7 Chill: 20 °C by 14:00 · 11:0" in said(other.locator("a.ks-clock"))
    assert other.evaluate("window.shaken") is None
    other.clock.run_for(90_000)
    alarm = other.locator(".ks-hide[role=alert]")
    assert "20 °C by 14:00: " in said(alarm)
    assert other.evaluate("window.shaken.length") == 1
    pass_by(other, 600)
    assert other.evaluate("window.shaken.length") == 2
    assert "20 °C was due at 14:00. Read the probe now." in said(alarm)
    other.reload()
    other.wait_for_selector("a.ks-clock.ks-up")
    assert other.evaluate("window.shaken") is None, "what rang here isn't rung again"
    other.locator("a.ks-clock").click()
    other.wait_for_url(f"**/{ROLL}**#step-7")
    going(other, 1)
    box = other.locator("#step-7 .ks-at-start .ks-timer")
    box.get_by_role("button", name="Seen").first.click()
    box.get_by_text("20 °C was due at 14:00: seen").wait_for()
    assert "4 °C by 18:00" in said(other.locator("a.ks-clock"))
    box.get_by_role("button", name="Stop").click()
    box.get_by_role("button", name="The law runs this clock. Stop it?").click()
    box.get_by_role("button", name="The probe reads 59 °C: start").wait_for()


def pass_by(tab: Any, seconds: int) -> None:
    """So much time goes by: at once, but for its last half minute, which is run second by second, as
    a page that is looked at runs."""
    tab.clock.fast_forward((seconds - 30) * 1000)
    tab.clock.run_for(30_000)


def type_in(tab: Any, figure: str) -> str:
    """Type a reading on the keypad, keep it, and give what the page says."""
    pad = tab.locator(".ks-keypad[open]")
    if pad.get_by_role("button", name="Another reading").is_visible():
        pad.get_by_role("button", name="Another reading").click()
    for key in figure:
        pad.get_by_role("button", name=key, exact=True).click()
    pad.locator(".ks-go").click()
    tab.wait_for_selector(".ks-told-verdict")
    return said(pad.locator(".ks-verdict"))


def test_readings_judge_the_stages_of_a_cooling(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL, NOON)
    step = tab.locator("#step-7")
    step.locator(".ks-at-start .ks-timer button").first.click()
    start(tab, asked=True)
    step.locator(".ks-face").first.wait_for()
    step.get_by_role("button", name="Reading").click()
    pass_by(tab, 5_400)
    assert type_in(tab, "23").startswith("23 °C: not yet. 20 °C by 14:00, 29 min left.")
    pass_by(tab, 600)
    assert type_in(tab, "19.5") == "19.5 °C: yes. Next: 4 °C by 18:00."
    tab.locator(".ks-keypad").get_by_role("button", name="Close").click()
    assert "20 °C: read at 13:4" in said(step.locator(".ks-at-start .ks-timer"))
    pass_by(tab, 3_600)
    assert tab.evaluate("window.shaken") is None, "a stage that was reached doesn't ring"
    step.get_by_role("button", name="Reading").click()
    pass_by(tab, 14_400)
    told = type_in(tab, "9")
    assert told.startswith("9 °C: too warm. 4 °C by 18:00 is over.")
    assert "If missed: Above 20 °C after 2 h" in told
    tab.locator(".ks-keypad").get_by_role("button", name="Close").click()
    lines = step.locator(".ks-read li").all_inner_texts()
    assert len(lines) == 4 and "9 °C: missed" in lines[-1]
    step.locator(".ks-read li").last.get_by_role("button", name="Typed wrong").click()
    step.locator(".ks-struck").wait_for()
    (record,) = records(tab)
    assert [r["verdict"] for r in record["readings"]] == [
        "clock started",
        "not yet",
        "in time",
        "missed",
    ]
    assert record["readings"][-1]["struck"]


def test_two_loads_cool_by_two_clocks(phone: Any, address: str, tmp_path: Path) -> None:
    """Each has its own deadlines; a reading is of the clock that is chosen, and `review` judges two
    courses."""
    tab = opened(phone, address + ROLL, NOON)
    step = tab.locator("#step-7")
    begin = step.locator(".ks-at-start .ks-timer > button", has_text="The probe reads 59 °C: start")
    begin.click()
    start(tab, asked=True)
    step.get_by_text("20 °C by 14:00").wait_for()
    pass_by(tab, 1_800)
    begin.click()
    step.get_by_text("20 °C by 14:30").wait_for()
    assert "Clock 1, from 12:00" in said(step) and "Clock 2, from 12:30" in said(step)
    pass_by(tab, 4_800)
    step.get_by_role("button", name="Reading").click()
    assert type_in(tab, "19") == "19 °C: yes. Next: 4 °C by 18:00."
    pad = tab.locator(".ks-keypad[open]")
    pad.get_by_role("button", name="Another reading").click()
    pad.get_by_role("button", name="Clock 1, from 12:00").click()
    assert type_in(tab, "25").startswith("25 °C: not yet. 20 °C by 14:30")
    pass_by(tab, 12_000)
    pad.get_by_role("button", name="Another reading").click()
    pad.get_by_role("button", name="Clock 2, from 12:30").click()
    assert type_in(tab, "4") == "4 °C: yes. In time."
    (record,) = records(tab)
    one, two = record["clocks"]
    of = [one["id"], two["id"]]
    assert [of.index(r["clock"]) for r in record["readings"]] == [0, 1, 0, 1, 0]
    path = tmp_path / "batch.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    found = json.loads(run(ROOT, "review", str(path), "--format", "json").stdout)
    assert [p["probe"] for p in found["per_probe"]] == ["1 of clock 1", "1 of clock 2"]


def test_a_keypad_of_big_keys_for_both_scales_and_more_probes(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    tab.locator("#step-6").get_by_role("button", name="Reading").click()
    start(tab, asked=True)
    pad = tab.locator(".ks-keypad[open]")
    pad.wait_for()
    small = pad.locator("button:visible").evaluate_all(
        "all => all.map(b => [b.textContent, b.getBoundingClientRect()]).filter(([, r]) => "
        "r.height < 63.9 || r.width < 47.9).map(([t]) => t)"
    )
    assert small == []
    assert type_in(tab, "74").startswith("74 °C: not yet. 76 °C or hotter.")
    pad.get_by_role("button", name="Another reading").click()
    pad.get_by_role("button", name="Probe 1").click()
    pad.get_by_role("button", name="°C", exact=True).click()
    assert type_in(tab, "170") == "170 °F: yes."
    pad.get_by_role("button", name="Another reading").click()
    tab.keyboard.type("99x7")
    assert "997 °F" in said(pad.locator(".ks-typed"))
    pad.locator(".ks-go").click()
    pad.get_by_text("997 °F is not a temperature of food.").wait_for()
    (record,) = records(tab)
    assert [(r["probe"], r["value"], r["unit"], r["law"]) for r in record["readings"]] == [
        ("1", "74", "°C", "pass"),
        ("2", "170", "°F", "pass"),
    ]


# --- what can't be kept


QUOTA = """IDBObjectStore.prototype.put = function () {
    throw new DOMException('full', 'QuotaExceededError'); }; 0"""


def test_a_full_phone_is_told_and_loses_nothing(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    start(tab)
    row(tab, 0).click()
    tab.locator("#step-7 .ks-at-start .ks-timer button").first.click()
    tab.wait_for_selector("#step-7 .ks-face")
    before = records(tab)
    tab.evaluate(QUOTA)
    row(tab, 1).click()
    told = tab.locator(".ks-told")
    told.get_by_text("This phone is full. This was not kept.").wait_for()
    await_ticks(tab, 1)
    tab.locator("#step-6").get_by_role("button", name="Reading").click()
    pad = tab.locator(".ks-keypad[open]")
    pad.get_by_role("button", name="7", exact=True).click()
    pad.locator(".ks-go").click()
    pad.get_by_text("Not kept.", exact=True).wait_for()
    pad.get_by_role("button", name="Close").click()
    assert records(tab) == before
    tab.reload()
    going(tab, 1)
    await_ticks(tab, 1)
    assert "7 Chill" in said(tab.locator("a.ks-clock"))


def test_a_phone_that_is_really_full(phone: Any, address: str) -> None:
    """The browser itself refuses the write: its quota is set to less than what is there."""
    tab = opened(phone, address + LIMITS)
    quota = {"origin": address.rstrip("/"), "quotaSize": 2_000_000}
    tab.devtools().send("Storage.overrideQuotaForOrigin", quota)
    tab.goto(address + ROLL)
    start(tab)
    row(tab, 0).click()
    await_ticks(tab, 1)
    before = records(tab)
    tab.evaluate(
        """async () => { const [b] = await ksStore.all();
            window.kept = await ksStore.change(b.id, k => { k.who = 'x'.repeat(3e7); }); }"""
    )
    assert tab.evaluate("window.kept") is None
    tab.locator(".ks-told").get_by_text("This was not kept.").wait_for()
    assert records(tab) == before
    await_ticks(tab, 1)


# --- given to another phone


def code_of(tab: Any, folder: Path) -> str:
    """What a phone's camera reads off the glass."""
    tab.locator("canvas.ks-qr").screenshot(path=folder / "code.png")
    found = zxingcpp.read_barcodes(Image.open(folder / "code.png"))
    (text,) = {one.text for one in found}
    return str(text)


def worked(tab: Any) -> None:
    """A batch with ticks, a clock and readings."""
    start(tab, "Ana")
    for n in (0, 2, 3):
        row(tab, n).click()
    tab.locator("#step-7 .ks-at-start .ks-timer button").first.click()
    tab.wait_for_selector("#step-7 .ks-face")
    await_ticks(tab, 3)


def on_its_own_print(tab: Any) -> None:
    """A batch is on the page's own print."""
    tab.emulate_media(media="print")
    paper = tab.locator(".ks-paper-batch")
    assert paper.is_visible()
    words = said(paper)
    assert "Batch 1 (Ana): 8 rolls" in words and "turkey-chive-roll, revision" in words
    assert "59 °C" in words and "20 °C by" in words
    assert paper.locator("table").first.locator("tbody tr").count() == 3
    assert tab.locator(".ks-strips").is_hidden() and tab.locator(".ks-holds").is_hidden()
    tab.emulate_media(media="null")


def test_a_batch_is_handed_over_by_a_code(
    phone: Any, browser: Any, address: str, tmp_path: Path
) -> None:
    """What is on its own print is what the other phone gets."""
    tab = opened(phone, address + ROLL)
    worked(tab)
    on_its_own_print(tab)
    tab.locator(".ks-holds").click()
    tab.get_by_role("button", name="Hand it over to another phone").click()
    tab.wait_for_selector("canvas.ks-qr")
    text = code_of(tab, tmp_path)
    assert text.startswith(f"{address}{ROLL}#batch="), "behind the #, which no server is sent"
    before = records(tab)[0]
    with profile(browser) as second:
        other = opened(second, text)
        sheet = other.locator(".ks-batches[open]")
        sheet.get_by_text("Take over batch 1 (Ana)?").wait_for()
        assert "3 ticks, 2 clocks, 1 reading." in said(sheet)
        assert records(other) == [] and ticks(other) == [], "nothing before a person says so"
        assert "#batch" not in other.url
        sheet.get_by_role("button", name="Take it over").click()
        going(other, 1)
        await_ticks(other, 3)
        assert records(other) == [before]
        assert "20 °C by" in said(other.locator("a.ks-clock"))
        row(other, 4).click()
        await_ticks(other, 4)
    tab.get_by_role("button", name="The other phone has it: stop here").click()
    tab.wait_for_selector(".ks-holds:not(.ks-going)")
    await_ticks(tab, 0)
    (left,) = records(tab)
    assert left["handed"] and left["ended"] and len(left["ticks"]) == 3
    assert tab.locator("a.ks-clock:visible").count() == 0


def test_a_long_batch_is_handed_over_by_a_file_that_review_reads(
    phone: Any, browser: Any, address: str, demo: Manual, tmp_path: Path
) -> None:
    tab = opened(phone, address + ROLL)
    worked(tab)
    tab.evaluate(
        """async () => { const [b] = await ksStore.all();
            await ksStore.change(b.id, k => { for (let i = 0; i < 60; i++) k.readings.push({ id: `r${i}x${Math.random()}`,
                at: new Date(Date.parse(k.started) + i * 61007).toISOString(), step: 6, limit: 'turkey-chive-roll/poach/cook',
                probe: String(1 + i % 3), value: String(30 + i), unit: i % 2 ? '°C' : '°F', verdict: 'not yet', law: 'fail' }); }); }"""
    )
    tab.locator(".ks-holds").click()
    tab.get_by_role("button", name="Hand it over to another phone").click()
    tab.get_by_text("This batch is too long for a code.").wait_for()
    with tab.expect_download() as coming:
        tab.get_by_role("button", name="Send it as a file").click()
    path = tmp_path / "batch.json"
    coming.value.save_as(path)
    record = json.loads(path.read_text(encoding="utf-8"))
    assert record == records(tab)[0]
    assert list(jsonschema.Draft202012Validator(schemas()["batch"]).iter_errors(record)) == []
    tab.keyboard.press("Escape")
    tab.locator(".ks-holds").click()
    tab.get_by_role("button", name="Record and readings as files").click()
    with tab.expect_download() as coming:
        tab.get_by_role("button", name="Readings of poach, cook (CSV)").click()
    log = tmp_path / "log.csv"
    coming.value.save_as(log)
    assert log.read_text().startswith("time,probe,temp_f\n")
    answers = [
        run(ROOT, "review", str(path), "--step", "poach", "--format", "json"),
        run(
            ROOT,
            "review",
            str(log),
            "--formula",
            "turkey-chive-roll",
            "--step",
            "poach",
            "--format",
            "json",
        ),
    ]
    by_json, by_csv = (json.loads(one.stdout) for one in answers)
    assert by_json["verdict"] == by_csv["verdict"]
    strip = [{k: v for k, v in p.items() if k != "why"} for p in by_json["per_probe"]]
    assert strip == [{k: v for k, v in p.items() if k != "why"} for p in by_csv["per_probe"]]
    with profile(browser) as second:
        other = opened(second, address + ROLL)
        other.locator(".ks-holds").click()
        sheet = other.locator(".ks-batches[open]")
        sheet.wait_for()
        sheet.get_by_role("button", name="Take over: open a batch file").click()
        sheet.locator("input[type=file]").set_input_files(path)
        sheet.get_by_role("button", name="Take it over").click()
        going(other, 1)
        await_ticks(other, 3)
        assert records(other) == [record]


def test_a_batch_that_comes_back_joins_what_was_done_meanwhile(phone: Any, address: str) -> None:
    """The same batch on two phones: later ticks count, no reading and no clock is lost."""
    tab = opened(phone, address + ROLL)
    worked(tab)
    (record,) = records(tab)
    away = json.loads(json.dumps(record))
    away["ticks"]["w-0-9"] = {"at": "2099-01-01T00:00:00.000Z", "done": True}
    away["ticks"]["w-0-1"] = {"at": "2099-01-01T00:00:00.000Z", "done": False}
    away["readings"].append({**record["readings"][0], "id": "fromaway"})
    row(tab, 1).click()
    await_ticks(tab, 4)
    tab.locator(".ks-holds").click()
    sheet = tab.locator(".ks-batches[open]")
    sheet.get_by_role("button", name="Take over: open a batch file").click()
    sheet.locator("input[type=file]").set_input_files(
        {"name": "b.json", "mimeType": "application/json", "buffer": json.dumps(away).encode()}
    )
    sheet.get_by_role("button", name="Take it over").click()
    tab.wait_for_selector(".ks-batches:not([open])", state="attached")
    (joined,) = records(tab)
    done = {k for k, t in joined["ticks"].items() if t["done"]}
    assert {"w-0-2", "w-0-9"} <= done and "w-0-1" not in done
    assert [r["id"] for r in joined["readings"]] == [record["readings"][0]["id"], "fromaway"]
    assert len(joined["clocks"]) == 1


NO_BATCHES = (
    ("{}", "This is no batch of a kitchen manual."),
    ("[1", "This is no batch of a kitchen manual."),
    ('{"kind": "kitchen-manual batch", "version": 9}', "from a newer manual"),
    ('{"kind": "kitchen-manual batch", "version": 1}', "This batch is damaged."),
    ("damaged", "This batch is damaged."),
)
"""What is opened for a batch, and what is said of it."""


def test_what_is_no_batch_is_not_taken_over(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    start(tab)
    (record,) = before = records(tab)
    damaged = json.dumps({**record, "page": "javascript:alert(1)//"})
    sheet = tab.locator(".ks-batches[open]")
    for text, words in NO_BATCHES:
        tab.locator(".ks-holds").click()
        sheet.get_by_role("button", name="Take over: open a batch file").click()
        held = (damaged if text == "damaged" else text).encode()
        sheet.locator("input[type=file]").set_input_files(
            {"name": "b.json", "mimeType": "application/json", "buffer": held}
        )
        sheet.get_by_text(words).wait_for()
        assert sheet.get_by_role("button", name="Take it over").count() == 0, text
        assert records(tab) == before, text
        tab.keyboard.press("Escape")
        tab.wait_for_selector(".ks-batches:not([open])", state="attached")


def test_a_page_without_a_picker_takes_the_size_of_the_row(
    browser: Any, kitchen: Path, tmp_path: Path
) -> None:
    """Thirteen sizes are all shown: a tick is of its own size, and one of another size is asked
    about."""
    sizes = ", ".join(f"{n} dishes" for n in range(4, 17))
    edit(kitchen, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", f"[{sizes}]")
    shutil.copyfile(BASE / "mkdocs.yml", kitchen / "mkdocs.yml")
    shutil.copytree(BASE / "pages", kitchen / "pages")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    build_site(manual, tmp_path / "site", strict=False)
    with served(tmp_path / "site") as own, profile(browser) as context:
        tab = opened(context, f"{own.address}range/pork-bake/")
        tab.locator(".ks-for-3 .ks-row > label").first.click()
        start(tab, asked=True)
        await_ticks(tab, 1)
        assert ticks(tab) == ["w3-0-1"]
        assert records(tab)[0]["size"] == "fills=7"
        tab.locator(".ks-for-5 .ks-row > label").first.click()
        sheet = tab.locator(".ks-batches[open]")
        sheet.get_by_text("Make 9 dishes?").wait_for()
        sheet.get_by_role("button", name="Back to 7 dishes").click()
        await_ticks(tab, 1)
        assert ticks(tab) == ["w3-0-1"] and records(tab)[0]["size"] == "fills=7"


# --- one thing a screen


def one_at_a_time(tab: Any, asked: bool = True) -> Any:
    tab.get_by_role("button", name="One at a time").click()
    if asked:
        start(tab, asked=True)
    screen = tab.locator(".ks-one[open]")
    screen.wait_for()
    return screen


def test_next_ticks_and_goes_on_and_back_unticks_nothing(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    rows = tab.locator(".ks-row:visible")
    names = [said(r.locator(".ks-name")) for r in rows.all()]
    figures = [" ".join((r.locator(".ks-num").text_content() or "").split()) for r in rows.all()]
    screen = one_at_a_time(tab)
    for n, (name, figure) in enumerate(zip(names, figures, strict=True)):
        assert (said(screen.locator("h2").first), said(screen.locator(".ks-one-figure"))) == (
            name,
            figure,
        )
        assert said(screen.locator(".ks-one-head span")).endswith(f"{n} ticked")
        screen.locator(".ks-go").click()
        await_ticks(tab, n + 1)
    screen.get_by_text("1 ", exact=False).first.wait_for()
    screen.get_by_role("button", name="Back").click()
    screen.get_by_role("button", name="Ticked: next").wait_for()
    await_ticks(tab, len(names))
    size = screen.locator(".ks-go").bounding_box()
    assert size and size["height"] >= 88 and size["width"] >= 180
    tab.go_back()  # the phone's own Back closes it, and nothing else
    tab.wait_for_selector(".ks-one:not([open])", state="attached")
    assert ROLL in tab.url
    await_ticks(tab, len(names))
    one_at_a_time(tab, asked=False)
    assert said(screen.locator(".ks-one-head span")).startswith(f"{len(names) + 1} of ")


def test_a_swipe_or_a_tap_at_the_edge_only_looks(phone: Any, address: str) -> None:
    """And a tap on Next that was not kept stays on its screen."""
    tab = opened(phone, address + ROLL)
    screen = one_at_a_time(tab)
    count = screen.locator(".ks-one-head span")

    def swipe(start: int, end: int) -> None:
        tab.mouse.move(start, 500)
        tab.mouse.down()
        tab.mouse.move(end, 505, steps=4)
        tab.mouse.up()

    assert said(count).startswith("1 of")
    swipe(300, 120)
    assert said(count).startswith("2 of")
    swipe(120, 300)
    swipe(120, 300)
    assert said(count).startswith("1 of")
    tab.mouse.click(380, 500)
    assert said(count).startswith("2 of")
    tab.mouse.click(10, 500)
    assert said(count).startswith("1 of")
    tab.mouse.click(200, 500)
    assert said(count).startswith("1 of")
    assert ticks(tab) == []
    tab.evaluate(QUOTA)
    screen.locator(".ks-go").click()
    tab.get_by_text("This phone is full. This was not kept.").first.wait_for()
    assert said(count).startswith("1 of")
    assert ticks(tab) == []


def test_a_step_on_its_screen_has_its_warnings_its_limit_and_its_clocks(
    phone: Any, address: str
) -> None:
    """The step itself is shown, and is in its place again afterwards."""
    tab = opened(phone, address + ROLL, NOON)
    whole = tab.locator("#step-7 .ks-step-body").inner_html()
    screen = one_at_a_time(tab)
    for _ in range(30):
        if said(screen.locator("h2").first) == "7 Chill":
            break
        tab.mouse.click(385, 500)
    assert screen.locator(".ks-limit:visible, .ks-notice:visible, .ks-folded:visible").count() >= 2
    screen.get_by_role("button", name="The probe reads 59 °C: start").click()
    screen.get_by_text("20 °C by 14:00").wait_for()
    screen.get_by_role("button", name="Reading").click()
    tab.clock.run_for(60_000)
    assert type_in(tab, "40").startswith("40 °C: not yet.")
    tab.locator(".ks-keypad[open]").get_by_role("button", name="Close").click()
    screen.get_by_role("button", name="List").click()
    tab.wait_for_selector(".ks-one:not([open])", state="attached")
    assert tab.locator("#step-7 .ks-step-body").count() == 1
    assert tab.locator(".ks-step > .ks-step-body").count() == tab.locator(".ks-step").count()
    assert len(whole) < len(tab.locator("#step-7 .ks-step-body").inner_html())


def test_an_alarm_is_seen_over_what_is_open(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL, NOON)
    tab.locator("#step-3 .ks-timer button").first.click()
    start(tab, asked=True)
    tab.wait_for_selector("#step-3 .ks-face")
    one_at_a_time(tab, asked=False)
    tab.clock.run_for(301_000)
    tab.locator(".ks-one .ks-told").get_by_text("3 Mix: Time is up. Check the food.").wait_for()
    tab.get_by_role("button", name="List").click()
    assert "3 Mix: time is up" in said(tab.locator("a.ks-clock"))


def test_the_bar_leads_to_each_limit(phone: Any, address: str) -> None:
    tab = opened(phone, address + ROLL)
    tab.locator(".ks-bar-limits").click()
    links = tab.locator(".ks-sheet[open] a")
    links.first.wait_for()  # the list is fetched when it is asked for
    assert [said(link) for link in links.all()] == [
        "1 Grind 4 °C or colder",
        "5 Rest 4 °C or colder",
        "6 Poach 76 °C or hotter",
        "7 Chill 20 °C within 2 h · 4 °C within 6 h",
        "Store 4 °C or colder",
    ]
    links.nth(3).click()
    assert tab.url.endswith("#step-7")
    assert tab.locator(".ks-sheet[open]").count() == 0
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    tab.set_viewport_size({"width": 320, "height": 640})
    wide = tab.locator(".ks-bar a").evaluate_all(
        "all => all.filter(a => a.scrollWidth > a.clientWidth + 1).map(a => a.textContent)"
    )
    assert wide == []


# --- what it costs a page without a batch


def test_a_page_without_a_batch_makes_no_store_and_loads_nothing_of_it(
    phone: Any, address: str, server: Any
) -> None:
    for page in (ROLL, LIMITS):
        server.asked.clear()
        tab = opened(phone, address + page)
        tab.wait_for_load_state("networkidle")
        late = {name for name in ON_DEMAND if any(f"/{name}" in path for path in server.asked)}
        assert late <= {"register.js", "changed.js"}, page  # the register, and what it says
        assert tab.evaluate("indexedDB.databases().then(all => all.length)") == 0
    assert set(ASSETS) >= {"bench.js", "manual.js"}
    assert (STATIC / "store.js").is_file() and (FRAME / "frame.js").is_file()

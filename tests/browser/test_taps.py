"""Twelve things a cook does with the manual, by real taps and swipes on a phone of 360 × 780: how
many each takes; and one step a screen. ``-s`` prints the table."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browsing import Server, served, tab

from generator.sheet.manual import Manual

ROLL = "cold-kitchen/turkey-chive-roll/"
MOST = 4
"""Taps and swipes of any of them."""
PHONE = {"width": 360, "height": 780}
_TOP, _BAR = 48, 65
_STILL = """async () => {
    const places = () => [scrollY, document.documentElement.scrollHeight, ...[...document.querySelectorAll('dialog[open]')].map(e => e.scrollTop + ' ' + e.scrollHeight)].join();
    for (let same = 0, last = ''; same < 3; same = places() === last ? same + 1 : 0, last = places())
        await new Promise(later => setTimeout(later, 45));
}"""
"""Waits until nothing has moved for an eighth of a second: a page scrolls smoothly, and where a step leads a tenth
of a second late."""
_SEEN = """e => { const r = e.getBoundingClientRect(); return [r.top, r.bottom, !e.closest('header, .ks-bar, dialog')]; }"""


class Hand:
    """A thumb: it taps what is on the screen, and swipes a screen at a time to what isn't. What is
    typed on keys, the phone's or the keypad's, isn't counted."""

    def __init__(self, page: Any) -> None:
        self.page, self.taps, self.swipes = page, 0, 0

    def see(self, place: Any) -> None:
        """Swipe until the place is between the bars, or its top is, where it is longer than that."""
        self.page.evaluate(_STILL)
        screen = PHONE["height"] - _TOP - _BAR
        top, bottom, moves = place.evaluate(_SEEN)
        low = PHONE["height"] - _BAR
        away = max(0.0, min(bottom - low, top - _TOP)) or min(0.0, top - _TOP)
        if not moves or abs(away) < 1:
            return
        self.swipes += math.ceil(abs(away) / screen)
        self.page.mouse.wheel(0, away + (4 if away > 0 else -4))
        self.page.evaluate(_STILL)

    def tap(self, place: Any) -> None:
        place.wait_for()
        self.see(place)
        box = place.bounding_box()
        self.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        self.taps += 1


def find(hand: Hand) -> None:
    hand.tap(hand.page.locator("#ks-find"))
    hand.page.locator(".ks-search input").fill("chive")
    hand.tap(hand.page.locator(".ks-search a").first)
    hand.page.wait_for_url(re.compile(ROLL))


def weigh(hand: Hand) -> None:
    """The first row ticked, which starts a batch."""
    row = hand.page.locator(".ks-row:visible").first
    hand.tap(row.locator("label"))
    hand.tap(hand.page.locator(".ks-batches .ks-go"))
    hand.page.wait_for_function("() => document.querySelector('.ks-row .ks-tick').checked")


def sixteen(hand: Hand) -> None:
    hand.tap(hand.page.locator("label[for=s1]"))
    assert "320 slices" in hand.page.locator(".ks-gives").inner_text().replace("\u00a0", " ")


def on_hand(hand: Hand) -> None:
    hand.tap(hand.page.locator(".ks-bar-size"))
    hand.tap(hand.page.locator("[data-kind=base]"))
    hand.page.keyboard.type("5")
    told = hand.page.locator(".ks-reports").inner_text().replace("\u00a0", " ")
    assert told.startswith("5 kg of mince and dice makes 8 rolls.")
    hand.tap(hand.page.locator(".ks-sheet .ks-go"))
    hand.page.wait_for_selector(".ks-size.ks-for-x")


def _limit(hand: Hand, name: str) -> Any:
    hand.tap(hand.page.locator(".ks-bar-limits"))
    hand.tap(hand.page.locator("dialog[open] a", has_text=name))
    return hand.page.locator(".ks-step", has=hand.page.locator("h3", has_text=name)).locator(
        ".ks-limit"
    )


def probe(hand: Hand) -> None:
    box = _limit(hand, "Poach")
    hand.tap(box.get_by_role("button", name="Reading"))
    for key in "78":
        hand.page.locator(".ks-keys").get_by_role("button", name=key, exact=True).click()
    hand.tap(hand.page.locator(".ks-keypad .ks-go, .ks-keys .ks-go").first)
    hand.page.wait_for_selector(".ks-verdict")
    assert "78" in hand.page.locator(".ks-verdict").inner_text()


def chill(hand: Hand) -> None:
    """When it must be at 20 °C and at 4 °C, by the clock."""
    box = _limit(hand, "Chill")
    hand.tap(box.get_by_role("button", name="The probe reads 59"))
    hand.page.wait_for_function(
        "() => document.querySelectorAll('.ks-running li, .ks-face').length > 1"
    )
    assert "20 °C" in box.inner_text().replace("\u00a0", " ")


def missed(hand: Hand) -> None:
    place = _limit(hand, "Poach").locator("div", has=hand.page.locator("dt", has_text="If missed"))
    hand.see(place)
    assert "probe again" in place.inner_text()


def label(hand: Hand) -> None:
    hand.tap(hand.page.locator(".ks-bar").get_by_role("link", name="Store"))
    hand.tap(hand.page.locator(".ks-to-write > summary"))
    assert "Contains: milk, eggs" in hand.page.locator(".ks-label").inner_text()


def guest(hand: Hand) -> None:
    """From the first page to what contains eggs."""
    hand.tap(hand.page.get_by_role("link", name="Allergens").first)
    hand.page.wait_for_url(re.compile("allergens"))
    hand.tap(hand.page.locator(".ks-jump").get_by_role("link", name="Eggs"))
    eggs = hand.page.locator(".ks-allergen", has=hand.page.get_by_role("heading", name="Eggs"))
    hand.see(eggs.get_by_role("link", name="Turkey roll"))


def changed(hand: Hand) -> None:
    hand.tap(hand.page.get_by_role("link", name="What changed").first)
    hand.page.wait_for_url(re.compile("changed"))
    hand.see(hand.page.locator("#here"))


def current(hand: Hand) -> None:
    place = hand.page.locator(".ks-status")
    hand.see(place)
    assert re.search(
        r"Current on \d+ \w+ \d{4} · revision 4", place.inner_text().replace("\u00a0", " ")
    )


def hand_over(hand: Hand) -> None:
    hand.tap(hand.page.locator(".ks-holds"))
    hand.tap(hand.page.get_by_role("button", name="Hand it over"))
    hand.page.wait_for_selector(".ks-qr")


TASKS: tuple[tuple[str, Callable[[Hand], None], str, bool], ...] = (
    ("find a formula", find, "", False),
    ("weigh the first ingredient", weigh, ROLL, False),
    ("make 16 fills", sixteen, ROLL, False),
    ("5 kg on hand", on_hand, ROLL, False),
    ("probe", probe, ROLL, True),
    ("chill by when", chill, ROLL, True),
    ("missed", missed, ROLL, True),
    ("the label", label, ROLL, False),
    ("an allergic guest", guest, "", False),
    ("what changed", changed, "", False),
    ("is it current", current, ROLL, False),
    ("hand over", hand_over, ROLL, True),
)
"""What is done, how, on which page it begins, and whether a batch is in hand."""


def test_twelve_tasks_take_four_taps_and_swipes_at_most(browser: Any, demo_site: Path) -> None:
    told: list[str] = []
    over: list[str] = []
    for name, act, page_at, batch in TASKS:
        phone = tab(browser, viewport=PHONE, timezone_id="America/Chicago")
        with served(demo_site, still=True) as server, phone as page:
            page.goto(server.address + page_at)
            page.wait_for_timeout(300)
            if batch:
                page.locator(".ks-holds").click()
                page.locator(".ks-batches .ks-go").click()
                page.wait_for_selector(".ks-holds.ks-going")
            hand = Hand(page)
            act(hand)
            told.append(f"{name:28} {hand.taps} taps, {hand.swipes} swipes")
            if hand.taps + hand.swipes > MOST:
                over.append(told[-1])
    print("\n" + "\n".join(told))
    assert over == []


_SCREEN = """() => {
    const inside = document.querySelector('.ks-one-in'), head = document.querySelector('.ks-one-head');
    const said = e => e ? e.textContent : '';
    return [said(head.querySelector('h2')), said(document.querySelector('.ks-one-foot .ks-go')),
            inside.scrollHeight > inside.clientHeight, document.querySelectorAll('.ks-tick:checked').length];
}"""


def _screens(page: Any, go: Callable[[], None]) -> list[tuple[str, str, bool, int]]:
    """Each screen of a page, one at a time: the step (none for a weight), what Next says, whether it
    runs over, how many are ticked."""
    page.wait_for_selector(".ks-holds")
    page.get_by_role("button", name="One at a time").click()
    page.locator(".ks-batches .ks-go").click()
    page.wait_for_selector(".ks-one[open]")
    found: list[tuple[str, str, bool, int]] = []
    while True:
        step, says, over, ticked = page.evaluate(_SCREEN)
        found.append((step, says, over, ticked))
        if says == "Done: to the list":
            return found
        go()


def _looking(page: Any) -> Callable[[], None]:
    return lambda: page.mouse.click(PHONE["width"] - 5, 400)


def test_one_step_is_one_screen_and_a_longer_one_comes_in_parts(
    browser: Any, server: Server
) -> None:
    """Nothing runs over; a step in parts is ticked at its last alone, and names the limit to come."""
    with tab(browser, viewport=PHONE) as page:
        page.goto(server.address + "stove/chuck-in-bags/")
        screens = _screens(page, _looking(page))
        assert [s for s in screens if s[2]] == []
        parts = {step for step, says, _, _ in screens if says.startswith("More")}
        assert parts == {"3 Vacuum-pack"}
        again = page.get_by_role("button", name="Back")
        while "Vacuum" not in page.locator(".ks-one-head").inner_text():
            again.click()
        limits = page.locator(".ks-one-in .ks-limit:visible")
        for n in range(4, 1, -1):  # from the last part back to the first
            assert limits.count() == 1
            again.click()
            assert page.locator(".ks-one-foot .ks-go").inner_text() == f"More: {n} of 4"
        assert limits.count() == 0 and page.locator(".ks-one-in .ks-warning").is_visible()
        assert "Limit: 59 °C or hotter" in page.locator(".ks-then").inner_text()
        for n in range(4):
            assert page.locator("#d3:checked").count() == 0, n
            page.locator(".ks-one-foot .ks-go").click()
        page.wait_for_selector("#d3:checked", state="attached")
        page.get_by_role("button", name="List").click()
        page.wait_for_selector(".ks-one:not([open])", state="attached")
        assert page.locator(".ks-not-now").count() == 0  # the step is whole again


@pytest.mark.slow
def test_no_screen_of_the_demo_runs_over(browser: Any, server: Server, demo: Manual) -> None:
    over, parts, steps = [], set(), set()
    with tab(browser, viewport=PHONE) as page:
        for ident, sheet in demo.sheets.items():
            page.goto(f"{server.address}{sheet.formula.formula.home}/{ident}/")
            for step, says, high, _ in _screens(page, _looking(page)):
                over += [f"{ident} {step}"] if high else []
                steps |= {(ident, step)} if step else set()
                parts |= {(ident, step)} if says.startswith("More") else set()
    print(f"\n{len(steps)} steps, {len(parts)} in parts, {len(over)} screens run over")
    assert over == [] and len(parts) <= 20

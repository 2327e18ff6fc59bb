"""Twelve things a cook does with the manual, by real taps and swipes on a phone of 360 × 780: how
many each takes. ``-s`` prints the table."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from browsing import served, tab

ROLL = "cold-kitchen/turkey-chive-roll/"
MOST = 4
"""Taps and swipes of any of them."""
PHONE = {"width": 360, "height": 780}
_TOP, _BAR = 48, 65
_SEEN = """e => { const r = e.getBoundingClientRect(); return [r.top, r.bottom, !e.closest('header, .ks-bar, dialog')]; }"""


class Hand:
    """A thumb: it taps what is on the screen, and swipes a screen at a time to what isn't. What is
    typed on keys, the phone's or the keypad's, isn't counted."""

    def __init__(self, page: Any) -> None:
        self.page, self.taps, self.swipes = page, 0, 0

    def see(self, place: Any) -> None:
        """Swipe until the place is between the bars, or its top is, where it is longer than that."""
        self.page.wait_for_timeout(250)
        screen = PHONE["height"] - _TOP - _BAR
        top, bottom, moves = place.evaluate(_SEEN)
        low = PHONE["height"] - _BAR
        away = max(0.0, min(bottom - low, top - _TOP)) or min(0.0, top - _TOP)
        if not moves or abs(away) < 1:
            return
        self.swipes += math.ceil(abs(away) / screen)
        self.page.mouse.wheel(0, away + (4 if away > 0 else -4))
        self.page.wait_for_timeout(250)

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

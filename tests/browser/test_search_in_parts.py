"""The search's index in parts answers as the whole index does, and fetches what it needs alone."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from browsing import Server, settled, tab

from generator.framing.searching import INDEX, search_rows, search_scripts, written_entries
from generator.framing.sharding import in_parts, plain, script, split
from generator.pages import make_pages
from generator.sheet.manual import Manual

GUIDE = (("guide/look-up/findings/", 0.001), ("guide/look-up/limits/", 0.1), ("about/", 1.0))

ASK = """
async (typed) => {
  const box = document.querySelector('.ks-search input'), hits = document.querySelector('#ks-hits');
  const answers = [];
  for (const one of typed) {
    box.value = one;
    box.dispatchEvent(new Event('input'));
    for (let n = 0; n < 900 && hits.ariaBusy === 'true'; n++) await new Promise(later => setTimeout(later, 10));
    answers.push([document.querySelector('.ks-search [role=status]').textContent,
      [...hits.querySelectorAll('a')].map(a => [...a.children].map(c => c.textContent).join('|') + ' ' + new URL(a.href).pathname + a.hash)]);
  }
  return answers;
}
"""


@pytest.fixture(scope="module")
def rows(demo: Manual, demo_site: Path) -> list[list[Any]]:
    """The demo's entries, those of some pages of its guide with them."""
    written = [
        entry
        for at, weight in GUIDE
        for entry in written_entries(
            at, at, (demo_site / at / "index.html").read_text(encoding="utf-8"), weight
        )
    ]
    return search_rows(demo, make_pages(demo), written)


def opened(page: Any, server: Server, files: dict[str, str], asked: list[str]) -> None:
    """A page whose search finds ``files`` in place of the published index."""

    def answer(route: Any) -> None:
        path = route.request.url.removeprefix(server.address).partition("?")[0]
        asked.append(path)
        if path in files:
            route.fulfill(body=files[path], content_type="text/javascript")
        else:
            route.fulfill(status=404)

    page.unroute_all()
    page.route("**/assets/index.js*", answer)
    page.route("**/assets/find/*", answer)
    page.goto(server.address + "about/")
    page.locator("#ks-find").click()
    page.wait_for_selector(".ks-search[open]")
    settled(page)


def said_of(demo: Manual) -> str:
    """What an index says beside its entries: a cook's words, and those of no help."""
    return search_scripts(demo, make_pages(demo), ())[INDEX].splitlines()[1] + "\n"


def both(rows: list[list[Any]], said: str) -> tuple[dict[str, str], dict[str, str]]:
    first, parts = in_parts(rows)
    assert len(parts) > 20
    return {INDEX: script("ksIndex", rows) + said}, {
        INDEX: script("ksIndex", first) + said,
        **parts,
    }


def queries(rng: random.Random, rows: list[list[Any]], number: int) -> list[str]:
    """What cooks may type: words, beginnings of words, two of one entry, whole names, figures, words
    a letter off, questions, nonsense."""

    def word() -> str:
        row = rng.choice(rows)
        texts = " ".join(str(part) for part in row[:2] + row[3:5])
        return rng.choice([w for w in split(texts) if w] or ["salt"])

    def off() -> str:
        typed = word()
        at = rng.randrange(len(typed))
        return rng.choice(
            [
                typed[:at] + typed[at + 1 :],
                typed[:at] + typed[at + 1 : at + 2] + typed[at : at + 1] + typed[at + 2 :],
                typed[:at] + rng.choice("aeiourstl") + typed[at + 1 :],
                typed[:at] + rng.choice("aeiourstl") + typed[at:],
            ]
        )

    def two() -> str:
        row = rng.choice(rows)
        words = [w for w in split(" ".join(map(str, row[:2] + row[3:5]))) if w]
        return " ".join(rng.sample(words, min(len(words), 2)))

    ways = (
        word,
        lambda: word()[: rng.randrange(2, 6)],
        two,
        lambda: f"{word()} {word()}",
        lambda: str(rng.choice(rows)[0]),
        lambda: str(rng.randrange(-25, 260)),
        off,
        lambda: f"{off()} {word()}",
        lambda: f"how long do i {word()} the {word()}",
        lambda: rng.choice(
            ["fridge", "too warm", "undefined", "constructor", "qqqqxxxx", "  ", "?!"]
        ),
        lambda: plain(word()).upper(),
    )
    return [rng.choice(ways)() for _ in range(number)]


def asked_both(
    browser: Any, server: Server, rows: list[list[Any]], said: str, typed: list[str], a_page: int
) -> int:
    """Compare the answers of both forms, the parts' page opened anew every ``a_page`` queries: so
    that few parts are here, and many. Returns how many found something."""
    whole, parts = both(rows, said)
    with tab(browser) as page:
        opened(page, server, whole, [])
        expected = page.evaluate(ASK, typed)
        for at in range(0, len(typed), a_page):
            asked: list[str] = []
            opened(page, server, parts, asked)
            some = page.evaluate(ASK, typed[at : at + a_page])
            assert any(path in parts for path in asked[1:]), "each page begins without a part"
            for one, mine, theirs in zip(typed[at:], some, expected[at:], strict=False):
                assert mine == theirs, one
    return sum(bool(hits) for _, hits in expected)


def test_parts_answer_as_the_whole_does(
    browser: Any, server: Server, demo: Manual, rows: list[list[Any]]
) -> None:
    typed = queries(random.Random(11), rows, 48)
    assert asked_both(browser, server, rows, said_of(demo), typed, 16) > 30


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2])
def test_parts_answer_as_the_whole_does_300_times(
    browser: Any, server: Server, demo: Manual, rows: list[list[Any]], seed: int
) -> None:
    typed = queries(random.Random(seed), rows, 300)
    assert asked_both(browser, server, rows, said_of(demo), typed, 20) > 200


def test_a_query_fetches_only_what_its_words_need(
    browser: Any, server: Server, demo: Manual, rows: list[list[Any]]
) -> None:
    """A word: its part, and what is shown. Nothing is fetched twice; without signal it says so."""
    _, parts = both(rows, said_of(demo))
    asked: list[str] = []
    with tab(browser) as page:
        opened(page, server, parts, asked)
        assert asked == [INDEX]
        page.evaluate(ASK, ["barley"])
        words = [a for a in asked if "/find/w" in a]
        assert 1 <= len(words) <= 2 and not [a for a in asked if "spelled" in a]
        assert len(asked) < len(parts) / 3
        before = list(asked)
        page.evaluate(ASK, ["barley", "barle", "barley"])
        assert asked == before
        parts.clear()
        ((status, hits),) = page.evaluate(ASK, ["xylophone"])
        assert hits == [] and "no signal" in status
        ((status, hits),) = page.evaluate(ASK, ["barley"])
        assert hits and "found" in status


def test_enter_waits_for_what_is_fetched(browser: Any, server: Server) -> None:
    with tab(browser) as page:
        page.goto(server.address + "about/")
        page.locator("#ks-find").click()
        page.wait_for_selector(".ks-search[open]")
        page.keyboard.type("barley soup")
        page.keyboard.press("Enter")
        page.wait_for_url("**/stove/barley-soup/")

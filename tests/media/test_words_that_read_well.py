"""What reads wrong is nowhere: no word twice, no limit that says itself twice, no hazard as a
fact; on paper, pages and in the answers of the demo and of the tests' kitchens."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from conftest import AS_OF, ROOT

from generator.binder.documents import binder_document
from generator.binder.sheet_changes import plain_words
from generator.pages import make_pages
from generator.sheet.manual import Manual, make_manual

KITCHENS = (".", "tests/kitchens/base", "tests/kitchens/second_kitchen", "tests/kitchens/england")
_NO_WORDS = ("key", "hash", "form", "kind", "align", "svg", "severity")
TWICE = re.compile(r"\b([^\W\d_]{2,})[ \u00a0\u2009]+\1\b", re.IGNORECASE)
WRONG = re.compile(
    r"never more\b[^.]*\bnever more|at most\b[^.;,]*\bat most|to the reheating limit|"
    r"\b(?:the|an?) (?:the|an?) |,,|(?<!\.)\.\.(?!\.)|;;|, ,|\(\)",
    re.IGNORECASE,
)


def texts(value: Any) -> Iterator[str]:
    """The texts of a record, each whole: what is bold in it isn't parted off."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            if key not in _NO_WORDS:
                yield from texts(inner)
    elif isinstance(value, list) and value and all(_is_run(one) for one in value):
        if any(isinstance(one, dict) for one in value):
            yield plain_words(value)
        else:
            yield from value
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def _is_run(one: Any) -> bool:
    return isinstance(one, str) or (isinstance(one, dict) and set(one) == {"b"})


@functools.cache
def kitchen(name: str) -> Manual:
    manual = make_manual(ROOT / name, AS_OF)
    assert isinstance(manual, Manual)
    return manual


@functools.cache
def paper(name: str) -> frozenset[str]:
    """Every text of every sheet, those on request with them."""
    manual = kitchen(name)
    more = ("processes", "conversions")
    return frozenset(texts(binder_document(manual, list(manual.house.stations), {}, "", more)))


@functools.cache
def glass(name: str) -> frozenset[str]:
    """Every text of every page, as its elements part it."""
    found: set[str] = set()
    for page in make_pages(kitchen(name)):
        plain = re.sub(r"</?(?:b|em|strong|i|a|span|abbr)\b[^>]*>", "", page.html)
        found |= {" ".join(unescape(text).split()) for text in re.split(r"<[^>]*>", plain)}
    return frozenset(found)


@pytest.mark.parametrize("name", KITCHENS)
def test_no_word_stands_twice_on_paper(name: str) -> None:
    assert [t for t in paper(name) if TWICE.search(t)] == []


@pytest.mark.parametrize("name", KITCHENS)
def test_no_words_read_wrong_on_paper(name: str) -> None:
    assert len(paper(name)) > 100
    assert [t for t in paper(name) if WRONG.search(t)] == []


@pytest.mark.parametrize("name", KITCHENS)
def test_no_words_read_wrong_on_a_page(name: str) -> None:
    assert len(glass(name)) > 100
    wrong = re.compile(
        r"eggs eggs|cut cut|never more\b[^.]*never more|to the reheating limit", re.I
    )
    assert [t for t in glass(name) if wrong.search(t)] == []


@pytest.mark.parametrize("name", KITCHENS)
def test_a_logs_subtitle_says_what_is_written_and_no_hazard_as_a_fact(name: str) -> None:
    manual = kitchen(name)
    hazards = {h.guards.rstrip(".").casefold() for h in manual.house.library.hazards.values()}
    assert hazards
    logs = 0
    for sheet in binder_document(manual, list(manual.house.stations), {}, "")["sheets"]:
        if sheet["kind"] == "log":
            logs += 1
            said = {words.rstrip(".").casefold() for words in sheet["subtitle"]}
            assert said and not said & hazards, sheet["key"]
    assert logs

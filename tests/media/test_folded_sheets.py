"""A batch sheet on folded paper: weigh left, cook and chill right, nothing lost, on A3 and tabloid."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest
from commands import run
from conftest import AS_OF
from inked import letters, words

from generator.binder.documents import station_sheets
from generator.binder.drawing import render
from generator.binder.sheets import Record
from generator.sheet.manual import Manual

POINTS = 72 / 25.4


def sheet_of(manual: Manual, station: str, formula: str) -> Record:
    return next(
        s for s in station_sheets(manual, station) if s["key"] == f"{station}/{formula}/batch"
    )


def said(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    return [page.get_textpage().get_text_range() for page in document]


def vocabulary(pages: list[str]) -> list[str]:
    """Every word on the paper but what depends on the number of pages or stands on each of them."""
    return sorted(set(re.findall(r"\w+", " ".join(pages))))


@pytest.fixture(scope="module")
def folded(demo: Manual) -> bytes:
    sheet = sheet_of(demo, "cold-kitchen", "turkey-chive-roll")
    return render({"title": "Folded", "sheets": [sheet], "folded": True}, "a4")


def test_it_is_a3_and_tabloid(demo: Manual, folded: bytes) -> None:
    sheet = sheet_of(demo, "cold-kitchen", "turkey-chive-roll")
    tabloid = render({"title": "Folded", "sheets": [sheet], "folded": True}, "letter")
    for pdf, width, height in ((folded, 420, 297), (tabloid, 431.8, 279.4)):
        size = pypdfium2.PdfDocument(pdf)[0].get_size()
        assert [round(x / POINTS, 1) for x in size] == [width, height]


def test_weigh_is_left_and_cook_is_right(folded: bytes) -> None:
    pages = list(pypdfium2.PdfDocument(folded))
    middle = 210  # mm: half an A3
    page = pages[0]
    place = {word.text: word for one in reversed(pages) for word in words(letters(one))}
    assert place["Actual"].right < middle and place["Mince"].right < middle
    assert place["Poach"].left > middle and place["Store"].left > middle
    for word in words(letters(page)):
        assert word.right < middle or word.left > middle, word.text


def test_nothing_is_lost(demo: Manual, folded: bytes) -> None:
    sheet = sheet_of(demo, "cold-kitchen", "turkey-chive-roll")
    plain = render({"title": "Pages", "sheets": [sheet]}, "a4")
    has = set(vocabulary(said(folded)))
    lost = set(vocabulary(said(plain))) - has
    # a page's head names its first and last step: which these are hangs on the pages
    named = {word for b in sheet["blocks"] for name in b.get("covers", ()) for word in name.split()}
    lost -= {word for word in named if word.capitalize() in has}
    assert lost <= {"A", "copy", "of", "the", "label", "here", "on", "back"} | {
        str(n) for n in range(9)
    }


def test_halves_are_numbered_in_their_order(folded: bytes) -> None:
    numbers = [n for page in said(folded) for n in re.findall(r"Page (\d+) of (\d+)", page)]
    assert [int(n) for n, _ in numbers] == list(range(1, len(numbers) + 1))
    assert {int(of) for _, of in numbers} == {len(numbers)}


def test_what_is_only_weighed_takes_both_halves(demo: Manual) -> None:
    sheet = sheet_of(demo, "cold-kitchen", "mill-seasoning")
    pdf = render({"title": "Folded", "sheets": [sheet], "folded": True}, "a4")
    plain = render({"title": "Pages", "sheets": [sheet]}, "a4")
    assert len(said(pdf)) == -(-len(said(plain)) // 2)


def test_a_dated_sheet_too(tmp_path: Path) -> None:
    out = tmp_path / "folded.pdf"
    day = AS_OF.isoformat()
    done = run(
        None,
        *("binder", "turkey-chive-roll", "--folded", "--made", day, "--start", "14:10"),
        *("--out", str(out), "--as-of", day),
    )
    assert done.returncode == 0, done.stderr
    text = " ".join(said(out.read_bytes())).replace("\u00a0", " ")
    assert "261125-1" in text and "16:10" in text and "29 Nov 2026" in text


def test_a_binder_is_never_folded(tmp_path: Path) -> None:
    done = run(None, "binder", "stove", "--folded", "--out", str(tmp_path / "x.pdf"))
    assert done.returncode == 2 and "A folded sheet is of a formula" in done.stderr
    assert not (tmp_path / "x.pdf").exists()

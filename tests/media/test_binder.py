"""The binder on paper: what the PDF holds, read back out of it, against the sheets it was drawn
from."""

from __future__ import annotations

import datetime
import io
import os
import re
import shutil
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
import zxingcpp
from click.testing import CliRunner
from conftest import AS_OF, ROOT, compute, edit
from inked import Box, letters, paths, words

from generator.answers.batch import batch_data
from generator.binder import documents
from generator.binder.batch_sheet import sheet_of_size
from generator.binder.documents import binder_document, code_address, finished, site_url
from generator.binder.drawing import font_files, render
from generator.binder.limit_box import limit_block
from generator.binder.numbering import numbered
from generator.binder.qr import TooLong, qr_svg
from generator.binder.sheets import Record, hash_of
from generator.binder.weigh_list import side_by_side
from generator.cli import cli
from generator.files.finding import Refused
from generator.measures.marks import THIN
from generator.pages import make_pages
from generator.rules.basics.limit import HeatingLimit, NotCovered, Source
from generator.sheet.manual import Broken, Manual, make_manual
from generator.site import papers
from generator.site.papers import current_sheets

MM = 72 / 25.4
STATIONS = ("cold-kitchen", "meat-room", "bakehouse")
"""One load and three, decimals, a cure, made-ahead parts, a DANGER, cooking and two-stage
cooling."""
FRAME = (20.0, 10.0, 200.0, 269.0)
SHEETS = re.compile(r'data-sheets="([^"]*)"')
HALF_A_RULE = 1.2 / MM
"""Half of the heaviest rule, 2.4 pt: the frame's edge runs through the middle of a rule on it."""
ROLES = {9, 10, 12, 13, 14, 17, 18, 21, 22, 24, 28, 34, 40}


@dataclass(frozen=True)
class Printed:
    """A binder drawn, and its text a page."""

    document: dict[str, Any]
    pdf: bytes
    pages: tuple[str, ...]

    def of(self, key: str) -> list[int]:
        """The indices of a sheet's pages: sheets are one after the other."""
        found, index = [], 0
        for sheet in self.document["sheets"]:
            count = _count(self.pages[index])
            if sheet["key"] == key:
                found = list(range(index, index + count))
            index += count
        return found


def _count(text: str) -> int:
    return int(re.search(r"Page \d+ of (\d+)", text)[1])  # type: ignore[index]


def _printed(document: dict[str, Any], paper: Any) -> Printed:
    pdf = render(document, paper)
    with pypdfium2.PdfDocument(pdf) as opened:
        pages = tuple(page.get_textpage().get_text_range() for page in opened)
    return Printed(
        document, pdf, tuple(" ".join(p.split(" ")).replace("\r\n", "\n") for p in pages)
    )


@pytest.fixture(scope="module")
def document(demo: Manual) -> dict[str, Any]:
    return binder_document(demo, STATIONS, {}, site_url(ROOT))


@pytest.fixture(scope="module")
def a4(document: dict[str, Any]) -> Printed:
    return _printed(document, "a4")


ON_LETTER = ("meat-room/", "bakehouse/mill-loaf/", "cold-kitchen/spelt-salad/")
"""A whole station, and of the others the longest sheets. All stations: ``-m slow``."""


@pytest.fixture(scope="module")
def letter(document: dict[str, Any]) -> Printed:
    sheets = [sheet for sheet in document["sheets"] if sheet["key"].startswith(ON_LETTER)]
    return _printed({**document, "sheets": sheets}, "letter")


@dataclass(frozen=True)
class Leaf:
    """A page by its letters and paths."""

    letters: list[Box]
    paths: list[Box]

    @property
    def foot(self) -> float:
        """Where the footer begins."""
        return next(w.top for w in words(self.letters) if w.text == "Page" and w.top > 230)

    def body_ends_above_the_footer(self) -> None:
        foot = self.foot
        above = [c.bottom for c in self.letters if c.text.strip() and c.top < foot - 0.35]
        assert max(above) <= 244  # where the body ends, 10 mm from the top and 234 high


def _leaves(pdf: bytes) -> list[Leaf]:
    with pypdfium2.PdfDocument(pdf) as opened:
        return [Leaf(letters(page), paths(page)) for page in opened]


@pytest.fixture(scope="module")
def a4_leaves(a4: Printed) -> list[Leaf]:
    return _leaves(a4.pdf)


@pytest.fixture(scope="module")
def laid_out(a4: Printed, a4_leaves: list[Leaf]) -> list[Leaf]:
    """The pages of one station, of each formula one size."""
    keys = [s["key"] for s in a4.document["sheets"] if s["key"].startswith("meat-room/")]
    return [a4_leaves[index] for key in keys for index in a4.of(key)]


# ---- document control


def test_page_x_of_y_is_of_each_standard(a4: Printed) -> None:
    reported = [re.search(r"Page (\d+) of (\d+)(?:, sheet (\d+))?", text) for text in a4.pages]
    assert all(reported)
    index = 0
    for sheet in a4.document["sheets"]:
        count = int(reported[index][2])  # type: ignore[index]
        for number in range(1, count + 1):
            match = reported[index]
            assert match is not None
            assert (int(match[1]), int(match[2])) == (number, count), sheet["key"]
            assert (match[3] or "") == sheet["number"]
            index += 1
    assert index == len(a4.pages)


def test_every_page_carries_its_document_control(a4: Printed) -> None:
    for sheet in a4.document["sheets"]:
        control = sheet["control"]
        for index in a4.of(sheet["key"]):
            text = a4.pages[index]
            assert f"Hash {control['hash']}" in text and f"As of {AS_OF}" in text
            assert f"Revision {control['revision']}" in text
            assert f"Effective {control['effective']}" in text
            assert f"Approved by {control['approved']}" in text
            assert f"Review due {control['review']}" in text
            assert f"Id {control['id']}" in text.replace("\n", " ")
            assert "Uncontrolled" in text and "unless stamped" in text
            assert "Local code and the regulatory authority decide." in text


def test_the_control_is_that_of_the_standard(demo: Manual, document: dict[str, Any]) -> None:
    for sheet in document["sheets"]:
        if sheet["kind"] != "batch":
            continue
        formula = demo.sheets[sheet["key"].split("/")[1]].formula.formula
        control = sheet["control"]
        assert control["revision"] == str(formula.revision)
        assert control["effective"] == formula.effective.isoformat()
        assert control["approved"] == formula.approved and control["status"] == "Approved"
        due = formula.effective + datetime.timedelta(days=365)  # the demo's review_every
        assert control["review"] == due.isoformat()
        assert control["overdue"] is (due <= AS_OF)


def test_the_qr_code_leads_to_the_page_that_knows_the_sheet(demo: Manual, a4: Printed) -> None:
    pages = {page.uri.removesuffix(".md").removesuffix("/index") for page in make_pages(demo)}
    known = current_sheets(demo)
    with pypdfium2.PdfDocument(a4.pdf) as opened:
        for sheet in a4.document["sheets"]:
            index = a4.of(sheet["key"])[-1]
            leaf, side = opened[index], 29.2 * MM
            right, low = leaf.get_width() - 202 * MM, leaf.get_height() - 270 * MM
            corner = (202 * MM - side, low, right, 270 * MM - side)  # cut off, from each edge
            code = leaf.render(scale=200 / 72, crop=corner).to_pil()
            read = [found.text for found in zxingcpp.read_barcodes(code)]
            assert read == [sheet["qr"]["address"]], sheet["key"]
            where, _, query = read[0].partition("?")
            page = where.removeprefix("https://example.org/heron-mill/").rstrip("/")
            assert page in pages
            number, revision, hash = re.fullmatch(
                r"s=(\d+)&r=(\w+)&h=([0-9a-f]{8})", query
            ).groups()  # type: ignore[union-attr]
            uri = f"{page}.md" if f"{page}.md" in known else f"{page}/index.md"
            assert (number, revision, hash, "approved") in known[uri]
            assert len(read[0].encode()) <= 122


def test_a_longer_address_takes_a_larger_code_and_none_below_the_least_module() -> None:
    assert 'viewBox="0 0 45 45"' in qr_svg("https://example.org/" + "a" * 64)  # 84 bytes: version 5
    assert 'viewBox="0 0 49 49"' in qr_svg("https://example.org/" + "a" * 65)
    assert 'viewBox="0 0 53 53"' in qr_svg("https://example.org/" + "a" * 102)
    with pytest.raises(TooLong):
        qr_svg("https://example.org/" + "a" * 103)


def test_a_code_is_of_the_level_and_the_kind_it_should_be() -> None:
    """The format information of ISO/IEC 18004: level M is 00, then the mask, and ten digits that follow from them."""
    for size in (30, 84, 106):
        svg = qr_svg("https://example.org/" + "q" * (size - 20))
        side = int(re.search(r'viewBox="0 0 (\d+) ', svg)[1])  # type: ignore[index]
        dark = {
            (int(x) + i, int(y))
            for x, y, run in re.findall(r"M(\d+) (\d+)h(\d+)v1", svg)
            for i in range(int(run))
        }
        assert all(4 <= x < side - 4 and 4 <= y < side - 4 for x, y in dark), "the quiet zone"
        across = [*range(6), 7, 8]  # from the left beside the first corner's pattern
        bits = [int((4 + x, 4 + 8) in dark) for x in across]
        bits += [int((4 + 8, 4 + y) in dark) for y in (7, *range(5, -1, -1))]
        read = int("".join(map(str, bits)), 2) ^ 0b101010000010010
        assert read >> 13 == 0b00
        rest = read
        for power in range(14, 9, -1):
            if rest >> power & 1:
                rest ^= 0b10100110111 << (power - 10)
        assert rest == 0, "its own check digits"


def test_the_hash_changes_with_what_is_printed_and_with_nothing_else(kitchen: Path) -> None:
    def hashes() -> dict[str, str]:
        manual = compute(kitchen)
        made = binder_document(manual, list(manual.house.stations), {}, "")  # type: ignore
        return {s["key"]: s["control"]["hash"] for s in made["sheets"]}

    before = hashes()
    assert all(re.fullmatch(r"[0-9a-f]{8}", h) for h in before.values())
    later = make_manual(kitchen, AS_OF + datetime.timedelta(days=1))
    again = binder_document(
        later, list(later.house.stations), {k: 70 + i for i, k in enumerate(before)}, "x://y/"
    )  # type: ignore[union-attr]
    for sheet in again["sheets"]:  # another day, other numbers, another site
        if sheet["kind"] != "cover":
            assert sheet["control"]["hash"] == before[sheet["key"]], sheet["key"]
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.7 %")
    after = hashes()
    changed = {k for k in before if after[k] != before[k]}
    batches = {k for k in before if "/pork-bake/batch" in k}
    assert batches and changed == {*batches, "range/range/cover"}  # it lists each sheet's hash


def test_numbers_are_given_once() -> None:
    assert numbered(["a/x", "a/y"], {}) == {"a/x": 1, "a/y": 2}
    taken = {"a/x": 4, "a/gone": 9, "b/x": 30}
    assert numbered(["a/y", "a/x", "a/z"], taken) == {"a/y": 10, "a/x": 4, "a/z": 11}


@pytest.mark.parametrize(
    ("old", "new", "band", "status"),
    [
        ("approved: ", "#approved: ", "DRAFT", "DRAFT"),
        ("effective: 20", "effective: 2027-01-01 #", "NOT YET", "NOT YET IN FORCE"),
        ("station: ", "superseded: 2026-11-25\nstation: ", "SUPERSEDED", "SUPERSEDED"),
    ],
)
def test_what_is_not_in_force_says_so(
    kitchen: Path, old: str, new: str, band: str, status: str
) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", old, new)
    manual = compute(kitchen)
    station = manual.sheets["pork-bake"].formula.formula.home
    printed = _printed(binder_document(manual, [station], {}, ""), "a4")
    key = next(s["key"] for s in printed.document["sheets"] if "/pork-bake/batch" in s["key"])
    for index in printed.of(key):
        text = printed.pages[index]
        assert text.startswith(band), "the band is the first thing on it"
        assert status in text, "the footer"
    assert status in printed.pages[printed.of(f"{station}/{station}/cover")[0]]
    words = {
        "DRAFT": "Draft, do not use",
        "NOT YET": "Not current",
        "SUPERSEDED": "Superseded, do not use",
    }
    page = next(p for p in make_pages(manual) if p.title == manual.sheets["pork-bake"].name)
    assert f'<b class="ks-reversed">{words[band]}</b>' in page.html


def test_a_review_that_is_due_is_flagged_from_its_day_on(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "station: ", "review_by: 2026-11-25\nstation: ")
    for day, due in ((AS_OF, True), (AS_OF - datetime.timedelta(days=1), False)):
        manual = make_manual(kitchen, day)
        sheet = manual.sheets["pork-bake"]
        assert sheet.approval.overdue is due
        page = next(p for p in make_pages(manual) if p.title == sheet.name)
        assert ("review due 25\u00a0Nov\u00a02026" in page.html) is due
        cover = binder_document(manual, [sheet.formula.formula.home], {}, "")["sheets"][0]
        rows = next(b for b in cover["blocks"] if b["form"] == "list")["rows"]
        flags = {f["words"] for r in rows if "pork-bake" in r["id"] for f in r["flags"]}
        assert flags == ({"Review due 2026-11-25"} if due else set())


# ---- words and figures


def test_the_weights_are_those_of_the_sheet(demo: Manual, a4: Printed) -> None:
    """In weighing order, each as its scale shows it, every size that is on the sheet."""
    checked = 0
    for sheet in a4.document["sheets"]:
        if sheet["kind"] != "batch":
            continue
        made = demo.sheets[sheet["key"].split("/")[1]]
        sizes = side_by_side(made.batches)
        assert sheet["subtitle"][1] == ", ".join(batch.label for batch in sizes)
        wanted = wanted_weights(sizes)
        assert drawn_weights(sheet) == wanted, sheet["key"]
        text = " ".join(a4.pages[i] for i in a4.of(sheet["key"])).replace("\u00a0", " ")
        text = _THOUSANDS.sub("", text)
        at = 0
        for figure in [figure.split()[0] for row in wanted for figure in row]:
            at = text.find(figure, at)  # in this order on paper
            assert at >= 0, f"{sheet['key']}: {figure}"
            at += len(figure)
        for batch in sizes:
            record = batch_data(made, batch, demo.walks)
            grams = sum(Fraction(str(line["weigh_each_load_g"])) for line in record["lines"])
            assert abs(grams - sum(ln.weighing.grams for ln in batch.lines)) < 1
        checked += sum(map(len, wanted))
    assert checked > 200


def drawn_weights(sheet: Any) -> list[list[str]]:
    """The weights of a sheet's record, a list for each row."""
    return [
        [f"{c['whole']}{c['decimals']} {c['unit']}".replace(THIN, "") for c in r["cells"]]
        for b in sheet["blocks"]
        if b["form"] == "weigh"
        for r in b["rows"]
        if r["row"] == "line"
    ]


def wanted_weights(sizes: tuple[Any, ...]) -> list[list[str]]:
    """The weights of the sizes of a sheet, a list for each row."""

    def shown(line: Any) -> str:
        scale = line.weighing.scale
        assert scale is not None
        return f"{scale.shows(line.weighing.grams)} {scale.unit}".replace(THIN, "")

    if len(sizes) > 1:
        rows = {id(ln.line): [shown(ln)] for ln in sizes[0].lines}
        for batch in sizes[1:]:
            for line in batch.lines:
                rows[id(line.line)].append(shown(line))
        return list(rows.values())
    (batch,) = sizes
    return [
        [shown(line)]
        for group in batch.groups()
        for _ in range(-(-group.loads // 2))
        for line in group.lines
    ]


_THOUSANDS = re.compile(r"(?<=\d)[ \u2009](?=\d{3}(?!\d))")
_FIGURE = re.compile(r"\d+(?:[.,]\d+)*")


def test_no_figure_on_paper_is_of_the_templates_making(a4: Printed) -> None:
    """Each figure printed is in the sheet's record, as often; only pages are counted by the
    layout."""
    for sheet in a4.document["sheets"]:
        if sheet["kind"] == "cover":
            continue  # counts the pages of its sheets
        known = Counter(_FIGURE.findall(" ".join(_texts(sheet)).replace(THIN, "")))
        pages = a4.of(sheet["key"])
        for index in pages:
            text = re.sub(r"Page \d+ of \d+", "", a4.pages[index])
            text = _THOUSANDS.sub("", text)
            if sheet["kind"] in ("log", "routine"):
                known.update(map(str, range(1, 15)))  # entries to write in are counted
            for figure in set(_FIGURE.findall(text)):
                # two cells side by side read as one figure of thousands: 20 plates, 100 %
                parts = (figure[:-3], figure[-3:])
                assert figure in known or set(parts) <= set(known), f"{sheet['key']}: {figure}"


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        whole = value.get("whole")
        if whole is not None:  # a weight is set in two halves at its decimal mark
            yield f"{whole}{value['decimals']}"
        for key, inner in value.items():
            if key not in ("qr", "key"):
                yield from _texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def test_limits_stand_with_what_the_probe_must_read(demo: Manual, laid_out: list[Leaf]) -> None:
    """The largest figures of the meat room, against the limits of its sheets."""
    sheets = [s for s in demo.sheets.values() if s.formula.formula.home == "meat-room"]
    cook = {
        str(int(x.read))
        for s in sheets
        for x in s.walk.limits
        if x.hazard == "cook" and isinstance(x, HeatingLimit)
    }
    assert cook == {"71"}
    sized = [words(leaf.letters, by_size=True) for leaf in laid_out]
    largest = Counter(w.text for page in sized for w in page if round(w.size) == 40)
    cooked = [s for s in sheets if any(lm.hazard == "cook" for lm in s.walk.limits)]
    assert largest == {"71": len(cooked)}
    stages = [[w.text for w in page if round(w.size) == 28] for page in sized]
    assert any(
        " 59 20 4 " in f" {' '.join(figures)} " for figures in stages
    )  # clock 135 °F, 70 °F, 41 °F on a probe of ±1 °C


def test_corrective_action_and_clause_stand_in_the_box(a4: Printed) -> None:
    key = "cold-kitchen/turkey-chive-roll/batch"
    text = " ".join(" ".join(a4.pages[i] for i in a4.of(key)).replace("\u00a0", " ").split())
    assert "Limit" in text and "Probe must read" in text and "or hotter, in one reading" in text
    assert "If missed: Poach on and probe again every 5 minutes." in text
    assert "Limit on this probe (±1 °C) 75 °C." in text  # 165 °F is 73.9 °C; 74 shown, 75 read
    assert "Code 165 °F (74 °C), any one reading. Food Code 2022, 3-401.11(A)(3)." in text
    warned = text.rindex("WARNING Hot liquid and steam burn")
    assert warned < text.index("Poach the rolls in the poaching kettle: water 82 °C")
    assert "Write the reading and the time in the cooking log." in text
    assert "Contains milk, eggs." in text


def test_yields_expected_beside_actual(demo: Manual, a4: Printed) -> None:
    key = "cold-kitchen/turkey-chive-roll/batch"
    text = a4.pages[a4.of(key)[-1]].replace("\u00a0", " ")
    record = batch_data(
        demo.sheets["turkey-chive-roll"], demo.sheets["turkey-chive-roll"].batches[0], demo.walks
    )
    for figure in (f"{record['filled_g']} g", f"{record['yield_g']} g", str(record["portions"])):
        assert figure in text
    share = round(record["yield_g"] / record["total_g"] * 100, 1)
    assert f"{share} %" in text and "Actual" in text and "Expected" in text
    for label in ("Deviation: log line", "Released by", "opy"):
        assert label in text


def test_three_loads_are_two_tables(demo: Manual) -> None:
    made = demo.sheets["mill-loaf"]
    batch = next(b for b in made.batches if b.label == "36\u00a0loaves")
    sheet = finished(sheet_of_size(demo, made, batch), "", "")
    text = " ".join(_printed({"title": "x", "sheets": [sheet]}, "a4").pages)
    assert "Weigh loads 1 and 2 of 3" in text and "Weigh load 3 of 3" in text
    assert "Weigh once for the whole batch" in text  # what goes in after the loads come together
    assert drawn_weights(sheet) == wanted_weights((batch,))


def test_no_comma_between_thousands(a4: Printed) -> None:
    for text in a4.pages:
        assert not re.search(r"\d,\d{3}(?!\d)", text)


def test_a_page_breaks_before_the_cook_step(a4: Printed) -> None:
    pages = a4.of("bakehouse/oat-loaf/batch")  # its page before has room for the bake's limit
    heads = [a4.pages[i].replace("\n", " ").partition("Contains")[0] for i in pages]
    cook = next(i for i, head in enumerate(heads) if "· bake" in head)
    assert cook > 0 and not any("bake" in h for h in heads[:cook])
    assert "Batch no." in a4.pages[pages[cook]] and "Scales checked" in a4.pages[pages[0]]


# ---- form


def test_both_papers_have_the_same_pages(a4: Printed, letter: Printed) -> None:
    drawn = [(sheet["key"], a4.of(sheet["key"])) for sheet in letter.document["sheets"]]
    assert [a4.pages[index] for _, indices in drawn for index in indices] == [*letter.pages]
    assert len(letter.pages) >= 20
    for printed, width, height in ((a4, 210, 297), (letter, 215.9, 279.4)):
        with pypdfium2.PdfDocument(printed.pdf) as opened:
            for page in opened:
                left, bottom, right, top = page.get_mediabox()
                assert abs((right - left) / MM - width) < 0.05
                assert abs((top - bottom) / MM - height) < 0.05


@pytest.mark.slow
def test_both_papers_have_the_same_pages_of_every_station(a4: Printed) -> None:
    assert a4.pages == _printed(a4.document, "letter").pages


def _inside(leaf: Leaf) -> None:
    left, top, right, bottom = FRAME
    assert leaf.letters and leaf.paths
    for thing in (*leaf.letters, *leaf.paths):
        if thing.text and not thing.text.strip():
            continue  # a space at a line's end hangs over and has no ink
        assert thing.left >= left - HALF_A_RULE, thing
        assert thing.right <= right + HALF_A_RULE, thing
        over = 0.15 * thing.size / MM  # a letter's box is its font's, taller than its ink
        assert thing.top + over >= top - HALF_A_RULE, thing
        assert thing.bottom <= bottom + HALF_A_RULE, thing


def test_nothing_stands_outside_the_frame(a4_leaves: list[Leaf], letter: Printed) -> None:
    for leaf in (*a4_leaves, *_leaves(letter.pdf)):
        _inside(leaf)


def test_no_letter_of_any_size_stands_outside_the_frame(a4: Printed) -> None:
    """Of every page of the station: the ink of each letter, to half a millimetre."""
    left, top, right, bottom = FRAME
    keys = [s["key"] for s in a4.document["sheets"] if s["key"].startswith("meat-room/")]
    with pypdfium2.PdfDocument(a4.pdf) as opened:
        for number in [index for key in keys for index in a4.of(key)]:
            text = opened[number].get_textpage()
            inked = [
                [edge / MM for edge in text.get_charbox(n)]
                for n in range(text.count_chars())
                if pypdfium2.raw.FPDFText_GetUnicode(text, n) > ord(" ")
            ]
            assert len(inked) > 300, number
            assert min(box[0] for box in inked) >= left - 0.5, number
            assert max(box[2] for box in inked) <= right + 0.5, number
            assert 297 - max(box[3] for box in inked) >= top - 0.5, number
            assert 297 - min(box[1] for box in inked) <= bottom + 0.5, number


def test_nothing_of_the_body_runs_into_the_footer(laid_out: list[Leaf]) -> None:
    for leaf in laid_out:
        leaf.body_ends_above_the_footer()
        assert leaf.foot >= 245


def test_sizes_of_type_are_those_of_the_roles(a4_leaves: list[Leaf]) -> None:
    inked = [c for leaf in a4_leaves for c in leaf.letters if c.upright and c.text.strip()]
    assert {round(c.size, 1) for c in inked} <= {float(s) for s in ROLES}
    for leaf in a4_leaves:
        for word in words(leaf.letters, by_size=True):
            if re.fullmatch(r"\d[\d.]*", word.text) and round(word.size) == 17:
                assert word.size >= 16  # weights and step numbers


_SMALL = {
    "control",
    "small",
    "under",
    "label",
    "heads",
    "head",
    "loads",
    "lot",
    "boxes",
    "id",
    "figure",
    "flags",
    "cells",
    "sizes",
    "actual",
    "names",
}
_OURS = (
    "Ex.",
    "Effective,",
    "review",
    "Part",
    "Ingredient",
    "Scale",
    "Lot",
    "By",
    "Check",
    "No.",
    "Sheet",
    "Pages",
    "Rev.,",
    "hash",
    "Effective",
    "Approved",
    "by",
    "Revision",
    "Review",
    "due",
    "Hash",
    "As",
    "of",
    "Id",
    "Uncontrolled",
    "unless",
    "stamped",
    "Made",
    "here",
)


def _small_words(value: Any, inside: bool = False) -> Iterator[str]:
    if isinstance(value, str) and inside:
        yield from value.split()
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _small_words(inner, inside or key in _SMALL)
    elif isinstance(value, list):
        for inner in value:
            yield from _small_words(inner, inside)


def test_what_is_small_is_read_in_the_hand(a4: Printed, laid_out: list[Leaf]) -> None:
    """9 and 10 pt: field labels, column heads, code and clause, document control; nothing else."""
    allowed = {w for sheet in a4.document["sheets"] for w in _small_words(sheet)} | set(_OURS)
    seen = 0
    for leaf in laid_out:
        for word in words(leaf.letters, by_size=True):
            if word.size < 11.5 and word.upright:
                assert word.text in allowed, word.text
                seen += 1
    assert seen > 1000


def test_lines_are_at_most_seventy_characters(laid_out: list[Leaf]) -> None:
    """Words on one line, as far as no gap parts them; the last line of the footer is longer."""
    for leaf in laid_out:
        lines: dict[int, list[Box]] = {}
        for word in words(leaf.letters):
            lines.setdefault(round(word.bottom * MM), []).append(word)
        for found in lines.values():
            line, last = "", None
            for word in sorted(found, key=lambda w: w.left):
                if last is None or word.left - last > 2.2:
                    line = ""
                line, last = f"{line} {word.text}".strip(), word.right
                if not line.startswith(("Local code and", "as adopted by")):
                    facts = line.split(" · ")  # a step's head is facts in a row, no running text
                    assert max(map(len, facts)) <= 70, line


def test_rows_to_write_in_are_nine_millimetres(laid_out: list[Leaf]) -> None:
    rows = 0
    for leaf in laid_out:
        table = [w for w in words(leaf.letters) if w.text == "Lot"]
        if not table:
            continue
        x = table[0].left + 5 / MM
        ys = sorted(
            {
                round(o.top * MM, 1)
                for o in leaf.paths
                if o.left <= x <= o.right and o.bottom - o.top < 2 / MM and o.top > table[0].bottom
            }
        )
        heights = [b - a for a, b in pairwise(ys) if b - a > 2]
        rows += len(heights)
        # headings and expected yields are printed; between blocks is a gap of 2.5 mm at most
        printed = (5.0, 5.2, 4.4)
        heads = [h for h in heights if h / MM < 2.6 or min(abs(h / MM - p) for p in printed) < 0.1]
        assert all(h / MM >= 9 for h in heights[:-1] if h not in heads), [h / MM for h in heights]
    assert rows > 20


def test_fonts_are_embedded_and_ours(a4: Printed) -> None:
    names = set()
    for page in pypdf.PdfReader(io.BytesIO(a4.pdf)).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index, union-attr]
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            names.add(inner["/BaseFont"].split("+")[1])
            descriptor = inner["/FontDescriptor"].get_object()
            assert "/FontFile3" in descriptor or "/FontFile2" in descriptor
            assert "/ToUnicode" in font.get_object()
    assert {n.split("-Identity")[0] for n in names} <= {
        f"SourceSansPro-{f}" for f in ("Regular", "Semibold", "Bold", "It")
    }


def test_it_is_tagged_has_a_title_and_bookmarks(a4: Printed) -> None:
    reader = pypdf.PdfReader(io.BytesIO(a4.pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]  # type: ignore[index]
    assert "pdfuaid" in reader.xmp_metadata.stream.get_data().decode()  # type: ignore[union-attr]
    assert reader.metadata is not None and reader.metadata.title == a4.document["title"]
    assert reader.metadata.creation_date is None
    top = [item["/Title"] for item in reader.outline if not isinstance(item, list)]
    assert top == [sheet["title"] for sheet in a4.document["sheets"]]


def test_signs_come_out_as_typed(kitchen: Path) -> None:
    name = "Jalapeño and żubrówka bake, crème fraîche ½, 74 °C"
    text = (kitchen / "standards/formulas/pork-bake.yaml").read_text().splitlines()
    text[0] = f"name: {name}"
    (kitchen / "standards/formulas/pork-bake.yaml").write_text("\n".join(text) + "\n")
    manual = compute(kitchen)
    printed = _printed(
        binder_document(manual, [manual.sheets["pork-bake"].formula.formula.home], {}, ""), "a4"
    )
    found = " ".join(" ".join(printed.pages).replace("\u00a0", " ").split())
    assert name in found


def test_a_sign_the_font_lacks_is_refused_by_name(kitchen: Path, tmp_path: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "name: ", "name: 茶 ")
    manual = compute(kitchen)
    document = binder_document(manual, [manual.sheets["pork-bake"].formula.formula.home], {}, "")
    with pytest.raises(Refused, match="茶"):
        render(document, "a4")
    out = tmp_path / "b.pdf"
    home = manual.sheets["pork-bake"].formula.formula.home
    ran = CliRunner().invoke(cli, ["binder", home, "--project", str(kitchen), "--out", str(out)])
    assert ran.exit_code == 1 and "茶" in ran.output and not out.exists()


def test_a_long_table_goes_on_under_its_heads_and_a_long_name_breaks(demo: Manual) -> None:
    sheet = next(
        s for s in binder_document(demo, ["meat-room"], {}, "")["sheets"] if s["kind"] == "batch"
    )
    weigh = next(b for b in sheet["blocks"] if b["form"] == "weigh")
    row = {**next(r for r in weigh["rows"] if r["row"] == "line"), "part": "", "name": "Leek"}
    rows = [
        {**row, "part": "Garnish", "name": "A" * 60},
        *[{**row, "name": f"Leek {n}"} for n in range(30)],
    ]
    long = {**sheet, "blocks": [{**b, "rows": rows} if b is weigh else b for b in sheet["blocks"]]}
    printed = _printed({"title": "Long", "sheets": [long]}, "a4")
    listed = [page for page in printed.pages if "Leek" in page]
    assert len(listed) > 1
    assert all("Actual" in page and "Garnish" in page for page in listed)
    found = re.findall(r"Leek (\d+)", " ".join(printed.pages))
    assert found == [str(n) for n in range(30)]
    for leaf in _leaves(printed.pdf):
        _inside(leaf)


def test_texts_are_data_and_long_ones_stay_in_the_frame(kitchen: Path) -> None:
    """What would be markup is as typed; names, approvers and notes of any length push nothing
    out."""
    file = kitchen / "standards/formulas/pork-bake.yaml"
    name = '#read("/etc/passwd") *x* $y$ <a> @b \\\\ _c_ ' + "long words " * 12
    lines = [
        line
        for line in file.read_text().splitlines()
        if not line.startswith(("name:", "approved:"))
    ]
    lines.insert(0, f"name: {name!r}")
    lines.insert(1, "approved: " + "A very long name of a person and the office " * 4)
    lines.insert(2, "note: " + "A remark that goes on for a while. " * 30)
    file.write_text("\n".join(lines) + "\n")
    manual = compute(kitchen)
    assert not manual.errors, manual.errors
    document = binder_document(
        manual, [manual.sheets["pork-bake"].formula.formula.home], {}, "https://example.org/"
    )
    printed = _printed(document, "a4")
    text = " ".join(" ".join(printed.pages).split())
    assert '#read("/etc/passwd") *x* $y$ <a> @b' in text
    for leaf in _leaves(printed.pdf):
        _inside(leaf)
        leaf.body_ends_above_the_footer()


def test_a_step_longer_than_a_page_is_reported_by_its_sheet(demo: Manual) -> None:
    sheet = next(
        s for s in binder_document(demo, ["meat-room"], {}, "")["sheets"] if s["kind"] == "batch"
    )
    limit = next(
        b
        for s in binder_document(demo, ["meat-room"], {}, "")["sheets"]
        for b in s["blocks"]
        if b["form"] == "limit"
    )
    long = {**sheet, "blocks": [{**limit, "how": "Stir and wait. " * 400}]}
    with pytest.raises(Refused, match="longer than a page: " + sheet["control"]["id"]):
        render({"title": "Long", "sheets": [long]}, "a4")


def test_what_the_law_does_not_list_has_a_dashed_box_and_no_figure(demo: Manual) -> None:
    source = Source("Food Code 2022", "2022", "", ())
    limit = NotCovered(
        id="cook-1",
        step="cook",
        number=1,
        verb="Cook",
        hazard="cook",
        bound="min",
        source=source,
        why="Smoked in the yard.",
    )
    assert demo.house is not None
    block = limit_block(demo.house, limit, "1", [{"b": "Cook"}])
    assert block["covered"] is False and "figure" not in block
    sheet = {**binder_document(demo, ["counter"], {}, "")["sheets"][1], "blocks": [block]}
    page = _printed({"title": "None", "sheets": [sheet]}, "a4").pages[0]
    reported = " ".join(page.split())
    assert (
        "Not covered" in reported
        and "Smoked in the yard. Ask your regulatory authority." in reported
    )
    assert "can't be approved" in reported and "Probe must read" not in reported


def test_a_kitchen_with_a_comma_prints_commas(tmp_path: Path) -> None:
    manual = make_manual(ROOT / "tests/kitchens/second_kitchen", AS_OF)
    assert manual.house is not None
    document = binder_document(manual, list(manual.house.stations), {}, "")
    figures = 0
    for sheet in document["sheets"]:
        for block in sheet["blocks"]:
            if block["form"] in ("weigh", "yields", "steps"):
                reported = " ".join(_texts(block))
                assert not re.search(r"\d\.\d", reported), reported
                figures += len(re.findall(r"\d,\d", reported))
    assert figures > 50


def test_two_sizes_called_the_same_are_two_sheets(kitchen: Path) -> None:
    text = (kitchen / "standards/formulas/pork-bake.yaml").read_text()
    sizes = re.search(r"^batches: \[([^,\]]+)", text, re.MULTILINE)
    assert sizes is not None
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        f"batches: [{sizes[1]}",
        f"batches: [{sizes[1]}, {sizes[1]}",
    )
    manual = compute(kitchen)
    document = binder_document(manual, [manual.sheets["pork-bake"].formula.formula.home], {}, "")
    keys = [sheet["key"] for sheet in document["sheets"]]
    assert len(keys) == len(set(keys))


# ---- the command


def test_the_same_bytes_from_another_folder_zone_and_hour(
    kitchen: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of this process, and of one of its own with another hash seed in another folder."""
    other = tmp_path / "elsewhere" / "deeper"
    shutil.copytree(kitchen, other / "kitchen")
    words = ["binder", "--as-of", AS_OF.isoformat(), "--paper", "letter"]
    first, second = tmp_path / "one.pdf", other / "two.pdf"
    monkeypatch.setenv("TZ", "America/Chicago")
    time.tzset()
    try:
        here = [*words, "--project", str(kitchen), "--out", str(first)]
        assert CliRunner().invoke(cli, here).exit_code == 0
    finally:
        monkeypatch.undo()
        time.tzset()
    zone = {"TZ": "Pacific/Auckland", "LC_ALL": "C", "PYTHONHASHSEED": "77"}
    there = [*words, "--project", str(other / "kitchen"), "--out", str(second)]
    subprocess.run(
        [sys.executable, "-c", "from generator.cli import main; main()", *there],
        check=True,
        cwd=other,
        env={**os.environ, **zone},
        capture_output=True,
    )
    assert first.read_bytes() == second.read_bytes()
    assert str(tmp_path).encode() not in first.read_bytes()


def test_nothing_is_written_while_there_are_errors(kitchen: Path, tmp_path: Path) -> None:
    out = tmp_path / "binder.pdf"
    out.write_bytes(b"the binder before")
    edit(kitchen, "formulas/pork-bake.yaml", "station: ", "station: no-such-")
    ran = CliRunner().invoke(cli, ["binder", "--project", str(kitchen), "--out", str(out)])
    assert ran.exit_code == 1 and "nothing printed" in ran.output
    assert out.read_bytes() == b"the binder before"
    assert [p.name for p in tmp_path.iterdir() if "binder" in p.name] == ["binder.pdf"]


def test_an_unknown_station_and_a_missing_folder_are_reported(tmp_path: Path) -> None:
    day = ("--as-of", AS_OF.isoformat(), "--project", str(ROOT))
    ran = CliRunner().invoke(cli, ["binder", "coldkitchen", *day, "--out", str(tmp_path / "x.pdf")])
    assert ran.exit_code == 2 and "Did you mean cold-kitchen?" in ran.output
    ran = CliRunner().invoke(
        cli, ["binder", "counter", *day, "--out", str(tmp_path / "no" / "x.pdf")]
    )
    assert ran.exit_code == 2 and "can't be written" in ran.output
    assert not list(tmp_path.iterdir())


def test_without_an_address_there_is_no_code_and_it_says_so(kitchen: Path, tmp_path: Path) -> None:
    out = tmp_path / "b.pdf"
    ran = CliRunner().invoke(
        cli, ["binder", "--project", str(kitchen), "--out", str(out), "--as-of", str(AS_OF)]
    )
    assert ran.exit_code == 0 and "no QR codes" in ran.output and out.read_bytes()[:5] == b"%PDF-"


def test_the_command_line_starts_without_the_typesetter() -> None:
    code = "import sys, generator.cli; print([m for m in ('typst', 'zxingcpp', 'pikepdf') if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_the_font_comes_with_its_licence() -> None:
    folder = font_files()[0].parent
    assert "SIL OPEN FONT LICENSE" in (folder / "LICENSE.txt").read_text(errors="replace").upper()


def test_an_address_says_sheet_revision_and_hash() -> None:
    where = code_address("https://k.example/", "stove/stock/batch/2-tubs", "4", "7", "7c19e2a0")
    assert where == "https://k.example/stove/stock/?s=4&r=7&h=7c19e2a0"
    sheet = {"key": "stove/stove/cover", "blocks": [], "control": {"revision": "3", "hash": ""}}
    done = finished(sheet, "", "https://k.example/")
    assert done["qr"]["address"] == f"https://k.example/stove/?s=0&r=3&h={hash_of(sheet)}"


def test_the_site_computes_the_sheets_it_shows_and_no_others(
    kitchen: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each sheet once, without its QR code; none while there are errors, or no house."""
    computed: list[tuple[str, str]] = []

    def counted_in(sheet: Record, number: str, site: str) -> Record:
        computed.append((sheet["key"], site))
        return finished(sheet, number, site)

    monkeypatch.setattr(documents, "finished", counted_in)
    pages = papers.make_site_pages(make_manual(kitchen, AS_OF))
    shown = [s for p in pages for found in SHEETS.findall(p.html) for s in found.split()]
    assert len(shown) == len(computed) == len(set(computed)) > 10
    assert {site for _, site in computed} == {""}
    computed.clear()
    edit(kitchen, "formulas/house-spice.yaml", "nutmeg: 30 %", "nutmeg: 40 %")
    found = make_manual(kitchen, AS_OF)
    assert found.errors and papers.make_site_pages(found) and not computed
    (kitchen / "standards/kitchen.yaml").unlink()
    found = make_manual(kitchen, AS_OF)
    assert isinstance(found, Broken) and papers.make_site_pages(found) and not computed

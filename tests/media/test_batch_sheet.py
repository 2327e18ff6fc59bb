"""The batch sheet a binder holds: nothing of the computed sheet is left off it, read out of the
PDF; how it is packed; its words; what is printed on request."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT

from generator.binder.batch_sheet import Dated, batch_sheets, sheet_of_size
from generator.binder.cautions_block import MOST_WHOLE, placed
from generator.binder.documents import binder_document
from generator.binder.drawing import _Drawer, render
from generator.binder.measuring import _block, measured
from generator.binder.sheet_changes import plain_words
from generator.binder.weigh_list import side_by_side
from generator.cli import cli
from generator.measures.words import true_minus
from generator.rules.basics.limit import NotCovered, ShareLimit
from generator.scaling.scales import ScaleFacts, choose
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view
from generator.views.sentences import sentences_of
from generator.views.store_view import store_view

BODY_TOP, BODY = 10.0, 234.0


@dataclass(frozen=True)
class Page:
    """A page read back: what it says, and how much of its body is used."""

    ident: str
    number: int
    count: int
    text: str
    used: float


@pytest.fixture(scope="module")
def pages(demo: Manual) -> list[Page]:
    """The demo's whole binder, page by page."""
    drawn = render(binder_document(demo, list(demo.house.stations), {}, ""), "a4")
    found = []
    with pypdfium2.PdfDocument(drawn) as opened:
        for leaf in opened:
            text = leaf.get_textpage().get_text_range().replace("\r\n", "\n").replace("\xa0", " ")
            # pdfium's sign for a hyphen at the end of a line, in the place of both
            text = text.replace("\ufffe\n", "-").replace("\ufffe", "-")
            number, count = map(int, re.findall(r"Page (\d+) of (\d+)", text)[0])
            ident = re.findall(r"\bId ([^\n]+)", text)[0]
            found.append(Page(ident, number, count, " ".join(text.split()), _used(leaf)))
    return found


def _used(leaf: Any) -> float:
    """The share of a page's body above its last ink."""
    rows = leaf.render(scale=0.8, grayscale=True).to_numpy().squeeze()
    mm = rows.shape[0] / 297
    body = rows[int(BODY_TOP * mm) : int((BODY_TOP + BODY + 1) * mm), int(19 * mm) : int(201 * mm)]
    inked = (body < 200).any(axis=1).nonzero()[0]
    return float((inked.max() + 1) / mm / BODY)


def of_formula(pages: list[Page], ident: str) -> str:
    return " ".join(p.text for p in pages if p.ident.startswith(f"{ident}, batch sheet"))


def said(words: str) -> str:
    """Words as paper has them: single spaces, and a true minus before a figure below zero."""
    return " ".join(true_minus(words).replace("\xa0", " ").replace("\u2009", " ").split())


# ---- nothing is left off


def test_every_limit_is_on_the_sheet(demo: Manual, pages: list[Page]) -> None:
    """Its figures, its hold, what to do if it is missed, its document and clause; what food is sold
    as, which nobody reads at the bench, on one line."""
    checked = 0
    for ident, sheet in demo.sheets.items():
        text = of_formula(pages, ident)
        for limit in (*sheet.walk.limits, *sheet.walk.store):
            view = limit_view(demo.house, limit)
            wanted = [f"{f.number} {f.unit}" for f in view.figures]
            wanted += [view.hold, view.note, view.words]
            wanted += [] if isinstance(limit, ShareLimit) else [view.if_missed]
            for words in filter(None, wanted):
                assert said(words) in text, (ident, limit.id, words)
            # the small print may be beside other words, line by line
            for word in re.split("[ /]", said(f"{view.code} {view.document} {view.clause}")):
                assert word in text, (ident, limit.id, word)
            checked += not isinstance(limit, NotCovered)
    assert checked > 80


def test_a_limit_of_storing_is_printed_once_at_the_step_that_stores(demo: Manual) -> None:
    """Two places to store: the colder one's limit is in the box of its step, with when it is in
    force; the warmer one's at the last step. No figure, clause and hazard is in two boxes of
    storing."""
    (made,) = batch_sheets(demo, demo.sheets["chuck-in-bags"])
    boxes = [b for b in made["blocks"] if b["form"] == "limit" and b["check"]]
    said_of = {b["number"]: plain_words(b["figure"]["words"]) for b in boxes if "figure" in b}
    assert said_of["6"] == "or colder, until it is taken out" and "" not in said_of
    assert said_of["7"] == "or colder, once it is taken out"
    for sheet in demo.sheets.values():
        (made,) = batch_sheets(demo, sheet)
        found = [
            (b["number"], b["figure"]["number"], b["small"][-1], plain_words(b["check"] or ""))
            for b in made["blocks"]
            if b["form"] == "limit" and b["shape"] == "one" and b["covers"] == ["store"]
        ]
        assert len({f[1:] for f in found}) == len(found), (sheet.id, found)


@pytest.mark.parametrize(
    ("size", "loads", "heads"),
    [(1, 2, ["Load 1 at", "Load 2 at"]), (2, 3, ["First load at", "Last load at"])],
)
def test_a_step_in_loads_has_a_time_for_its_first_and_its_last(
    demo: Manual, size: int, loads: int, heads: list[str]
) -> None:
    sheet = demo.sheets["mill-loaf"]
    batch = sheet.batches[size]
    assert {one.step: one.loads.count for one in batch.step_loads}["knead"] == loads
    (number,) = (str(one.step.number) for one in sheet.walk.steps if one.step.id == "knead")
    rows = [r for b in sheet_of_size(demo, sheet, batch)["blocks"] for r in b.get("rows", ())]
    (boxes,) = (r["boxes"] for r in rows if "boxes" in r and r["number"] == number)
    assert [plain_words(box) for box in boxes] == [*heads, "By"]


def test_limits_of_one_step_are_counted(demo: Manual) -> None:
    (made,) = batch_sheets(demo, demo.sheets["chuck-in-bags"])
    of_three = [b for b in made["blocks"] if b["form"] == "limit" and b["number"] == "3"]
    assert [plain_words(b["words"]) for b in of_three[1:]] == [
        "Vacuum-pack: limit 2 of 3.",
        "Vacuum-pack: limit 3 of 3.",
    ]


def test_every_caution_is_whole_once_and_then_a_line(demo: Manual, pages: list[Page]) -> None:
    for ident, sheet in demo.sheets.items():
        text = of_formula(pages, ident)
        for notice in sheet.notices.all:
            assert text.count(said(notice.words)) == 1, (ident, notice.id)
        found = placed(sheet)
        for number, notices in sheet.notices.by_step.items():
            shown = (*found.boxes.get(number, ()), *found.lines.get(number, ()))
            assert {n.id for n in shown} == {n.id for n in notices}, (ident, number)


def test_every_allergen_and_every_use_by_is_on_the_sheet(demo: Manual, pages: list[Page]) -> None:
    for ident, sheet in demo.sheets.items():
        mine = [p for p in pages if p.ident.startswith(f"{ident}, batch sheet")]
        contains = ", ".join(str(a) for a in sheet.allergens) or demo.house.allergens.none
        assert mine and all(said(f"Contains {contains}.") in p.text for p in mine), ident
        store = store_view(sheet, tuple(limit_view(demo.house, x) for x in sheet.walk.store))
        text = of_formula(pages, ident)
        for words in filter(None, (store.words, store.explain, store.parts, store.frozen)):
            assert said(words) in text, (ident, words)


def test_the_use_by_is_at_the_labelling_step(demo: Manual) -> None:
    seen = 0
    for sheet in demo.sheets.values():
        store = store_view(sheet, tuple(limit_view(demo.house, x) for x in sheet.walk.store))
        labels = [w for w in sheet.walk.steps if "labels" in w.step.effects]
        if not labels or store.day is None:
            continue
        (made,) = batch_sheets(demo, sheet)
        rows = [r for b in made["blocks"] if b["form"] == "steps" for r in b["rows"]]
        (row,) = [r for r in rows if r["number"] == str(labels[0].step.number)]
        assert said(f"Use by: {store.words}.") in said(plain_words(row["words"]))
        assert row["boxes"][0] == "Use by"
        seen += 1
    assert seen > 15


# ---- packing


def test_what_is_short_takes_one_line_and_goes_on_under_the_blanks(demo: Manual) -> None:
    """As the templates measured it: a caution of at most 70 letters is less high than a longer one;
    what is beside a limit's blanks goes on under them."""
    drawer = _Drawer("a4", False)
    asked = [batch_sheets(demo, demo.sheets[i])[0] for i in ("chuck-in-bags", "char-raw")]
    blocks = [b for sheet in asked for b in sheet["blocks"]]
    known = measured(asked, drawer.measure)
    high = {len(b["words"]): known.sized(b)["height"] for b in blocks if b["form"] == "notice"}
    short, long = ([h for n, h in high.items() if (n > 70) is more] for more in (False, True))
    assert short and long and max(short) < min(long)
    boxes = [b for b in blocks if b["form"] == "limit" and b.get("blanks")]
    beside = [known.sized(box)["beside"] for box in boxes]
    texts = [sum(box[k] is not None for k in ("check", "missed", "write")) for box in boxes]
    assert any(b < t for b, t in zip(beside, texts, strict=True))
    for box in boxes:  # without what is under them no box is higher
        less = {**box, "write": None}
        assert drawer.measure([_block(less)])[0]["height"] <= known.sized(box)["height"]
    assert len(boxes) == 2


def test_the_binder_is_not_too_long_to_print(demo: Manual, pages: list[Page]) -> None:
    """34 formulas and four standards without one, logs included, at the same sizes of type."""
    assert len(pages) <= 150
    routines = [p for p in pages if p.ident.endswith("standard without a formula")]
    assert len(pages) - len(routines) <= 146
    batch = [p for p in pages if ", batch sheet" in p.ident]
    assert len(batch) / len(demo.sheets) < 2.5
    assert {p.ident.partition(",")[0] for p in batch} == set(demo.sheets)


def test_pages_and_blank_a_station(demo: Manual, pages: list[Page]) -> None:
    """Of each station: its pages, how much of a body is blank behind its last ink, pages a formula
    (``pytest -s`` prints them)."""
    known = {f"{ident}, batch sheet": s.formula.formula.home for ident, s in demo.sheets.items()}
    at, of = "", {station: [] for station in demo.house.stations}  # type: ignore[var-annotated]
    for page in pages:
        if page.ident.endswith("list of controlled sheets"):
            at = page.ident.partition(",")[0]
        assert known.get(page.ident, at) == at
        of[at].append(page)
    print("\nstation, pages, blank, pages a formula:")
    for at, mine in (*of.items(), ("all", pages)):
        batch = [p for p in mine if ", batch sheet" in p.ident]
        blank = 1 - sum(p.used for p in mine) / len(mine)
        each = len(batch) / len({p.ident for p in batch})
        print(f"  {at:13} {len(mine):4} {blank:4.0%} {each:.2f}")
        assert blank < 1 / 3 and each <= 3


def test_no_page_of_a_batch_sheet_but_its_last_is_less_than_two_thirds_full(
    pages: list[Page],
) -> None:
    batch = [p for p in pages if ", batch sheet" in p.ident and p.number < p.count]
    assert len(batch) > 30
    for page in batch:
        assert page.used >= 2 / 3, (page.ident, page.number, page.used)


def test_processes_and_conversions_come_on_request(demo: Manual) -> None:
    kinds = [s["kind"] for s in binder_document(demo, ["stove"], {}, "")["sheets"]]
    assert "process" not in kinds and "conversions" not in kinds and "log" in kinds
    more = binder_document(demo, ["stove"], {}, "", ("processes", "conversions"))["sheets"]
    assert {"process", "conversions"} <= {s["kind"] for s in more}
    taken = {"stove/stock/process": 30}  # one that was printed stays in the binder
    again = binder_document(demo, ["stove"], taken, "")["sheets"]
    assert "process" in {s["kind"] for s in again}


# ---- cautions


def test_a_notice_never_is_of_illness_or_injury(demo: Manual) -> None:
    """ANSI Z535.6: NOTICE is for what hurts nobody."""
    hurts = re.compile(
        r"germ|ill(?:ness)?\b|sick|burn|cut|hurt|toxin|botul|virus|parasite|salmonella|allerg|"
        r"raw|undercooked|bare hand|lid|warm|deep|kill|child",
        re.IGNORECASE,
    )
    notices = [c for c in demo.house.library.cautions.values() if c.severity == "notice"]
    assert notices
    for caution in notices:
        assert not hurts.search(f"{caution.name} {caution.words}"), caution.name


def test_at_most_two_whole_boxes_a_step_and_each_danger_at_its_own(demo: Manual) -> None:
    for ident, sheet in demo.sheets.items():
        found = placed(sheet)
        for number, boxes in found.boxes.items():
            dangers = sum(n.severity == "danger" for n in boxes)
            assert len(boxes) <= max(MOST_WHOLE, dangers), (ident, number)
        assert not any(n.severity == "danger" for n, _ in found.before), ident
        for number, notices in sheet.notices.by_step.items():
            whole = {n.id for n in notices if n.whole and n.severity == "danger"}
            assert whole <= {n.id for n in found.boxes[number]}, (ident, number)


def test_a_danger_stays_at_its_step_however_many_come_with_it(demo: Manual) -> None:
    sheet = demo.sheets["turkey-chive-roll"]
    first = sheet.notices.by_step[1]
    many = tuple(
        replace(first[0], id=f"danger-{n}", severity="danger", whole=True) for n in range(3)
    )
    notices = replace(sheet.notices, by_step={**sheet.notices.by_step, 1: (*many, *first)})
    found = placed(replace(sheet, raised=SimpleNamespace(notices=notices)))
    assert [n.id for n in found.boxes[1]] == [n.id for n in many]


def test_the_danger_of_a_cure_is_over_its_row_with_two_initials(demo: Manual) -> None:
    for ident in ("weir-sausage", "millrace-shoulder"):
        (made,) = batch_sheets(demo, demo.sheets[ident])
        rows = [r for b in made["blocks"] if b["form"] == "weigh" for r in b["rows"]]
        (at,) = [n for n, r in enumerate(rows) if r["row"] == "danger"]
        assert rows[at]["boxes"] == ["First initials", "Second initials"]
        assert "Curing salt" in rows[at + 1]["name"]
        assert rows[at + 1]["cells"][0]["tolerance"] == ""  # to the figure: never more, and no less


# ---- weights


def test_a_tolerance_of_nothing_is_not_printed(demo: Manual) -> None:
    """A scale that leaves less than a division has its line weighed to the figure, which says so without a ±."""
    printed = 0
    for sheet in demo.sheets.values():
        for made in batch_sheets(demo, sheet):
            lists = [b for b in made["blocks"] if b["form"] == "weigh"]
            for cell in (c for b in lists for r in b["rows"] for c in r.get("cells", ())):
                assert not cell["tolerance"] or re.search("[1-9]", cell["tolerance"]), sheet.ident
                printed += bool(cell["tolerance"])
    assert printed > 50


def test_sizes_are_side_by_side_where_each_line_is_weighed_once(demo: Manual) -> None:
    several = 0
    for ident, sheet in demo.sheets.items():
        sizes = side_by_side(sheet.batches)
        assert sizes[0] == sheet.batches[0]
        assert len({b.factor for b in sizes}) == len(sizes) <= 3
        if len(sizes) > 1:
            assert all(line.loads == 1 for b in sizes for line in b.lines), ident
            several += 1
        (made,) = batch_sheets(demo, sheet)
        left_out = {b.label for b in sheet.batches if b.factor not in {s.factor for s in sizes}}
        for label in left_out:
            assert label in made["strip"]["right"], (ident, label)
    assert several > 20


def test_a_reading_within_its_tolerance_is_within_what_is_permitted() -> None:
    """What the scale can be off comes on top: |reading − wanted| + uncertainty ≤ permitted."""
    scales = tuple(
        ScaleFacts(f"s{n}", f"s{n}", Fraction(d), Fraction(d), Fraction(c), Fraction(0), True)
        for n, (d, c) in enumerate((("0.01", 200), ("0.1", 2000), ("1", 6000), ("5", 30000)))
    )
    for grams in map(Fraction, ("7.5", "39.1", "138", "1426", "3192", "9580", "26000")):
        for permitted in (Fraction(1, 100), Fraction(1, 200)):
            found = choose(grams, permitted, scales)
            assert found.scale is not None
            off = found.tolerance
            assert off % found.scale.division == 0
            assert off == 0 or off + found.scale.uncertainty(found.count) <= (
                permitted * found.grams
            )
    assert choose(Fraction(3192), Fraction(1, 100), scales[2:3]).tolerance == 30  # 31.92 − 1.5


def test_consecutive_rows_on_one_scale_have_one_heading(demo: Manual) -> None:
    (made,) = batch_sheets(demo, demo.sheets["turkey-chive-roll"])
    rows = next(b for b in made["blocks"] if b["form"] == "weigh")["rows"]
    assert [r["scale"] for r in rows if r["row"] == "group"] == [
        "Bench scale, reads 1\xa0g",
        "Fine scale, reads 0.1\xa0g",
    ]
    assert [r["part"] for r in rows if r["row"] == "line"][:2] == ["Mince", "Dice"]


# ---- words


def test_steps_are_sentences_with_their_object_named(demo: Manual) -> None:
    said_of = {ident: sentences_of(sheet) for ident, sheet in demo.sheets.items()}
    roll = said_of["turkey-chive-roll"]
    assert roll[1].startswith("Grind the mince with the grinder")
    assert roll[2] == "Pool the eggs"
    assert roll[3].startswith("Mix the ground mince with the eggs, dice, cream and seasoning")
    assert roll[6] == "Poach the rolls in the poaching kettle"
    assert roll[9] == "Pack the slices"
    assert said_of["sausage-plate"][2].startswith("Hold the fat and sausages with the gravy hot")
    for ident, steps in said_of.items():
        for number, words in steps.items():
            parts = [w for w in re.findall(r"[\w’-]+", words.casefold())]
            again = [a for a, b in pairwise(parts) if a == b]
            assert not again, (ident, number, words)
            assert "…" not in words and "the the" not in words
            assert "clean" in words.casefold() or " the " in words, (ident, number, words)


def test_words_that_read_wrong_are_gone(pages: list[Page]) -> None:
    for page in pages:
        low = page.text.casefold()
        for words in ("eggs eggs", "cut cut", "never more never more", "the reheating limit"):
            assert words not in low, (page.ident, words)
        assert not re.search(r"never more than [\d.]+ ppm never more", low), page.ident


# ---- on request


def test_a_size_of_its_own_has_its_weights(demo: Manual) -> None:
    sheet = demo.sheets["turkey-chive-roll"]
    batch = next(b for b in sheet.batches if b.label == "24\xa0rolls")
    made = sheet_of_size(demo, sheet, batch)
    assert made["key"] == "cold-kitchen/turkey-chive-roll/batch/24-rolls"
    assert made["control"]["id"] == "turkey-chive-roll, batch sheet, 24 rolls"
    assert made["number"] == "" and "24\xa0rolls" in made["subtitle"]


def test_a_dated_sheet_has_its_dates_worked_out_and_is_its_own_record(demo: Manual) -> None:
    sheet = demo.sheets["turkey-chive-roll"]
    start = datetime.time(22, 30)
    dated = Dated("261130-2", "30 Nov 2026", start, "Fri 4 Dec 2026", (("cream", "29 Nov 2026"),))
    made = sheet_of_size(demo, sheet, sheet.batches[0], dated)
    known = {f["label"]: f["value"] for f in made["fields"][0]["fields"]}
    assert known["Batch no."] == "261130-2" and known["Date"] == "30 Nov 2026"
    cool = next(b for b in made["blocks"] if b.get("shape") == "stages")
    values = [f["value"] for s in cool["stages"] for f in s["fields"] if "value" in f]
    assert [v for v in values if v] == ["22:30", "00:30 +1 d", "04:30 +1 d"]  # 2 h and 6 h
    assert "Cross these times out" in cool["note"]
    for box in made["blocks"]:
        if box["form"] == "limit" and box["number"] == "6":
            assert box["blanks"] and "Write it here." in plain_words(box["write"])
    rows = [r for b in made["blocks"] if b["form"] == "steps" for r in b["rows"]]
    label = next(r for r in rows if r["boxes"][:1] == ["Use by"])
    assert "Use by: Fri 4 Dec 2026. cream: day 1 is 29 Nov 2026." in plain_words(label["words"])


def run(tmp_path: Path, *words: str) -> Any:
    out = ["--project", str(ROOT), "--as-of", str(AS_OF), "--out", str(tmp_path / "x.pdf")]
    return CliRunner().invoke(cli, ["binder", *words, *out])


def test_the_command_prints_a_formula_alone(tmp_path: Path) -> None:
    ran = run(
        tmp_path, "turkey-chive-roll", "--fills", "10", "--made", str(AS_OF), "--start", "14:10"
    )
    assert ran.exit_code == 0, ran.output
    with pypdfium2.PdfDocument(tmp_path / "x.pdf") as opened:
        text = " ".join(p.get_textpage().get_text_range() for p in opened).replace("\xa0", " ")
    assert "10 rolls" in text and "16:10" in text and "20:10" in text
    assert f"{AS_OF:%y%m%d}-1" in text


def test_the_command_prints_copies_and_single_sheets(tmp_path: Path) -> None:
    assert (
        "4 sheets"
        in run(tmp_path, "counter", "--sheet", "2", "--sheet", "3", "--copies", "2").output
    )


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("counter", "weir-sausage"), "counter is a station, weir-sausage a formula"),
        (("counter", "--fills", "3"), "Name the formula"),
        (("weir-sausage", "race-sausage", "--total", "5kg"), "Name one"),
        (("weir-sausage", "--start", "14:10"), "--made YYYY-MM-DD"),
        (("weir-sausage", "--made", "2026-11-25", "--start", "2 pm"), "no time of day"),
        (("weir-sausage", "--register"), "whole binders"),
        (("counter", "--sheet", "99"), "no sheet 99"),
        (("--sheet", "2"), "Name one station"),
        (("weir-sausag",), "Did you mean weir-sausage?"),
    ],
)
def test_what_does_not_go_together_is_refused(
    tmp_path: Path, words: tuple[str, ...], found: str
) -> None:
    ran = run(tmp_path, *words)
    assert ran.exit_code == 2 and found in ran.output, ran.output
    assert not (tmp_path / "x.pdf").exists()

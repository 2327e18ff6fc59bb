"""Labels on the PDF itself: each within its cell, the date of the mark, a code a phone reads."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pdfplumber
import pypdf
import pypdfium2
import pytest
import zxingcpp
from click.testing import CliRunner
from commands import run
from conftest import AS_OF, compute, demo_alone, edit

from generator.binder.drawing import render
from generator.binder.labels import day_words, label_document, label_record
from generator.cli import cli
from generator.files.finding import Refused
from generator.records.kitchen import LabelSheet
from generator.sheet.labelling import Asked, DateMark, Frozen, NoDate, PartDay, date_mark
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view
from generator.views.store_view import store_view

SITE = "https://manual.example.org/"
MM = 72 / 25.4
PLAIN = "across=3 down=7 width=63mm height=39mm left=10.5mm top=12mm"


def sheet_of_labels(manual: Manual, **other: str) -> LabelSheet:
    """Three by seven on A4, some of it changed."""
    assert manual.house is not None
    tree = dict(pair.split("=") for pair in PLAIN.split()) | other
    return LabelSheet.model_validate(tree, context={"units": manual.house.units})


def drawn(
    manual: Manual, formula: str, asked: Asked, packs: int, geometry: LabelSheet, start: int = 1
) -> tuple[bytes, DateMark]:
    sheet = manual.sheets[formula]
    mark = date_mark(sheet, asked, AS_OF)
    document = label_document(manual, sheet, mark, "261125-1", packs, geometry, start, SITE)
    return render(document, geometry.paper, "labels.typ"), mark


@pytest.fixture(scope="module")
def twenty(demo: Manual, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, DateMark]:
    """Twenty packs of turkey roll and the record copy: one full sheet."""
    pdf, mark = drawn(demo, "turkey-chive-roll", Asked(AS_OF), 20, sheet_of_labels(demo))
    path = tmp_path_factory.mktemp("labels") / "labels.pdf"
    path.write_bytes(pdf)
    return path, mark


@pytest.fixture(scope="module")
def page(twenty: tuple[Path, DateMark]) -> Iterator[Any]:
    """The sheet taken apart, which is slow, once."""
    with pdfplumber.open(twenty[0]) as pdf:
        assert len(pdf.pages) == 1
        yield pdf.pages[0]


def cells(geometry: LabelSheet) -> list[tuple[float, float, float, float]]:
    """Every cell's left, top, right and bottom in points, worked out here from the sheet's mm."""
    width, height = float(geometry.width.value), float(geometry.height.value)
    gap = float(geometry.gap.value) if geometry.gap else 0.0
    rows = float(geometry.row_gap.value) if geometry.row_gap else 0.0
    found = []
    for row in range(geometry.down):
        for column in range(geometry.across):
            x = float(geometry.left.value) + column * (width + gap)
            y = float(geometry.top.value) + row * (height + rows)
            found.append((x * MM, y * MM, (x + width) * MM, (y + height) * MM))
    return found


def ink(page: Any) -> list[dict[str, Any]]:
    return [*page.chars, *page.rects, *page.lines, *page.curves, *page.images]


def words_in(page: Any, cell: tuple[float, float, float, float]) -> str:
    return str(page.crop(cell).extract_text()).replace("\u00a0", " ")


def test_every_label_lies_in_its_cell(page: Any, demo: Manual) -> None:
    """Nothing is printed outside the 21 cells, and no mark belongs to two of them."""
    found = cells(sheet_of_labels(demo))
    assert (round(page.width / MM, 1), round(page.height / MM, 1)) == (210.0, 297.0)
    for mark in ink(page):
        inside = [
            c
            for c in found
            if c[0] <= mark["x0"]
            and c[1] <= mark["top"]
            and mark["x1"] <= c[2]
            and mark["bottom"] <= c[3]
        ]
        assert len(inside) == 1, mark
    texts = [words_in(page, cell) for cell in found]
    assert [f"Pack {n} of 20" in t for n, t in enumerate(texts, 1)] == [True] * 20 + [False]
    assert "Record copy" in texts[20] and "Record copy" not in "".join(texts[:20])


def test_a_label_says_what_the_record_says(
    twenty: tuple[Path, DateMark], page: Any, demo: Manual
) -> None:
    _, mark = twenty
    assert mark.use_by is not None
    sheet = demo.sheets["turkey-chive-roll"]
    text = " ".join(words_in(page, cells(sheet_of_labels(demo))[3]).split())
    large = {c["text"] for c in page.chars if round(c["size"]) == 20}
    least = min(c["size"] for c in page.chars)
    assert sheet.name in text
    use_by, made = (day_words(d).replace("\u00a0", " ") for d in (mark.use_by, AS_OF))
    assert f"Use by {use_by}" in text and str(mark.use_by.year) in text
    assert f"Made {made}, day 1." in text
    for allergen in sheet.allergens:
        assert str(allergen) in text
    cold = next(lm for lm in sheet.walk.store if lm.hazard == "cold_hold")
    assert f"Keep at {cold.read} °C or colder." in text
    assert "Lot 261125-1" in text
    assert {c.replace("\u00a0", " ") for c in large} == set(use_by), "the date alone is largest"
    assert round(least) == 9, "and nothing is smaller than what is read in the hand"


def test_day_words_have_no_second_meaning() -> None:
    """11 October 2026 is a Sunday (ISO 8601 calendar, checked with a calendar)."""
    assert day_words(datetime.date(2026, 10, 11)) == "Sun\u00a011\u00a0Oct"
    assert day_words(datetime.date(2026, 3, 2)) == "Mon\u00a02\u00a0Mar"


def test_the_code_leads_to_the_formula_with_its_lot(
    twenty: tuple[Path, DateMark], demo: Manual
) -> None:
    """Decoded from a raster of 200 dpi, all 21 of them."""
    page = pypdfium2.PdfDocument(twenty[0])[0]
    found = zxingcpp.read_barcodes(page.render(scale=200 / 72).to_pil())
    assert [c.text for c in found] == [f"{SITE}cold-kitchen/turkey-chive-roll/?l=261125-1"] * 21
    width = float(sheet_of_labels(demo).width.value)
    for code in found:
        left, right = code.position.top_left.x, code.position.top_right.x
        modules = 33 if len(code.text.encode()) <= 62 else 37
        assert (right - left) / 200 * 25.4 / modules >= 0.39, "a module of 0.4 mm"
        assert (right - left) / 200 * 25.4 < width / 2


def test_the_pdf_carries_its_font_and_its_words(twenty: tuple[Path, DateMark]) -> None:
    reader = pypdf.PdfReader(twenty[0])
    fonts = reader.pages[0]["/Resources"]["/Font"]  # type: ignore[index]
    for font in fonts.values():
        described = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile3", "/FontFile2"} & set(described.get_object())
    assert reader.metadata is not None and "lot 261125-1" in str(reader.metadata.title)
    assert "°C" in reader.pages[0].extract_text()


def test_a_used_sheet_goes_on_where_it_ended(demo: Manual, tmp_path: Path) -> None:
    """Three packs and the record copy from position 20: two on this sheet, two on the next."""
    geometry = sheet_of_labels(demo)
    pdf, _ = drawn(demo, "turkey-chive-roll", Asked(AS_OF), 3, geometry, start=20)
    (tmp_path / "x.pdf").write_bytes(pdf)
    with pdfplumber.open(tmp_path / "x.pdf") as found:
        texts = [[words_in(page, c) for c in cells(geometry)] for page in found.pages]
    assert [i + 1 for i, t in enumerate(texts[0]) if t] == [20, 21]
    assert [i + 1 for i, t in enumerate(texts[1]) if t] == [1, 2]
    assert "Pack 1 of 3" in texts[0][19] and "Record copy" in texts[1][1]


@pytest.mark.parametrize(
    "other",
    [
        {
            "paper": "letter",
            "across": "2",
            "down": "5",
            "width": "101.6 mm",
            "height": "50.8 mm",
            "left": "4 mm",
            "top": "12.7 mm",
            "gap": "4.7 mm",
        },
        {
            "across": "2",
            "down": "4",
            "width": "99 mm",
            "height": "67.7 mm",
            "left": "4.65 mm",
            "top": "13 mm",
            "gap": "2.5 mm",
            "row_gap": "1 mm",
        },
    ],
)
def test_other_sheets_of_labels(demo: Manual, tmp_path: Path, other: dict[str, str]) -> None:
    geometry = sheet_of_labels(demo, **other)
    assert geometry.faults() == ()
    soup = Asked(AS_OF, {"brown-turkey-stock": PartDay(AS_OF)})
    pdf, _ = drawn(demo, "barley-soup", soup, geometry.count - 1, geometry)
    (tmp_path / "x.pdf").write_bytes(pdf)
    found = cells(geometry)
    with pdfplumber.open(tmp_path / "x.pdf") as document:
        page = document.pages[0]
        assert round(page.width / MM, 1) == float(geometry.size()[0])
        for mark in ink(page):
            assert any(
                c[0] <= mark["x0"]
                and c[1] <= mark["top"]
                and mark["x1"] <= c[2]
                and mark["bottom"] <= c[3]
                for c in found
            )
        assert all("Chicken and barley soup" in words_in(page, c) for c in found)


def test_frozen_and_thawed(demo: Manual, tmp_path: Path) -> None:
    """Into the freezer: no use-by, but what is left; out of it: a use-by with both days."""
    geometry = sheet_of_labels(demo)
    day = AS_OF - datetime.timedelta(days=30)
    stock = {"brown-turkey-stock": PartDay(day)}
    pdf, mark = drawn(demo, "barley-soup", Asked(day, stock, frozen=Frozen(day)), 1, geometry)
    (tmp_path / "in.pdf").write_bytes(pdf)
    with pdfplumber.open(tmp_path / "in.pdf") as document:
        text = " ".join(words_in(document.pages[0], cells(geometry)[0]).split())
    assert mark.use_by is None and "Use by" not in text
    assert "Once thawed, use within 2 days" in text and "thaw day counts" in text
    assert "day 1 of 3." in text and "Keep frozen. Thaw by Fri 25 Dec 2026." in text
    pdf, mark = drawn(
        demo, "barley-soup", Asked(day, stock, frozen=Frozen(day, AS_OF)), 1, geometry
    )
    (tmp_path / "out.pdf").write_bytes(pdf)
    with pdfplumber.open(tmp_path / "out.pdf") as document:
        text = " ".join(words_in(document.pages[0], cells(geometry)[0]).split())
    assert mark.use_by == AS_OF + datetime.timedelta(days=1)
    assert "Use by Thu 26 Nov 2026" in text
    assert "Frozen 26 Oct, thawed 25 Nov." in text and "Keep at 4 °C or colder." in text


@pytest.mark.usefixtures("made_anew")
def test_the_same_labels_are_the_same_bytes(demo: Manual) -> None:
    one, other = (
        drawn(demo, "turkey-chive-roll", Asked(AS_OF), 2, sheet_of_labels(demo))[0]
        for _ in range(2)
    )
    assert one == other


# ---- the command


def labels(out: Path, *words: str) -> tuple[int, str, str]:
    common = ["--project", str(demo_alone()), "--as-of", AS_OF.isoformat(), "--out", str(out)]
    done = CliRunner().invoke(cli, ["labels", *words, *common])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.stdout, done.stderr.replace("\u00a0", " ")


def test_the_command(tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    code, reported, said = labels(out, "turkey-chive-roll", "--made", "2026-11-25", "--packs", "2")
    assert (code, out.read_bytes()[:5]) == (0, b"%PDF-"), said
    assert reported.startswith(
        "Turkey roll with chives and mustard: use by Sun 29 Nov 2026. 2 labels and a record copy"
    )


@pytest.mark.parametrize(
    ("words", "reported"),
    [
        (["barley-soup", "--made", "2026-11-25"], "Brown turkey stock: on which day was it made?"),
        (
            ["barley-soup", "--made", "2026-11-25", "--opened", "2026-11-25"],
            "Brown turkey stock: on which day",
        ),
        (["turkey-chive-roll", "--made", "2026-11-26"], "26 Nov 2026, is in the future"),
        (["turkey-chive-roll", "--made", "11/25/2026"], "Write: 2026-11-25"),
        (
            ["turkey-chive-roll", "--made", "2026-11-25", "--thawed", "2026-11-25"],
            "on which day was it frozen?",
        ),
        (
            ["turkey-chive-roll", "--made", "2026-11-25", "--parts-dated", "cream"],
            "write a part and its day",
        ),
        (["turkey-chive-roll", "--made", "2026-11-25", "--lot", "a b"], "can't be a lot"),
        (["turkey-chive-roll", "--made", "2026-11-25", "--start", "22"], "There is no position 22"),
        (
            ["turkey-chive-roll", "--made", "2026-11-25", "--geometry", "across=3"],
            "`down` is missing",
        ),
        (
            ["turkey-chive-roll", "--made", "2026-11-25", "--geometry", "three by seven"],
            "write KEY=VALUE",
        ),
        (
            [
                "turkey-chive-roll",
                "--made",
                "2026-11-25",
                "--geometry",
                PLAIN.replace("across=3", "across=4"),
            ],
            "4 labels end at 262.5 mm. The paper is 210 mm wide",
        ),
        (
            [
                "turkey-chive-roll",
                "--made",
                "2026-11-25",
                "--geometry",
                PLAIN.replace("down=7", "down=8"),
            ],
            "The paper is 297 mm high",
        ),
        (
            [
                "turkey-chive-roll",
                "--made",
                "2026-11-25",
                "--geometry",
                PLAIN.replace("39", "20"),
            ],
            "A label needs 25 mm",
        ),
        (
            [
                "turkey-chive-roll",
                "--made",
                "2026-11-25",
                "--geometry",
                PLAIN.replace("39", "26"),
            ],
            "its words don't fit on this label",
        ),
        (["roast-chicken", "--made", "2026-11-25"], "Nothing of it is kept"),
        (["turkey-rol", "--made", "2026-11-25"], "Did you mean turkey-chive-roll?"),
    ],
    ids=lambda w: " ".join(w)[:50] if isinstance(w, list) else "",
)
def test_what_is_refused(tmp_path: Path, words: list[str], reported: str) -> None:
    """Status 2, the reason, no traceback, and no file."""
    out = tmp_path / "labels.pdf"
    code, _, said = labels(out, *words)
    assert (code, out.exists()) == (2, False), said
    assert reported in said and "Traceback" not in said


def test_every_unknown_part_is_asked_for_at_once(kitchen: Path, tmp_path: Path) -> None:
    (kitchen / "mkdocs.yml").write_text("site_name: K\n")
    done = run(
        kitchen,
        "labels",
        "rice-salad",
        "--made",
        "2026-11-25",
        "--out",
        str(tmp_path / "x.pdf"),
        "--geometry",
        PLAIN,
    )
    assert done.returncode == 2
    assert "--parts-dated cooked-rice=" in done.stderr and "--parts-dated cream=" in done.stderr
    done = run(
        kitchen,
        "labels",
        "rice-salad",
        "--made",
        "2026-11-25",
        "--out",
        str(tmp_path / "x.pdf"),
        "--geometry",
        PLAIN,
        "--opened",
        "2026-11-24",
    )
    assert done.returncode == 2, "no plant packed the rice: its opening says nothing"
    assert "Cooked rice: on which day was it prepared" in done.stderr
    assert "--parts-dated cream=" not in done.stderr
    done = run(
        kitchen,
        "labels",
        "rice-salad",
        "--made",
        "2026-11-25",
        "--out",
        str(tmp_path / "x.pdf"),
        "--geometry",
        PLAIN,
        "--opened",
        "2026-11-25",
        "--parts-dated",
        "cooked-rice=2026-11-20",
    )
    assert (
        done.returncode == 0
        and "use by Thu 26 Nov 2026, by Cooked rice of 20 Nov 2026" in done.stdout
    )
    assert "mkdocs.yml has no site_url" in done.stderr
    done = run(
        kitchen, "labels", "pork-bake", "--made", "2026-11-25", "--out", str(tmp_path / "y.pdf")
    )
    assert done.returncode == 0 and "laid out on plain paper, to be cut" in done.stderr
    with pdfplumber.open(tmp_path / "y.pdf") as found:  # the clean kitchen's cup is the US one
        assert [round(float(found.pages[0].width)), round(float(found.pages[0].height))] == [
            612,
            792,
        ]


def test_a_sheet_that_does_not_fit_is_a_finding(kitchen: Path) -> None:
    geometry = (
        "labels: {across: 3, down: 7, width: 63 mm, height: 39 mm, left: 10.5 mm, top: 40 mm}\n"
    )
    edit(kitchen, "kitchen.yaml", "cup: us\n", "cup: us\n" + geometry)
    manual = compute(kitchen)
    found = [f for f in manual.findings if f.code == "labels-off-paper"]
    assert [f.message for f in found] == ["7\u00a0labels end at 313 mm. The paper is 297 mm high."]
    assert manual.sheets, "it stops no formula"
    assert Fraction("40") + 7 * Fraction("39") == Fraction("313")


def test_a_pack_to_be_opened_in_two_days_says_so(kitchen: Path, tmp_path: Path) -> None:
    """Food Code 3-502.12(F): labelled with the time it is packed, and opened within 48 hours."""
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n  - do: vacuum-pack\n"
        "  - do: store\n    in: cold-room\n",
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "process: toss\n",
        "process: toss\nwithout_air: {criterion: within-48-hours, record: Pack log}\n",
    )
    manual = compute(kitchen)
    assert manual.errors == ()
    sheet = manual.sheets["rice-salad"]
    views = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    keep = store_view(sheet, views).keep.replace("\u00a0", " ")
    assert "Write when you pack it. Open the pack within 48 h of that." in keep


SOUP = {"brown-turkey-stock": PartDay(AS_OF)}


def type_sizes(pdf: bytes, tmp_path: Path, geometry: LabelSheet) -> tuple[list[float], str]:
    """The sizes of type on the first label, the smallest first, and its words."""
    (tmp_path / "label.pdf").write_bytes(pdf)
    with pdfplumber.open(tmp_path / "label.pdf") as document:
        cell = document.pages[0].crop(cells(geometry)[0])
        return sorted({round(c["size"], 1) for c in cell.chars}), words_in(
            document.pages[0], cells(geometry)[0]
        )


def test_words_shrink_in_a_fixed_order_before_a_label_is_refused(
    demo: Manual, tmp_path: Path
) -> None:
    """The name first, then the largest line, then all else, never below 7 pt; the words stay."""
    asked = Asked(AS_OF, SOUP, frozen=Frozen(AS_OF))
    seen: list[tuple[float, float]] = []
    full: list[str] = []
    for height in ("41 mm", "39 mm", "37 mm", "35 mm", "33 mm"):
        geometry = sheet_of_labels(demo, width="56 mm", height=height, down="6")
        try:
            pdf, _ = drawn(demo, "barley-soup", asked, 1, geometry)
        except Refused as refused:
            assert refused.code == "label-too-small"
            assert "in the smallest type" in refused.message and "mm of height" in refused.help
            continue
        sizes, words = type_sizes(pdf, tmp_path, geometry)
        said = sorted(w for w in words.split() if w != "·")
        full = full or said
        assert said == full
        assert sizes[0] >= 7
        seen.append((sizes[-1], sizes[0]))
    assert seen == sorted(seen, reverse=True) and len(set(seen)) > 1


def test_what_a_refusal_asks_for_is_enough(demo: Manual) -> None:
    asked = Asked(AS_OF, SOUP, frozen=Frozen(AS_OF))
    with pytest.raises(Refused) as refused:
        drawn(demo, "barley-soup", asked, 1, sheet_of_labels(demo, height="20 mm"))
    needed = re.search(r"needs (\d+) mm", refused.value.help)
    assert needed is not None
    drawn(demo, "barley-soup", asked, 1, sheet_of_labels(demo, height=f"{needed[1]} mm", down="5"))


def test_every_formula_that_freezes_fits_the_kitchens_own_labels(demo: Manual) -> None:
    geometry = demo.house.kitchen.labels
    assert geometry is not None
    day = AS_OF - datetime.timedelta(days=1)
    tried = 0
    for ident, sheet in demo.sheets.items():
        dates = sheet.walk.dates
        if dates is None or dates.frozen_days is None or dates.moved_days is not None:
            continue
        asked = Asked(day, {p.name: PartDay(day) for p in dates.dated_parts}, frozen=Frozen(day))
        try:
            mark = date_mark(sheet, asked, AS_OF)
        except NoDate:
            continue
        document = label_document(demo, sheet, mark, "261124-1", 1, geometry, 1, SITE)
        assert render(document, geometry.paper, "labels.typ")
        tried += 1
        assert ident
    assert tried >= 1


def test_no_date_is_broken_over_two_lines(demo: Manual) -> None:
    """Day, month and year are held together by spaces that don't break."""
    day = AS_OF - datetime.timedelta(days=30)
    stock = {"brown-turkey-stock": PartDay(day)}
    sheet = demo.sheets["barley-soup"]
    for asked in (Asked(day, stock, frozen=Frozen(day)), Asked(AS_OF, SOUP)):
        record = label_record(sheet, date_mark(sheet, asked, AS_OF), "1", "")
        said = [
            record["big"],
            *(
                w if isinstance(w, str) else "".join(p if isinstance(p, str) else p["b"] for p in w)
                for w in record["lines"]
            ),
        ]
        months = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
        text = " | ".join(said)
        assert re.search(rf"\d\u00a0(?:{months})", text)
        assert not re.search(rf"\d (?:{months})|(?:{months}) \d", text)


def test_a_pack_of_two_places_has_both_dates(demo: Manual) -> None:
    """Still in the colder place: its last day there, and a line for the day it is taken out; taken
    out: the day it was, and its use-by."""
    sheet = demo.sheets["chuck-in-bags"]
    made = AS_OF - datetime.timedelta(days=2)
    dates = sheet.walk.dates
    assert dates is not None and dates.moved_days == 7
    mark = date_mark(sheet, Asked(made, still_colder=True), AS_OF)
    assert mark.use_by == made + datetime.timedelta(days=mark.days - 1)
    record = label_record(sheet, mark, "1", "")
    assert record["head"] == "In the colder place until"
    assert "Taken out ____" in str(record["lines"]) and "7\u00a0days" in [
        w["b"] for w in record["lines"][1] if not isinstance(w, str)
    ]
    out = date_mark(sheet, Asked(made, moved=AS_OF), AS_OF)
    assert out.use_by == AS_OF + datetime.timedelta(days=6)
    record = label_record(sheet, out, "1", "")
    assert record["head"] == "Use by" and "Taken out " in str(record["lines"])
    for asked, code in (
        (Asked(made, moved=AS_OF, still_colder=True), "label-moved-needless"),
        (Asked(made, still_colder=True, frozen=Frozen(made)), "label-freezing"),
    ):
        with pytest.raises(NoDate) as unknown:
            date_mark(sheet, asked, AS_OF)
        assert code in [r.code for r in unknown.value.reasons]
    with pytest.raises(NoDate):
        date_mark(demo.sheets["turkey-chive-roll"], Asked(AS_OF, still_colder=True), AS_OF)

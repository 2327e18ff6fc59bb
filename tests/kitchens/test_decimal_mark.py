"""A kitchen that writes decimals with a comma: typed, shown and refused, and nothing leaks.

The sources of the figures are elsewhere; here one kitchen is written twice, and must be one.
"""

from __future__ import annotations

import functools
import html
import json
import re
import shutil
import threading
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest
from broken_kitchens import BASES, KITCHENS
from commands import run
from computed_once import keep, new_formula_pages
from conftest import AS_OF, BASE, ROOT, compute, edit, lay
from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st
from test_broken_kitchens import ELSEWHERE, MORE_THAN_THE_LINE, fixes
from test_shared_pages import well_made

from generator.answers.batch import batch_data
from generator.files.finding import Place, Refused, as_github
from generator.measures.amounts import read_amount
from generator.measures.marks import Mark, as_written, decimal_mark, refuse_point, written_with
from generator.measures.temperature import Temperature, read_difference, read_temperature
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.measures.words import as_scale_shows, fixed, plain
from generator.pages import PAGES, make_pages
from generator.pages.conversions import conversion_pages
from generator.pages.equipment import equipment_pages
from generator.pages.formula import formula_pages
from generator.pages.glossary import glossary_pages
from generator.pages.ingredient import ingredient_pages
from generator.pages.pack import pack_pages
from generator.pages.page import Page
from generator.pages.sources import source_pages
from generator.sheet.manual import Manual, make_manual

UNITS = load_units(ROOT / "shared")
POINTED = re.compile(r"[0-9]\.[0-9]")
# 3-401.11, 12VAC5-421-700, 424.21(c): a clause is a name, not a figure.
CLAUSE = re.compile(
    r"\b[0-9]-[0-9]{3}\.[0-9]+|\b424\.2[0-9]|\b1240\.61|\b180\.940|\bCFR [0-9]+\.[0-9]+|\b(?:Rules|Pa\. Code) [0-9]+\.[0-9]+"
    r"|\bRegulation [0-9]+-[0-9]+\.[0-9]+-[0-9]+"
    r"|\b(?:GNU Units|version|units) [0-9.]+"  # an edition
    r"|\b[Hh]andbook [0-9]+\.[0-9]"  # a paper's number
    r"|\b6\.3\.2\.2\b"  # a section of the handbook of statistics
)
IN_BRACKETS = re.compile(
    r"(?<=[\[{,:] "
    r")[^\[\]{},:\"]*[0-9]\.[0-9][^\[\]{},\"]*|(?<=\[)[^\[\]{},:\"]*[0-9]\.[0-9][^\[\]{},\"]*"
)
FIGURE = re.compile(r"(?<![0-9])(?<![0-9]-)([0-9]+)\.([0-9]+)")  # not the clause 3-501.14


def with_commas(project: Path) -> Path:
    """A kitchen's files written as one with a decimal comma writes them."""
    for path in sorted((project / "standards").rglob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        if (changed := _with_commas(text)) != text:
            path.write_text(changed, encoding="utf-8")
    kitchen = project / "standards" / "kitchen.yaml"
    text = kitchen.read_text(encoding="utf-8")
    kitchen.write_text(text.rstrip("\n") + "\ndecimal: comma\n", encoding="utf-8")
    return project


@functools.cache
def _with_commas(text: str) -> str:
    lines = []
    for line in text.split("\n"):
        if FIGURE.search(line):
            if "{" in line or "[" in line:
                line = IN_BRACKETS.sub(lambda m: f'"{m.group()}"', line)
            line = FIGURE.sub(r"\1,\2", line)
        lines.append(line)
    return "\n".join(lines)


@pytest.fixture
def commas(kitchen: Path) -> Path:
    """The clean kitchen with decimals in more places, written with commas."""
    edit(kitchen, "ingredients/all.yaml", "weighs: {each: 50 g}", "weighs: {each: 50.5 g}")
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 72.5 °C")
    edit(kitchen, "formulas/pork-bake.yaml", "fill_weight: 900 g", "fill_weight: 0.9 kg")
    edit(kitchen, "formulas/rice-salad.yaml", "[20 portions,", "[3.5 kg base, 20 portions,")
    edit(kitchen, "processes/baked.yaml", "at: 180 °C", "at: 180.5 °C\n    time: 1.5 h")
    edit(kitchen, "equipment/house.yaml", "depth: 60 mm", "depth: 6.05 cm")
    shutil.copy(BASE / "mkdocs.yml", kitchen)
    return with_commas(kitchen)


def texts(manual: Manual) -> dict[str, str]:
    """What a person reads on each page."""
    return texts_of(make_pages(manual))


def texts_of(pages: list[Page]) -> dict[str, str]:
    found: dict[str, str] = {}
    for page in pages:
        if page.uri == "reference/sources.md":
            continue  # titles and addresses: names all of them
        body = re.sub(r"(?s)\A---.*?---\n|<svg.*?</svg>", "", page.text)
        if page.uri.startswith("reference/rules-"):  # the copies' titles: names too
            body = re.sub(r"(?s)<details.*?</details>|<p>Source: .*?</p>", "", body)
        body = re.sub(
            r"</?[biu](?:\s[^>]*)?>|<span data-alt=[^>]*>", "", body
        )  # a figure's decimals are set apart
        found[page.uri] = html.unescape(re.sub(r"<[^>]*>", " ", body))
        for heading in page.headings:
            chips = "".join(chip.figure + chip.words for chip in heading.chips)
            found[page.uri] += heading.title + chips
    return found


def pointed(text: str) -> list[str]:
    """Figures with a decimal point in a text, clauses left out."""
    bare = re.sub(r"\d\.\d-log column", "", CLAUSE.sub("", text))  # a column's name in a clause
    return [bare[max(0, m.start() - 20) : m.end() + 20] for m in POINTED.finditer(bare)]


def test_no_page_of_a_comma_kitchen_shows_a_point(commas: Path) -> None:
    manual = compute(commas)
    assert manual.findings == ()
    pages = texts(manual)
    assert {"range/pork-bake.md", "control/limits.md", "range/index.md"} <= set(pages)
    assert {uri: found for uri, text in pages.items() if (found := pointed(text))} == {}
    bake = pages["range/pork-bake.md"]
    for shown in ("72,5 °C", "180,5 °C", "0,1 g", "±0,"):
        assert shown in bake.replace("\N{NO-BREAK SPACE}", " "), shown


def test_one_kitchen_written_twice_is_one(commas: Path, tmp_path: Path) -> None:
    """Numbers of the JSON are numbers and the same; texts differ by the mark alone."""
    other = tmp_path / "point"
    shutil.copytree(commas, other)
    for path in sorted((other / "standards").rglob("*.yaml")):
        text = path.read_text(encoding="utf-8").replace("decimal: comma", "decimal: point")
        path.write_text(re.sub(r"([0-9]),([0-9])", r"\1.\2", text), encoding="utf-8")
    comma, point = compute(commas), compute(other)
    assert comma.findings == point.findings == ()
    for ident, sheet in comma.sheets.items():
        for mine, theirs in zip(sheet.batches, point.sheets[ident].batches, strict=True):
            with written_with("comma"):
                first = json.dumps(batch_data(sheet, mine, comma.walks), ensure_ascii=False)
            second = json.dumps(
                batch_data(point.sheets[ident], theirs, point.walks), ensure_ascii=False
            )
            assert re.sub(r"(?<=[0-9]),(?=[0-9])", ".", first) == second
    strip = re.compile(r"(?<=[0-9])[.,](?=[0-9])")
    left, right = texts(comma), texts(point)
    assert {u: strip.sub("", t) for u, t in left.items()} == {
        u: strip.sub("", t) for u, t in right.items()
    }
    assert left != right


def test_the_demo_written_with_commas(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "standards", tmp_path / "standards")
    manual = compute(with_commas(tmp_path))
    assert manual.findings == ()
    assert {uri: found for uri, text in texts(manual).items() if (found := pointed(text))} == {}


WHOLLY_POINT = {
    "amount-doubtful",
    "compound-comma",
    "comma-in-braces",
    "comma-in-brackets",
    "register-damaged",
}
"""Cases about a comma where the mark is a point, and about a date with points."""
CASES = sorted(
    name
    for name in KITCHENS
    if name not in WHOLLY_POINT | {"kitchen-missing"} and not name.startswith("decimal-")
)


OF_THE_REFERENCE = (glossary_pages, pack_pages, source_pages)
"""Pages that say what the reference data says: one kitchen's are another's."""
OF_A_FOLDER = {
    ingredient_pages: "ingredients",
    equipment_pages: "equipment",
    conversion_pages: "ingredients",
}
"""Pages that say what the records of a folder say: drawn where one of them is edited."""
HEAD = re.compile(r"\S+: (?:error|warning|note): .* \[([a-z0-9-]+)\]")


DECIMAL = re.compile(r"[0-9],[0-9]")


def codes_of(case: str) -> list[str]:
    """The codes a case is reported with, in their order; ``test_broken_kitchens`` holds them."""
    return [m[1] for m in map(HEAD.fullmatch, KITCHENS[case].expected.splitlines()) if m]


FIRST = set({code: case for case in reversed(CASES) for code in codes_of(case)}.values())
"""Of each code the first case that has it."""


def words_of(case: str) -> str:
    """All that a case changes, its bases' edits with it, and all that is said of it."""
    laid = [KITCHENS[case]]
    while laid[-1].base is not None:
        laid.append(BASES[laid[-1].base])
    edits = [text for one in laid for edit in one.edits for text in edit.values()]
    return "\n".join([*map(str, edits), KITCHENS[case].expected or ""])


MARKED = [
    case
    for number, case in enumerate(CASES)
    if case in FIRST or re.search("[0-9][.,][0-9]", words_of(case)) or number % 10 == 0
]
"""Those with a figure that another mark writes otherwise, the first of each code, and every tenth.
Of the others nothing is typed or said that a mark changes; ``slow`` tries them too."""


def follows(case: str, project: Path, every: bool) -> None:
    """A broken kitchen, written with commas, is reported the same in its own mark, on its pages too,
    and its fixes fix: ``every`` one, or those that hold a decimal (no other can differ from the one
    that ``test_broken_kitchens`` tries). Its pages are drawn where a finding is the first of its code."""
    before = codes_of(case)
    project = with_commas(lay(case, project))
    after = compute(project)
    for found in after.findings:
        tried = every or any(map(DECIMAL.search, found.write))
        if tried and found.place.line and found.code not in ELSEWHERE:
            fixes(found, project, after, case in MORE_THAN_THE_LINE)
    assert [f.code for f in after.findings] == before
    for found in after.findings:
        assert pointed(f"{found.message} {found.help} {' '.join(found.write)}") == []
        assert pointed(as_github(found).partition("::")[2].partition("::")[2]) == []
    if not every and case not in FIRST:
        return
    pages = make_pages(after)
    well_made(pages)
    shown = {u: p for u, t in texts_of(pages).items() if (p := pointed(t))}
    assert {u: p for u, p in shown.items() if not u.startswith("control/")} == {}


def drawn_of(case: str) -> tuple[Callable[[Manual], list[Page]], ...]:
    """The kinds of pages that a case's edits can change; of the formulas those that are new."""
    laid = [KITCHENS[case]]
    while laid[-1].base is not None:
        laid.append(BASES[laid[-1].base])
    edited = {edit["file"].split("/")[0] for one in laid for edit in one.edits}
    return tuple(
        new_formula_pages if kind is formula_pages else kind
        for kind in PAGES
        if kind not in OF_THE_REFERENCE
        and OF_A_FOLDER.get(kind, "kitchen.yaml") in {*edited, "kitchen.yaml"}
    )


@pytest.mark.parametrize("case", MARKED)
def test_findings_follow_the_mark(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if CASES.index(case) % 10:
        keep(True)
        monkeypatch.setattr("generator.pages.PAGES", drawn_of(case))
    follows(case, tmp_path, every=False)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_findings_and_every_page_follow_the_mark(case: str, tmp_path: Path) -> None:
    follows(case, tmp_path, every=True)


@pytest.mark.parametrize("case", sorted({*KITCHENS} - {*CASES}))
def test_no_other_broken_kitchen_breaks_a_page(case: str, tmp_path: Path) -> None:
    well_made(make_pages(compute(lay(case, tmp_path / "kitchen"))))


@each_row(
    ("typed", "fixes"),
    [
        ("1.5 kg", ["1,5 kg"]),
        ("1.500 kg", ["1500 kg", "1,5 kg"]),
        ("0.500 kg", ["0,500 kg"]),
        (".5 l", ["0,5 l"]),
        ("1.000.000 g", ["1000000 g"]),
        ("1.000,5 g", ["1000,5 g"]),
        ("2 lb 6.5 oz", ["2 lb 6,5 oz"]),
        ("1.7 % of fill", ["1,7 % of fill"]),
    ],
)
def test_a_point_is_refused_with_its_fixes(typed: str, fixes: list[str]) -> None:
    with written_with("comma"):
        with pytest.raises(Refused) as caught:
            read_amount(typed, UNITS)
        assert caught.value.code == "decimal-mark"
        assert list(caught.value.write) == fixes
        for fix in fixes:
            read_amount(fix, UNITS)


@pytest.mark.parametrize(
    ("read", "typed", "fix"),
    [
        (read_temperature, "74.5 °C", "74,5 °C"),
        (read_temperature, "-18.5C", "-18,5C"),
        (read_difference, "±0.5 °C", "0,5 °C"),
        (read_time, "1.5 h", "1,5 h"),
    ],
)
def test_so_do_temperatures_and_times(read: object, typed: str, fix: str) -> None:
    assert callable(read)
    with written_with("comma"):
        with pytest.raises(Refused) as caught:
            read(typed)
        assert (caught.value.code, caught.value.write) == ("decimal-mark", (fix,))
        read(fix)


def test_a_comma_is_the_mark_without_doubt() -> None:
    with written_with("comma"):
        assert read_amount("1,500 kg", UNITS).value == 1500
        assert read_amount("0,125 %", UNITS).value == Fraction(1, 8)
        assert read_temperature("4,125 °C").celsius == Fraction("4.125")
        assert read_time("1,125 h").seconds == 4050
    with pytest.raises(Refused, match=r"1500 or 1\.5"):
        read_amount("1,500 kg", UNITS)
    with pytest.raises(Refused, match="not a temperature"):
        read_temperature("4,125 °C")
    with pytest.raises(Refused, match="not a time"):
        read_time("1,125 h")


def test_as_written_leaves_clauses_to_who_calls_it() -> None:
    with written_with("comma"):
        assert as_written("as in 1.5 kg or 1.7 %.") == "as in 1,5 kg or 1,7 %."
    assert as_written("1.5 kg") == "1.5 kg"


FIGURES = st.fractions(min_value=Fraction(1, 1000), max_value=9_999_990).map(
    lambda f: Fraction(round(f * 1000), 1000)
)


@given(FIGURES.filter(bool), st.sampled_from(["point", "comma"]))
def test_what_is_printed_reads_back(value: Fraction, mark: Mark) -> None:
    """Property: reading what we print gives the same figure, thin spaces and all.

    A point before three decimals is read, as none of them printed ends with a nought.
    """
    with written_with(mark):
        shown = plain(value)
        assert ("," in shown) == (mark == "comma" and value.denominator != 1)
        assert read_amount(f"{shown} g", UNITS).value == value
        assert read_amount(f"{shown}\N{NO-BREAK SPACE}%", UNITS).value == value
        shown = as_scale_shows(value + 1, Fraction(1, 10))
        assert read_amount(f"{shown} g", UNITS).value == Fraction(fixed_point(value + 1))


def fixed_point(value: Fraction) -> str:
    with written_with("point"):
        return fixed(value, 1, grouped=False)


@given(
    st.integers(-2000, 30000).map(lambda n: Fraction(n, 100)),
    st.sampled_from(["°C", "°F"]),
    st.sampled_from(["point", "comma"]),
)
def test_a_printed_temperature_reads_back(value: Fraction, unit: str, mark: Mark) -> None:
    with written_with(mark):
        temperature = Temperature.of(value, unit)  # type: ignore[arg-type]
        assert read_temperature(str(temperature)) == temperature


@pytest.mark.usefixtures("made_anew")
def test_a_point_kitchen_after_a_comma_kitchen(commas: Path, tmp_path: Path) -> None:
    """One process, one thread: nothing of the first stays."""
    plain_one = lay("base", tmp_path / "plain")
    alone = texts(compute(plain_one))
    both = texts(compute(commas))
    assert decimal_mark() == "point"
    assert texts(compute(plain_one)) == alone
    assert texts(compute(commas)) == both != alone


@pytest.mark.usefixtures("made_anew")
def test_two_threads_keep_their_marks(commas: Path, tmp_path: Path) -> None:
    plain_one = lay("base", tmp_path / "plain")
    expected = {p: texts(compute(p)) for p in (plain_one, commas)}
    wrong: list[Path] = []

    def build(project: Path) -> None:
        for _ in range(2):
            if texts(make_manual(project, AS_OF)) != expected[project]:
                wrong.append(project)

    threads = [threading.Thread(target=build, args=(p,)) for p in (plain_one, commas) * 2]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


def test_the_mark_is_put_back_after_a_fault() -> None:
    with pytest.raises(RuntimeError), written_with("comma"):
        raise RuntimeError
    assert decimal_mark() == "point"
    refuse_point("1.5 kg")


def test_the_command_line_follows_the_project(commas: Path) -> None:
    done = run(commas, "batch", "rice-salad", "--total", "4,5kg")
    assert done.returncode == 0, done.stderr
    assert "4,5 kg" in done.stdout and not pointed(done.stdout)
    done = run(commas, "batch", "rice-salad", "--total", "4.5kg")
    assert done.returncode == 2
    assert "Write: --total 4,5kg" in done.stderr
    done = run(
        commas, "batch", "rice-salad", "--on-hand", "cooked-rice=1,25 kg", "--format", "json"
    )
    assert json.loads(done.stdout)["base_g"] == 1250
    done = run(commas, "limits", "pork-bake", "--if", "bake: core 71,5 °C")
    assert done.returncode == 0 and not pointed(done.stdout), done.stdout
    assert "71,5 °C" in done.stdout
    done = run(commas, "convert", "--", "1,5", "oz", "g")
    assert done.stdout.startswith("42,5242846875 g\n") and not pointed(done.stdout)
    done = run(commas, "convert", "--format", "json", "--", "1,5", "kg", "g")
    assert json.loads(done.stdout)["value"] == 1500


def test_a_review_follows_the_project(commas: Path, tmp_path: Path) -> None:
    """Readings are a logger's data and keep their own mark; what is said of them is the
    kitchen's."""
    rows = [f"2026-11-25T10:{m:02}:00Z,core,{60 + m * 0.7:.1f}" for m in range(30)]
    log = tmp_path / "log.csv"
    log.write_text("time,probe,temp_c\n" + "\n".join(rows) + "\n", encoding="utf-8")
    done = run(commas, "review", str(log), "--formula", "pork-bake", "--step", "bake")
    assert done.returncode in (0, 1) and "Traceback" not in done.stderr
    assert "(z 7,5 °C)" in done.stdout, done.stdout + done.stderr
    assert pointed(done.stdout) == [], done.stdout


def test_a_skeleton_is_written_in_the_kitchens_mark(commas: Path) -> None:
    assert run(commas, "add", "formula", "Plum relish").returncode == 0
    text = (commas / "standards/formulas/plum-relish.yaml").read_text(encoding="utf-8")
    assert "salt: 1,6 %" in text and not POINTED.search(text)


def test_reference_data_keeps_its_point(commas: Path) -> None:
    """A project's own shared/ is read with points whatever its kitchen writes."""
    shutil.copytree(ROOT / "shared", commas / "shared")
    assert compute(commas).findings == ()


def test_a_fix_with_a_comma_is_quoted_in_brackets() -> None:
    line = 'x: {a: "1,5 kg", b: 2.5 kg}'
    place = Place("f", 1, line.index("2.5") + 1, line, 6)
    assert place.fixed("2,5 kg") == 'x: {a: "1,5 kg", b: "2,5 kg"}'
    assert Place("f", 1, 4, "x: 2.5 kg", 6).fixed("2,5 kg") == "x: 2,5 kg"


@pytest.mark.parametrize("figure", ["55,5 °C", "55.5 °C"])
def test_a_figure_in_the_words_of_a_step_is_held_to_no_mark(commas: Path, figure: str) -> None:
    """Words are free: a point in them is no refusal, and never a fault of the program's own."""
    bake = "  - do: bake\n"
    edit(commas, "processes/baked.yaml", bake, f"{bake}    how: Take it out at {figure}.\n")
    found = [f.message for f in compute(commas).findings if f.code == "words-say-more"]
    assert len(found) == 1 and figure in found[0]

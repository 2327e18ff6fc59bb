"""A second kitchen, written from the guide alone: another place, law, cup, decimal mark and list of
allergens than the demo's. Its arithmetic is done here again by hand, in fractions, from its YAML.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
from fractions import Fraction as F
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner
from commands import run
from conftest import AS_OF, TESTS, compute, edit
from each_row import each_row

from generator.cli import cli
from generator.measures.temperature import Temperature
from generator.pages import make_pages
from generator.rules.basics.limit import InWords, Limit
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, Sheet

KITCHEN = TESTS / "kitchens/second_kitchen"


@cache
def manual() -> Manual:
    return compute(KITCHEN)


def usual(formula: str) -> tuple[Sheet, Batch]:
    sheet = manual().sheets[formula]
    return sheet, sheet.batches[0]


def grams(formula: str, size: int = 0) -> dict[str, F]:
    return {ln.line.joined.item: ln.exact_g for ln in manual().sheets[formula].batches[size].lines}


def limit(formula: str, hazard: str) -> Limit:
    return next(lm for lm in manual().walks[formula].limits if lm.hazard == hazard)


def said(*arguments: str) -> str:
    done = CliRunner().invoke(
        cli, [*arguments[:1], "--project", str(KITCHEN), "--as-of", str(AS_OF), *arguments[1:]]
    )
    assert done.exit_code == 0, done.output
    return done.output.replace("\u00a0", " ")


def test_nothing_is_found_and_nothing_is_missing() -> None:
    found = manual()
    assert found.findings == ()
    standards = found.standards
    assert standards is not None
    assert len(found.sheets) == len(standards.formulas) == 11
    assert (len(standards.stations), len(standards.processes)) == (3, 11)
    assert len(standards.ingredients) >= 30 and len(standards.equipment) >= 12


def test_a_sauce_nested_twice_by_hand() -> None:
    """2 trays of 3.2 kg after 12.5 % is lost: 6.4 / 0.875 kg go in, in the formula's
    proportions."""
    caraway = (
        F(3, 2) * F("6.7") * 15 / F("14.78676478125")
    )  # SR28: 6.7 g a US tbsp; metric is 15 ml
    written = {
        "pork-collar": F(4500),
        "onion": F(1200),
        "red-pepper-sauce": F(4500) * F(30, 100),
        "water": F(600),
        "bay": 6 * F("0.2"),
        "salt": 4500 * F("0.014"),
        "caraway": caraway,
    }
    factor = 6400 / F("0.875") / sum(written.values())
    assert grams("harbour-stew") == {item: g * factor for item, g in written.items()}
    _, batch = usual("harbour-stew")
    assert (batch.yields.filled_g, batch.yields.fills, batch.yields.portions) == (6400, 2, 24)
    assert batch.yields.over_portions_g == 6400 - 24 * 260
    inside = {c.item for c in manual().walks["stew-plate"].end.components}
    assert {"red-pepper", "pork-collar", "soured-cream"} <= inside


def test_percent_of_flour_by_hand() -> None:
    """48 rolls of 85 g from a dough of 100 + 64.5 + 2.4 + 1.9 + 1.1 percent of the flour."""
    flour = 48 * 85 / F("1.699")
    assert grams("caraway-rolls") == {
        "wheat-flour": flour * F("0.625"),
        "rye-flour": flour * F("0.375"),
        "water": flour * F("0.645"),
        "yeast-fresh": flour * F("0.024"),
        "salt": flour * F("0.019"),
        "caraway": flour * F("0.011"),
    }
    assert usual("caraway-rolls")[1].yields.finished_g == 48 * 85 * F("0.885")


def test_household_measures_by_the_metric_cup() -> None:
    """A cup of 250 ml, a spoon of 15 or 5 ml: in the proportion written, whatever the batch."""
    dressing = grams("mustard-dressing")
    written = {
        "grain-mustard": 8 * F("16.5"),
        "honey": 6 * F("21.5"),
        "cider-vinegar": 300 * F("1.01"),
        "rapeseed-oil": 4 * 250 * F("0.92"),
        "salt": 3 * F("5.5"),
    }
    whole = sum(written.values())
    assert dressing == {item: 1600 * g / whole for item, g in written.items()}
    cups = grams("curd-cups")
    assert cups["curd"] / cups["egg"] == 6 * F("256.5") / (12 * F("52.5"))
    assert cups["milk"] / cups["sugar"] == 350 * F("1.03") / (F(5, 4) * F("212.5"))
    butter = grams("hake-on-leeks")["butter"] / grams("hake-on-leeks")["hake-fillet"]
    assert butter == 6 * F("14.2") * 15 / F("14.78676478125") / 1800
    assert said("convert", "--", "1 cup", "ml").startswith("250 ml")
    assert said("convert", "--", "2,5 tbsp", "ml").startswith("37,5 ml")


def test_a_whole_joint_in_slices_by_hand() -> None:
    """Two joints of 2.4 kg lose 21.5 %; of 270 mm, 8 mm go at each end, the rest in slices of 3
    mm."""
    _, batch = usual("roast-pork")
    left = 2 * 2400 * F("0.785")
    assert batch.yields.portions == 2 * 84  # (270 - 16) // 3
    assert batch.yields.yield_g == left * 84 * 3 / 270
    assert batch.yields.ends_g == left * (270 - 252) / 270
    bought = {ln.line.joined.item: ln.purchased_g for ln in batch.lines}
    assert bought["pork-loin-piece"] == grams("roast-pork")["pork-loin-piece"] / F("0.96")


def published(file: str) -> dict[str, dict[str, str]]:
    with (TESTS / "published" / file).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


UK = published("lethality_uk.csv")
EQUAL = {int(UK[i]["temp_C"]): int(UK[i]["time_seconds"]) for i in UK if re.fullmatch(r"UK-\d+", i)}
"""What counts as equal to 70 °C for 2 minutes in the core."""
HOLDING = published("cooling_other_places.csv")
HOT, COLD = (Temperature.of(int(HOLDING[i]["to_C"]), "°C") for i in ("UK-HOT", "UK-CHILL"))


@each_row(
    ("formula", "row", "seconds", "read"),
    [
        ("hake-on-leeks", 70, 120, 73),  # the chef's 72.5 °C, whole degrees up
        ("roast-pork", 70, 120, 71),
        ("prawn-rice", 75, 30, 76),
        ("curd-cups", 75, 30, 78),
        ("harbour-stew", 75, 30, 80),
    ],
)
def test_cooking_by_the_english_figures(formula: str, row: int, seconds: int, read: int) -> None:
    found = limit(formula, "cook")
    assert found.figure is not None
    assert found.figure.value == Temperature.of(row, "°C") and found.row_hold_s == seconds
    assert EQUAL[row] == seconds and len(EQUAL) == 5
    assert (found.read, found.source.standing) == (read, "guidance")


def test_holding_and_reheating_by_the_english_figures() -> None:
    """63 °C and 8 °C: SI 2013/2996, Schedule 4; 70 °C for 2 min or its equal again when
    reheated."""
    for formula in ("barley-broth", "stew-plate"):
        hot = limit(formula, "hot_hold")
        assert hot.figure is not None and hot.figure.value == HOT
        assert not [lm for lm in manual().walks[formula].limits if lm.hazard == "cold_hold"]
    again = limit("stew-plate", "reheat")
    assert again.figure is not None
    assert (again.figure.value, again.row_hold_s) == (Temperature.of(75, "°C"), 30)
    for formula in ("harbour-stew", "beet-salad", "roast-pork", "curd-cups", "red-pepper-sauce"):
        cold = limit(formula, "cold_hold")
        assert cold.figure is not None and cold.figure.value == COLD
        assert cold.read == 7  # 8 less 0.5 on the probe, whole degrees down
        assert isinstance(limit(formula, "cool"), InWords), "no law here sets a cooling figure"
    thaw = limit("prawn-rice", "thaw")
    assert thaw.figure is not None and thaw.figure.value == COLD


def test_what_is_served_hot_and_not_kept_has_no_cold_limit(tmp_path: Path) -> None:
    hazards = [lm.hazard for lm in manual().walks["hake-on-leeks"].limits]
    assert hazards == ["cook"]
    shutil.copytree(KITCHEN, tmp_path, dirs_exist_ok=True)
    edit(tmp_path, "processes/steam-to-order.yaml", "  - do: serve\n", "")
    hazards = [lm.hazard for lm in compute(tmp_path).walks["hake-on-leeks"].limits]
    assert hazards == ["cook", "cold_hold"], "not said to be served: the strictest"


FOURTEEN = {
    "gluten",
    "crustaceans",
    "eggs",
    "fish",
    "peanuts",
    "soybeans",
    "milk",
    "nuts",
    "celery",
    "mustard",
    "sesame",
    "sulphites",
    "lupin",
    "molluscs",
}
"""Regulation (EU) No 1169/2011, Annex II; `tests/published/test_allergen_lists.py` holds these
words to it."""


def test_allergens_are_of_the_fourteen() -> None:
    expected = {
        "stew-plate": {"sulphites", "milk"},
        "barley-broth": {"milk", "celery", "gluten"},
        "curd-cups": {"eggs", "milk", "gluten"},
        "prawn-rice": {"crustaceans", "sulphites"},
        "beet-salad": {"nuts", "mustard", "sulphites"},
        "hake-on-leeks": {"fish", "milk", "sulphites"},
        "caraway-rolls": {"gluten"},
    }
    found = {
        formula: {str(a).partition(" (")[0] for a in sheet.allergens}
        for formula, sheet in manual().sheets.items()
    }
    assert {f: found[f] for f in expected} == expected
    assert set().union(*found.values()) <= FOURTEEN


class _Texts(HTMLParser):
    """What a reader sees of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.hidden += tag in ("script", "style")

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self.hidden and data.strip():
            self.texts.append(data.strip())


@cache
def shown() -> dict[str, str]:
    """Every page of the kitchen by its address, as a reader sees it."""
    found: dict[str, str] = {}
    for page in make_pages(manual()):
        parser = _Texts()
        parser.feed(page.html)
        found[page.uri] = "\n".join(parser.texts)
    return found


_CITED = re.compile(
    r"(version |units )\d+\.\d+|\b\d-\d{3}\.\d+\S*|CFR \d+\.\d+|GNU Units \d\.\d+|https?://\S+"
)
"""Clauses and editions of what was read keep their own mark."""


def test_every_figure_has_a_comma() -> None:
    pages = {u: _CITED.sub("", t) for u, t in shown().items() if "glossary" not in u}
    pointed = [
        (u, m)
        for u, t in pages.items()
        for m in re.findall(r"\d+\.\d+[^\n]*", t)
        if not u.startswith(("reference/sources", "control/cautions"))
    ]
    assert len(pages) > 60 and pointed == []
    with_comma = sum(len(re.findall(r"\d,\d", t)) for t in pages.values())
    assert with_comma > 300
    answers = [
        said(command, formula) for command in ("batch", "limits") for formula in manual().sheets
    ]
    answers += [
        said("convert", "--of", "egg", "--", "1,5 dozen", "g"),
        said("convert", "--", "12,5 g", "oz"),
    ]
    for answer in answers:
        body = re.sub(r"Sch\. 4|para\. \d|\d+/\d+|Source:.*", "", answer)
        assert not re.search(r"\d\.\d", body), answer
    assert json.loads(said("batch", "harbour-stew", "--format", "json"))["factor"] == pytest.approx(
        0.9469, abs=1e-4
    )


_AMERICAN = re.compile(
    r"Food Code|FSIS|CFR|\bU\.?S\.?C\b|\d-\d{3}\.\d|Wisconsin|Minnesota|Delaware"
)
_PROVENANCE = ("control/cautions", "reference/sources", "reference/glossary")
"""Pages that say where words were read; they say what binds here beside it."""


def test_no_other_countrys_law_stands_on_it() -> None:
    law = "Food Safety and Hygiene (England) Regulations 2013"
    for uri, text in shown().items():
        if uri.startswith(_PROVENANCE):
            assert f"The law here is {law}." in text, uri
            continue
        reported = text.replace("classed by the texts named in the Food Code pack", "")
        assert not _AMERICAN.search(reported), (uri, _AMERICAN.search(reported))
    for formula in manual().sheets:
        assert not _AMERICAN.search(said("limits", formula))


@pytest.mark.parametrize(
    ("file", "old", "new", "code", "source"),
    [
        (
            "processes/reheat-and-hold.yaml",
            "do: reheat",
            "do: mix",
            "reheat-missing",
            "Food Standards Agency guidance",
        ),
        (
            "processes/steam-to-order.yaml",
            "core 72,5 °C for 2 min",
            "core 58 °C",
            "target-below-limit",
            "Food Standards Agency guidance",
        ),
        ("processes/stew-and-chill.yaml", "to 4 °C", "to 40 °C", "target-above-limit", ""),
        (
            "equipment/cold.yaml",
            "air: 3 °C",
            "air: 9 °C",
            "air-above-limit",
            "Food Safety and Hygiene (England)",
        ),
    ],
)
def test_a_finding_cites_the_text_of_its_own_row(
    tmp_path: Path, file: str, old: str, new: str, code: str, source: str
) -> None:
    shutil.copytree(KITCHEN, tmp_path, dirs_exist_ok=True)
    edit(tmp_path, file, old, new)
    found = [f for f in compute(tmp_path).findings if f.code == code]
    assert found and all(f.source.startswith(source) for f in found)
    assert not any(_AMERICAN.search(f.source) for f in found)
    assert not any("°F" in line for f in found for line in f.write), "no probe here reads it"


@pytest.mark.parametrize(
    ("target", "passes"),
    [
        ("core 61 °C", False),
        ("core 66 °C", False),
        ("core 71 °C", True),
        ("core 66 °C for 10 min", True),
    ],
)
def test_a_hold_is_no_longer_than_its_step(tmp_path: Path, target: str, passes: bool) -> None:
    """The fish steams for 9 minutes: 60 °C asks for 45 and 65 °C for 10, unless the chef says
    so."""
    shutil.copytree(KITCHEN, tmp_path, dirs_exist_ok=True)
    edit(tmp_path, "processes/steam-to-order.yaml", "core 72,5 °C for 2 min", target)
    codes = [f.code for f in compute(tmp_path).findings]
    assert codes == ([] if passes else ["target-below-limit"])


def test_a_part_batch_says_what_is_over() -> None:
    """6.25 kg of collar less 8.5 % of trim is 5718.75 g of the 4500 g written."""
    answer = said("batch", "harbour-stew", "--on-hand", "pork-collar=6,25kg")
    assert "Pork collar, boneless runs out first." in answer
    sauce = F("5718.75") * F(30, 100)
    assert re.search(rf"Charred red pepper sauce +{round(sauce)} g", answer)
    assert "2 trays and 2,19 kg over" in answer


def test_it_builds(tmp_path: Path) -> None:
    shutil.copytree(KITCHEN, tmp_path / "kitchen")
    done = CliRunner().invoke(
        cli, ["build", "--strict", "--as-of", str(AS_OF), "--project", str(tmp_path / "kitchen")]
    )
    assert done.exit_code == 0, done.output
    site = tmp_path / "kitchen" / "site"
    page = (site / "hot-line" / "harbour-stew" / "index.html").read_text(encoding="utf-8")
    assert "Pork stew with red pepper sauce" in page and "59" in page
    assert (site / "about" / "index.html").is_file()


def test_a_fine_scale_keeps_its_own_accuracy() -> None:
    assert "±0,02\u00a0g" in shown()["kitchen/equipment.md"]


def test_a_time_of_hours_and_minutes_stands_on_the_packs_page() -> None:
    page = next(t for u, t in shown().items() if "90 minutes" in t and u.startswith("reference/"))
    assert re.search(r"1\s*h\s*30\s*min", page), "guidance: cool within 90 minutes"


def test_the_reason_for_a_caution_stands_on_the_page() -> None:
    assert "nothing else is kept there" in shown()["hot-line/prawn-rice.md"]


def test_labels_print_with_a_decimal_comma(tmp_path: Path) -> None:
    """On plain paper, whose measures are ours, and on a sheet measured with commas; and the form
    that is proposed can be typed as it is."""
    project = tmp_path / "kitchen"
    shutil.copytree(KITCHEN, project)
    asked = ("labels", "mustard-dressing", "--made", "2026-11-24", "--out", str(tmp_path / "l.pdf"))
    assert run(project, *asked).returncode == 0
    wrong = run(project, *asked, "--geometry", "across 3")
    assert wrong.returncode == 2
    proposed = wrong.stderr.partition("--geometry '")[2].partition("'")[0]
    assert "10,5mm" in proposed
    assert run(project, *asked, "--geometry", proposed).returncode == 0

"""What a formula may leave out because only one thing can be meant, and that it changes nothing."""

from __future__ import annotations

import datetime
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import compute, edit

from generator.answers.sheet import sheet_record
from generator.records.approval import approval_of
from generator.sheet.manual import Manual

SMALLEST = """name: Leek soup
station: range
parts:
  pot:
    leek: 2 kg
    cream: 400 g
    salt: 1 %
process: soup
keeps: {cold: 2 days}
batches: [4 kg yield]
"""
STATED = """name: Leek soup
revision: 3
effective: 2026-05-04
approved: R. Osei
station: range
base: [leek, cream]
parts:
  pot:
    leek: 2 kg
    cream: 400 g
    salt: 1 %
process: soup
keeps: {cold: 2 days}
batches: [4 kg yield]
"""
SOUP = """name: Soup
steps:
  - do: clean
  - do: simmer
    target: core 95 °C
  - do: chill
    in: blast
    target: to 3 °C
  - do: store
"""
STATED_SOUP = SOUP.replace("core 95 °C", "core 95 °C\n    add: [pot]").replace(
    "do: store", "do: store\n    in: cold-room"
)
APPROVAL = "approval: {formulas: {revision: 3, effective: 2026-05-04, approved: R. Osei}}\n"


@pytest.fixture
def soup(kitchen: Path) -> Path:
    """The clean kitchen with the smallest formula, approved with its folder."""
    standards = kitchen / "standards"
    (standards / "formulas" / "leek-soup.yaml").write_text(SMALLEST, encoding="utf-8")
    (standards / "processes" / "soup.yaml").write_text(SOUP, encoding="utf-8")
    for path, more in (
        (
            "ingredients/all.yaml",
            "leek: {name: Leek, species: none, state: raw, allergens: none}\n",
        ),
        ("kitchen.yaml", APPROVAL),
    ):
        whole = (standards / path).read_text(encoding="utf-8")
        (standards / path).write_text(whole + more, encoding="utf-8")
    return kitchen


OF_WHAT = """name: Leek soup
station: range
%sparts:
  pot:
    leek: 2 kg
    cream: 400 g
    salt: %s
  rest:
    white-pepper: 4 g
process: soup
keeps: {cold: 2 days}
batches: [4 kg yield]
"""


@pytest.mark.parametrize(
    ("salt", "grams"),
    [
        # 1 % of all is s = (2404 + s) / 100; the rest by hand
        ("1 % of the whole formula", Fraction(2404, 99)),
        ("1 % of leek", Fraction(20)),
        ("1 % of leek and cream", Fraction(24)),
        ("1 % of rest", Fraction(4, 100)),
    ],
)
def test_a_base_is_needless_where_each_percentage_says_of_what(
    soup: Path, salt: str, grams: Fraction
) -> None:
    """Two parts in weights, and no percentage of the base: what counts as 100 % is asked of
    nobody."""
    edit(soup, "processes/soup.yaml", "core 95 °C", "core 95 °C\n    add: [pot, rest]")
    path = soup / "standards/formulas/leek-soup.yaml"
    for base in ("", "base: [leek, cream, rest]\n"):
        path.write_text(OF_WHAT % (base, salt), encoding="utf-8")
        manual = compute(soup)
        assert isinstance(manual, Manual) and not manual.errors
        lines = {ln.joined.item: ln.grams for ln in manual.walks["leek-soup"].lines}
        assert lines["salt"] == grams


@pytest.mark.parametrize("salt", ["1 %", "1 % of base"])
def test_a_percentage_of_the_base_asks_for_it(soup: Path, salt: str) -> None:
    edit(soup, "processes/soup.yaml", "core 95 °C", "core 95 °C\n    add: [pot, rest]")
    path = soup / "standards/formulas/leek-soup.yaml"
    path.write_text(OF_WHAT % ("", salt), encoding="utf-8")
    assert "key-missing" in {f.code for f in compute(soup).errors}


ICE = """name: Ice cream
station: range
makes: {portion: 80 g}
parts:
  mix:
    cream: 2 kg
process: ice
keeps: {frozen: 30 days}
eaten_frozen: yes
batches: [20 portions]
"""
CHURNED = """name: Ice cream
steps:
  - do: pasteurise
    target: core 80–82 °C
  - do: chill
    in: blast
    target: to 3 °C
  - do: churn
    time: 15 to 20 min
  - do: freeze
    in: chest
  - do: store
    in: chest
"""


@pytest.fixture
def ice(soup: Path) -> Path:
    """The same kitchen with an ice cream and a freezer that is kept at a range."""
    standards = soup / "standards"
    (standards / "formulas" / "ice.yaml").write_text(ICE, encoding="utf-8")
    (standards / "processes" / "ice.yaml").write_text(CHURNED, encoding="utf-8")
    path = standards / "equipment" / "house.yaml"
    more = "chest: {kind: freezer, name: Chest, air: -20 to -18 °C}\n"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    return soup


def label_of(project: Path, *days: str) -> Any:
    out = project / "label.pdf"
    return run(project, "labels", "ice", "--made", "2026-11-24", *days, "--out", str(out))


def test_ice_cream_is_labelled_to_be_eaten_frozen(ice: Path) -> None:
    """30 days after 24 November are 24 December; thawed it isn't kept."""
    manual = compute(ice)
    assert manual.findings == ()
    undated = label_of(ice)
    assert undated.returncode != 0 and "on which day was it frozen" in undated.stderr
    made = label_of(ice, "--frozen", "2026-11-24")
    assert made.returncode == 0 and "eaten frozen, by Thu 24 Dec 2026" in made.stdout
    thawed = label_of(ice, "--frozen", "2026-11-24", "--thawed", "2026-11-25")
    assert thawed.returncode != 0 and "Thawed, it isn't kept" in thawed.stderr


def test_limits_say_what_eaten_frozen_lifts_and_what_it_does_not(ice: Path) -> None:
    text = run(ice, "limits", "ice").stdout.replace("\u202f", " ")
    assert "Eaten frozen. Within 30 days, the chef's figure. Thawed? Throw it away." in text
    assert "Doesn't apply: the use-by once it is thawed" in text
    assert "Still applies: every limit here: cooking, cooling" in text
    assert "Freeze by: day 7" in text and "Use by" not in text
    record = json.loads(run(ice, "limits", "ice", "--format", "json").stdout)
    frozen = record["eaten_frozen"]
    assert frozen["frozen_days"] == 30 and "thawed" in frozen["exempts"]
    assert {"cold_hold", "cool"} <= {limit["hazard"] for limit in record["limits"]}
    sheet = json.loads(run(ice, "batch", "ice", "--format", "json").stdout)
    assert "keeping frozen" in frozen["still_applies"] and sheet
    assert "eaten_frozen" not in json.loads(
        run(ice, "limits", "leek-soup", "--format", "json").stdout
    )


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("formulas/ice.yaml", "{frozen: 30 days}", "{cold: 3 days}"),
        ("formulas/ice.yaml", "{frozen: 30 days}", "{cold: 3 days, frozen: 30 days}"),
        ("formulas/ice.yaml", "keeps: {frozen: 30 days}\n", ""),
        ("processes/ice.yaml", "  - do: store\n    in: chest", "  - do: store\n    in: cold-room"),
        (
            "processes/ice.yaml",
            "  - do: freeze\n    in: chest\n  - do: store\n    in: chest\n",
            "  - do: store\n    in: cold-room\n",
        ),
    ],
)
def test_what_is_eaten_frozen_is_frozen_to_its_end(
    ice: Path, file: str, old: str, new: str
) -> None:
    edit(ice, file, old, new)
    assert "eaten-frozen-misfit" in {f.code for f in compute(ice).errors}


def data_of(manual: Manual) -> dict[str, object]:
    sheet = manual.sheets["leek-soup"]
    return sheet_record(sheet, sheet.batches, manual.walks)


def test_ten_lines_are_a_formula_without_a_finding(soup: Path) -> None:
    assert len(SMALLEST.splitlines()) == 10
    manual = compute(soup)
    assert manual.findings == () and manual.sheets["leek-soup"].status == "current"


def test_what_follows_is_the_same_as_stated(soup: Path) -> None:
    """Base, part, step, refrigerator and approval: the whole record is the same."""
    left_out = data_of(compute(soup))
    (soup / "standards/formulas/leek-soup.yaml").write_text(STATED, encoding="utf-8")
    (soup / "standards/processes/soup.yaml").write_text(STATED_SOUP, encoding="utf-8")
    assert data_of(compute(soup)) == left_out


def test_of_two_refrigerators_none_follows(soup: Path) -> None:
    path = soup / "standards/equipment/house.yaml"
    more = "drawer: {kind: refrigerator, name: Drawer, air: 3 °C}\n"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    stored = compute(soup).sheets["leek-soup"].formula.steps[-1]
    assert stored.cold is None
    edit(soup, "equipment/house.yaml", "name: Drawer,", "name: Drawer, station: pass,")
    stored = compute(soup).sheets["leek-soup"].formula.steps[-1]
    assert stored.cold is not None and stored.cold.name == "Cold room"


@pytest.mark.parametrize("keeps", ["{frozen: 60 days}", "{cold: 2 days, frozen: 60 days}"])
def test_no_freezer_follows(soup: Path, keeps: str) -> None:
    """A place that freezes is named: left out it would thaw or freeze unasked."""
    path = soup / "standards/equipment/house.yaml"
    more = "chest: {kind: freezer, name: Chest, air: -18 °C}\n"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    edit(soup, "formulas/leek-soup.yaml", "{cold: 2 days}", keeps)
    sheet = compute(soup).sheets.get("leek-soup")
    assert sheet is None or sheet.formula.steps[-1].cold is None


def test_a_warm_refrigerator_that_follows_is_found(soup: Path) -> None:
    """Left out it is asked for its temperature as if it were named."""
    edit(soup, "equipment/house.yaml", "name: Cold room, air: 3 °C", "name: Cold room, air: 9 °C")
    manual = compute(soup)
    assert "leek-soup" in manual.stopped
    assert {f.code for f in manual.errors} == {"air-above-limit"}


def test_a_formula_without_percentages_needs_no_base(soup: Path) -> None:
    edit(soup, "formulas/leek-soup.yaml", "salt: 1 %", "salt: 24 g")
    edit(soup, "formulas/leek-soup.yaml", "[4 kg yield]", "[4 kg base]")
    manual = compute(soup)
    assert manual.findings == ()
    assert manual.sheets["leek-soup"].batches[0].yields.base_g == 4000


@pytest.mark.parametrize(
    ("line", "codes"),
    [
        ("revision: 4", {"key-missing"}),
        ("effective: 2026-06-01", {"key-missing"}),
        ("approved: S. Other", {"key-missing"}),
        ("revision: 4\neffective: 2026-06-01", set()),
    ],
)
def test_an_approval_of_its_own_is_its_own_alone(soup: Path, line: str, codes: set[str]) -> None:
    """A revision with the folder's date or approver would be approved by nobody."""
    edit(soup, "formulas/leek-soup.yaml", "station: range", f"station: range\n{line}")
    manual = compute(soup)
    assert {f.code for f in manual.findings} == codes
    if not codes:
        assert manual.sheets["leek-soup"].status == "draft"


def test_processes_and_stations_are_approved_the_same_way(soup: Path) -> None:
    more = "processes: {revision: 2, effective: 2026-01-12, approved: R. Osei}"
    edit(soup, "kitchen.yaml", "{formulas:", f"{{{more}, stations: {more[11:]}, formulas:")
    manual = compute(soup)
    for record in (manual.standards.processes["soup"], manual.house.stations["range"]):
        approval = approval_of(record, manual.house.kitchen, datetime.date(2026, 11, 30))
        assert (approval.status, approval.revision, approval.approved) == ("current", 2, "R. Osei")


def test_a_folders_approval_that_is_still_to_come(soup: Path) -> None:
    edit(soup, "kitchen.yaml", "effective: 2026-05-04", "effective: 2027-01-04")
    assert compute(soup).sheets["leek-soup"].status == "not-yet"

"""Document control: figures that changed under an unchanged revision are found, make a draft of
page and paper, and are told on the change sheet, the cover and to the QR page."""

from __future__ import annotations

import datetime
import io
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from commands import run
from conftest import AS_OF, compute, edit, lay
from test_changes import SITE, committed, pdf_text

from generator.binder.change_sheet import _MOST_PAIRS, _in_order, _rows
from generator.binder.changed import changed_sheets, changed_since
from generator.binder.control import under_control
from generator.binder.documents import station_binder
from generator.binder.drawing import render
from generator.binder.numbering import taken_of
from generator.binder.plan import Move
from generator.changes import revisions
from generator.changes.revisions import UNRAISED
from generator.files.kept import Kept
from generator.records.kitchen import today_at
from generator.sheet.manual import Manual, make_manual
from generator.site.papers import current_sheets, discarded, make_site_pages
from generator.views.facts import Change
from generator.views.status_view import status_of

BAKE, SHEET = "formulas/pork-bake.yaml", "range/pork-bake/batch"
REGISTER = "standards/print-register.yaml"


@dataclass(frozen=True)
class Edit:
    """A change of the standards, and what of it is said first: its name, old and new."""

    file: str
    old: str
    new: str
    name: str
    then: str
    now: str


FIGURE = Edit(BAKE, "salt: 1.6 %", "salt: 1.7 %", "Fine salt, in the formula", "1.6 %", "1.7 %")
TARGET = Edit(
    BAKE, "bake: core 76 °C", "bake: core 78 °C", "Step 4, target", "core 76 °C", "core 78 °C"
)
LIMIT = Edit(
    "ingredients/all.yaml",
    "name: Pork shoulder\n  species: pork",
    "name: Chicken thigh\n  species: chicken",
    "Step 4, limit on this probe",
    "71 °C",
    "75 °C",
)
USE_BY = Edit(BAKE, "cold: 5 days", "cold: 4 days", "Use by", "day 5", "day 4")
VESSEL = Edit(
    BAKE, "vessel: dish,", "vessel: tray,", "Vessel, in the formula", "Deep dish", "Flat tray"
)
ALLERGEN = Edit(
    "ingredients/all.yaml",
    "form: intact\n  allergens: none",
    "form: intact\n  allergens: [soybeans]",
    "Allergens",
    "",
    "",
)
ALONE = {
    "figure": FIGURE,
    "target": TARGET,
    "limit": LIMIT,
    "use-by": USE_BY,
    "vessel": VESSEL,
    "allergen": ALLERGEN,
}
EDITS = {**{name: (one,) for name, one in ALONE.items()}, "together": tuple(ALONE.values())}


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clean kitchen in git, with another vessel; its binders printed and in the register, as
    committed."""
    project = lay("base", tmp_path_factory.mktemp("printed") / "kitchen")
    (project / "mkdocs.yml").write_text(f"site_name: K\nsite_url: {SITE}\n")
    house = project / "standards/equipment/house.yaml"
    inside = "{length: 280 mm, width: 210 mm, depth: 60 mm}"
    tray = f"tray: {{kind: vessel, name: Flat tray, shape: box, inside: {inside}}}\n"
    house.write_text(house.read_text() + tray)
    edit(project, BAKE, "bake: core 72 °C", "bake: core 76 °C")
    committed(project)
    done = run(project, "binder", "--out", str(project.parent / "a.pdf"), "--register")
    assert done.returncode == 0, done.stderr
    committed(project)
    return project


@pytest.fixture
def checkout(printed: Path, tmp_path: Path) -> Path:
    """A copy of the printed kitchen, to be changed."""
    shutil.copytree(printed, tmp_path / "kitchen")
    return tmp_path / "kitchen"


def make(project: Path, *edits: Edit) -> None:
    for one in edits:
        edit(project, one.file, one.old, one.new)


def controlled(project: Path) -> Manual:
    found = under_control(compute(project))
    assert isinstance(found, Manual) and found.errors == ()
    return found


def warned(manual: Manual) -> dict[str, str]:
    return {next(iter(f.about)): f.message for f in manual.findings if f.code == UNRAISED}


def text(words: str) -> str:
    return words.replace("\u00a0", " ")


# ---- what is found


def test_nothing_is_said_of_what_is_as_it_was_printed(checkout: Path) -> None:
    manual = controlled(checkout)
    assert manual.findings == () and manual.sheets["pork-bake"].status == "current"


@pytest.mark.parametrize("kept", ["uncommitted", "committed"])
@pytest.mark.parametrize("name", EDITS)
def test_a_change_without_a_new_revision_is_a_warning_and_a_draft(
    checkout: Path, name: str, kept: str
) -> None:
    make(checkout, *EDITS[name])
    if kept == "committed":
        committed(checkout)
    manual = controlled(checkout)
    assert "pork-bake" in warned(manual)
    message = text(warned(manual)["pork-bake"])
    assert message.startswith("Pork bake: ") and message.endswith("the revision is still 1.")
    sheet = manual.sheets["pork-bake"]
    assert (sheet.status, sheet.approval.approved) == ("draft", "")
    assert status_of(sheet).word == "Draft, do not use"
    paper = next(s for s in station_binder(manual, "range", {}, "") if s["key"] == SHEET)
    assert paper["control"]["status"] == "DRAFT" and paper["control"]["approved"] == "nobody"
    assert paper["band"]["word"] == "DRAFT"


def test_the_warning_names_the_figure_and_strict_fails(checkout: Path) -> None:
    make(checkout, FIGURE)
    done = run(checkout, "check", "--strict")
    assert done.returncode == 1
    said = text(done.stdout)
    assert (
        "Fine salt 1.6 % → 1.7 %" in said
        and "the revision is still 1. [revision-not-raised]" in said
    )
    assert "revision: 2" in said
    assert run(checkout, "check").returncode == 0


@pytest.mark.parametrize("name", EDITS)
def test_a_raised_revision_is_approved(checkout: Path, name: str) -> None:
    make(checkout, *EDITS[name])
    edit(checkout, BAKE, "revision: 1", "revision: 2")
    manual = controlled(checkout)
    assert "pork-bake" not in warned(manual)
    assert manual.sheets["pork-bake"].status == "current"


def _reverted(project: Path) -> None:
    make(project, FIGURE)
    committed(project)
    edit(project, BAKE, FIGURE.new, FIGURE.old)


def _comment(project: Path) -> None:
    edit(project, BAKE, "name: Pork bake", "# a remark\nname: Pork bake")


def _renamed(project: Path) -> None:
    path = project / "standards" / BAKE
    path.rename(path.with_name("baked-pork.yaml"))


def _deleted(project: Path) -> None:
    (project / "standards" / BAKE).unlink()


def _another_size(project: Path) -> None:
    edit(project, BAKE, "4 dishes, 8 dishes", "4 dishes, 8 dishes, 16 dishes")


def _no_size(project: Path) -> None:
    edit(project, BAKE, "4 dishes, 8 dishes", "4 dishes")


def _approver(project: Path) -> None:
    edit(project, BAKE, "approved: R. Osei", "approved: M. Sand")


def _law(project: Path) -> None:
    """Reference data of the project's own that moves a limit."""
    from generator.reference.shared_data import installed

    shutil.copytree(installed(), project / "shared")
    rows = project / "shared/limits/us-food-code-2022"
    cook = next(p for p in rows.glob("*.yaml") if "158 °F" in p.read_text("utf-8"))
    cook.write_text(cook.read_text("utf-8").replace("158 °F", "159 °F"), "utf-8")


@pytest.mark.parametrize(
    "change",
    [_reverted, _comment, _renamed, _deleted, _another_size, _no_size, _approver, _law],
)
def test_what_is_no_change_of_figures_by_the_chef(
    checkout: Path, change: Callable[[Path], None]
) -> None:
    """Changed back; in words no one is shown; another standard; a size more or less; reference
    data."""
    change(checkout)
    manual = controlled(checkout)
    assert warned(manual) == {}
    assert all(sheet.status == "current" for sheet in manual.sheets.values())


def test_two_changes_are_told_and_the_rest_counted(checkout: Path) -> None:
    make(checkout, USE_BY, FIGURE, TARGET)
    said = text(warned(controlled(checkout))["pork-bake"])
    assert re.search(r"→ .*, .* → .* and \d+ more changes since sheet 2 was printed", said), said


def test_a_part_made_ahead_makes_drafts_of_what_it_is_in(checkout: Path) -> None:
    """What a formula is made of is its figure too, wherever that shows."""
    edit(checkout, "formulas/house-spice.yaml", "dry: 90 days", "dry: 80 days")
    assert set(warned(controlled(checkout))) == {"house-spice"}


@pytest.mark.parametrize("how", ["no commit", "no history", "no git"])
def test_without_the_history_the_hash_tells(checkout: Path, how: str) -> None:
    """Printed from files that weren't committed, or their history isn't here."""
    register = checkout / REGISTER
    if how == "no commit":
        register.write_text(re.sub("(?m)^ *commit: .*\n", "", register.read_text()))
        committed(checkout)
    elif how == "no history":
        register.write_text(re.sub("commit: .*", f'commit: "{"0" * 40}"', register.read_text()))
        committed(checkout)
    else:
        shutil.rmtree(checkout / ".git")
    assert controlled(checkout).findings == ()
    make(checkout, FIGURE)
    if how != "no git":
        committed(checkout)
    manual = controlled(checkout)
    assert manual.sheets["pork-bake"].status == "draft"
    assert "what is printed changed since sheet 2 was printed" in warned(manual)["pork-bake"]


def test_where_nobody_can_tell_who_changed_it_that_is_said(checkout: Path) -> None:
    """Another program printed it, and its standards aren't known."""
    register = checkout / REGISTER
    words = re.sub("(?m)^ *commit: .*\n", "", register.read_text())
    register.write_text(re.sub("made_with: .*", 'made_with: "00000000"', words))
    make(checkout, FIGURE)
    committed(checkout)
    found = [f for f in controlled(checkout).findings if f.code == "printed-otherwise"]
    assert [next(iter(f.about)) for f in found] == ["pork-bake"]
    assert "isn't known" in found[0].message and found[0].severity == "warning"


@pytest.mark.parametrize("how", ["printed", "committed"])
def test_a_revision_never_goes_back(checkout: Path, how: str) -> None:
    """A number once given to figures isn't given to others."""
    if how == "printed":
        register = checkout / REGISTER
        register.write_text(register.read_text().replace('revision: "1"', 'revision: "3"'))
    else:
        (checkout / REGISTER).unlink()
        edit(checkout, BAKE, "revision: 1", "revision: 3")
        committed(checkout)
        edit(checkout, BAKE, "revision: 3", "revision: 1")
    manual = controlled(checkout)
    (found,) = [f for f in manual.findings if "pork-bake" in f.about]
    assert "Revision 3 → 1" in found.message and found.message.endswith("never goes back.")
    assert found.write == ("revision: 4",) and manual.sheets["pork-bake"].status == "draft"


def test_a_damaged_register_hides_no_change_since_the_commit(checkout: Path) -> None:
    (checkout / REGISTER).write_text("binders: [")
    make(checkout, FIGURE)
    found = under_control(make_manual(checkout, AS_OF))
    assert isinstance(found, Manual) and found.errors
    assert "since the last commit" in warned(found)["pork-bake"]


# ---- it can't be laundered


def test_the_register_takes_no_figures_nobody_approved(checkout: Path, tmp_path: Path) -> None:
    make(checkout, FIGURE)
    committed(checkout)
    before = (checkout / REGISTER).read_bytes()
    out = tmp_path / "b.pdf"
    done = run(checkout, "binder", "range", "--out", str(out), "--register")
    assert (done.returncode, out.exists()) == (2, False) and "Raise the revision" in done.stderr
    assert (checkout / REGISTER).read_bytes() == before
    done = run(checkout, "binder", "range", "--out", str(out))
    assert done.returncode == 0 and "revision is still 1" in done.stderr
    assert "DRAFT" in pdf_text(out) and "Not the figures of revision 1" in pdf_text(out)


def test_taking_the_approval_away_first_is_seen(checkout: Path) -> None:
    edit(checkout, BAKE, "approved: R. Osei\n", "")
    make(checkout, FIGURE)
    assert "pork-bake" in warned(controlled(checkout))


# ---- change sheet, cover, QR page


def change_sheet_of(manual: Manual, since: str) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The row of the pork bake on the change sheet, and all that is printed with it."""
    found = changed_since(manual, ("range",), since, SITE).binders[0]
    sheets = changed_sheets(manual, found, SITE)
    rows = sheets[0]["blocks"][1]["rows"]
    return next(r for r in rows if r["key"] == SHEET), sheets


@pytest.mark.parametrize("raised", [True, False])
@pytest.mark.parametrize(
    ("name", "since"), [*((name, "register") for name in EDITS), ("together", "HEAD")]
)
def test_the_change_sheet_says_what_changed(
    checkout: Path, name: str, raised: bool, since: str
) -> None:
    make(checkout, *EDITS[name])
    if raised:
        edit(checkout, BAKE, "revision: 1", "revision: 2")
    manual = controlled(checkout)
    row, sheets = change_sheet_of(manual, since)
    pairs = {p["name"]: (text(p["old"]), text(p["new"])) for p in row["pairs"]}
    for one in EDITS[name]:
        assert one.name in pairs, (one.name, pairs)
        assert pairs[one.name][0].startswith(one.then) and pairs[one.name][1].startswith(one.now)
    assert ("revision was not raised" in row["words"]) is not raised
    names = [p["name"] for p in row["pairs"]]
    if name == "together":
        order = [
            next(i for i, n in enumerate(names) if n == e.name)
            for e in (LIMIT, USE_BY, ALLERGEN, VESSEL, FIGURE)
        ]
        assert order == sorted(order), names
    assert row["revision"].startswith("revision 1 → 2" if raised else "revision 1 ·")
    cover = next(s for s in sheets if s["kind"] == "cover")
    listed = {r["key"]: r for b in cover["blocks"] if b["form"] == "list" for r in b["rows"]}
    new = next(s for s in sheets if s["key"] == SHEET)
    assert listed[SHEET]["print"] == new["control"]["hash"] and listed[SHEET]["bar"]
    assert [f["words"] for f in listed[SHEET]["flags"]] == ([] if raised else ["DRAFT"])
    assert len(_bars(new)) >= 1


def _bars(value: Any) -> list[Any]:
    """The parts of a record with a bar."""
    if isinstance(value, dict):
        return ([value] if value.get("bar") else []) + [b for v in value.values() for b in _bars(v)]
    return [b for v in value for b in _bars(v)] if isinstance(value, list) else []


def test_bars_are_beside_what_changed_and_nothing_else(checkout: Path) -> None:
    make(checkout, TARGET, ALLERGEN)
    edit(checkout, BAKE, "revision: 1", "revision: 2")
    _, sheets = change_sheet_of(controlled(checkout), "register")
    new = next(s for s in sheets if s["key"] == SHEET)
    assert new["strip"]["bar"]
    assert [b["number"] for b in new["blocks"] if b.get("bar")] == ["4"]
    assert not any(
        r.get("bar") for b in new["blocks"] for r in b.get("rows", ()) if isinstance(r, dict)
    )


def test_a_long_list_of_limits_is_not_cut() -> None:
    found = [Change("paper", "", f"Line {n}", "1 g", "2 g") for n in range(20)]
    found += [Change("limits", "", f"Step {n}, limit", "1 °C", "2 °C") for n in range(20)]
    first, others = _in_order(found)
    assert (len(first), len(others)) == (20, 20) and _MOST_PAIRS < 20


def test_a_change_sheet_goes_on_over_its_page(checkout: Path) -> None:
    """Rows of many lines, and many rows: nothing is cut, each line of each is read back."""
    make(checkout, FIGURE)
    edit(checkout, BAKE, "revision: 1", "revision: 2")
    _, sheets = change_sheet_of(controlled(checkout), "register")
    move = next(m for m in _moves(checkout) if m.new is not None and m.new["key"] == SHEET)
    found = tuple(
        Change("limits", "", f"Step {n}, limit", f"{n} °C", f"{n + 1} °C") for n in range(40)
    )
    rows = list(_rows(replace(move, differences=found), [])) * 3
    assert [len(r["pairs"]) for r in rows[:3]] == [14, 14, 12]
    assert [(r["no"] != "", r["out"], r["in"]) for r in rows[:2]] == [(True,) * 3, (False,) * 3]
    sheet = {**sheets[0], "blocks": [sheets[0]["blocks"][0], {"form": "changes", "rows": rows}]}
    drawn = pypdf.PdfReader(io.BytesIO(render({"title": "x", "sheets": [sheet]}, "a4")))
    said = " ".join(page.extract_text() for page in drawn.pages)
    assert len(drawn.pages) > 1 and said.count("limit") >= 120


def _moves(project: Path) -> tuple[Move, ...]:
    return changed_since(controlled(project), ("range",), "register", SITE).binders[0].plan.moves


def test_the_reference_data_is_named_as_what_moved_a_figure(checkout: Path) -> None:
    _law(checkout)
    row, _ = change_sheet_of(controlled(checkout), "register")
    assert row["words"] == "The standards didn't change: the reference data moved this."
    assert row["pairs"][0]["name"] == "Step 4, limit on this probe"


def test_the_site_knows_what_a_paper_is_compared_with(checkout: Path) -> None:
    """The current sheets with their state, and the numbers that left the binder."""
    before = {s.number: s for s in current_sheets(controlled(checkout))["range/pork-bake.md"]}
    make(checkout, FIGURE)
    manual = controlled(checkout)
    (now,) = current_sheets(manual)["range/pork-bake.md"]
    then = before[now.number]
    assert (then.state, now.state) == ("approved", "draft")
    assert then.revision == now.revision and then.hash != now.hash, "same revision, other figures"
    html = {p.uri: p.html for p in make_site_pages(manual)}["range/pork-bake.md"]
    assert f'data-sheets="{":".join(now)}"' in html and "Draft, do not use" in html
    text = (checkout / REGISTER).read_text()
    line = f"sheet: {SHEET}\n"
    assert line in text
    gone = text.replace(line, line + "        discarded: 2026-11-25\n")
    (checkout / REGISTER).write_text(gone)
    assert discarded(compute(checkout))["range/pork-bake.md"] == [int(then.number)]
    assert taken_of(compute(checkout).standards.register)[f"range/#{then.number}"]


# ---- the kitchen's day


def test_today_is_the_kitchens_day(kitchen: Path) -> None:
    """Two kitchens 25 hours apart never have the same day."""
    days = []
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago"):
        edit(kitchen, "kitchen.yaml", "time_zone: ", f"time_zone: {zone} # ")
        manual = make_manual(kitchen, None)
        assert isinstance(manual, Manual)
        days.append((manual.as_of, today_at(manual.house.kitchen)))
    assert days[0][0] > days[1][0] and all(a == b for a, b in days)


def test_another_order_of_the_same_allergens_is_no_change(tmp_path: Path) -> None:
    """A list of another law names the same foods in another order: nobody's figure changed."""
    project = lay("base", tmp_path / "kitchen")
    (project / "mkdocs.yml").write_text(f"site_name: K\nsite_url: {SITE}\n")
    cod = "cod: {name: Cod, species: fish, state: raw, form: intact, allergens: [fish (cod)]}\n"
    edit(project, "ingredients/all.yaml", "whole-egg:\n", cod + "whole-egg:\n")
    edit(project, BAKE, "    whole-egg: 6 each\n", "    cod: 300 g\n")
    committed(project)
    before = [str(a) for a in compute(project).sheets["pork-bake"].allergens]
    edit(project, "kitchen.yaml", "cup: us\n", "cup: us\nallergens: eu\n")
    after = [str(a) for a in compute(project).sheets["pork-bake"].allergens]
    assert before != after and sorted(before) == sorted(after), "it must test the order alone"
    assert UNRAISED not in [f.code for f in controlled(project).findings]


def test_what_a_commit_says_is_worked_out_once(
    checkout: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An edit in a checkout is held against the last commit, which never changes: on the same day it
    isn't computed a second time, and says the same."""
    commits: list[str] = []
    true = revisions.standards_at

    def counted(project: Path, commit: str, reference: bool = True) -> Any:
        commits.append(commit)
        return true(project, commit, reference)

    monkeypatch.setattr(revisions, "standards_at", counted)

    def found(day: datetime.date) -> tuple[list[str], int]:
        kept, commits[:] = Kept(tmp_path / "kept"), []
        manual = under_control(make_manual(checkout, day, kept=kept))
        kept.tidied()
        said = [f.message for f in manual.findings if f.code == UNRAISED]
        commits_read = len(commits)
        bare = under_control(make_manual(checkout, day))
        assert said == [f.message for f in bare.findings if f.code == UNRAISED]
        return said, commits_read

    (checkout / REGISTER).unlink()
    assert found(AS_OF) == ([], 0), "nothing of the standards differs"
    make(checkout, FIGURE)
    said, read = found(AS_OF)
    assert "1.6 % → 1.7 %" in said[0] and read == 1
    make(checkout, replace(FIGURE, old="salt: 1.7 %", new="salt: 1.8 %"))
    said, read = found(AS_OF)
    assert "1.6 % → 1.8 %" in said[0] and read == 0
    assert found(AS_OF + datetime.timedelta(days=1))[1] == 1, "dates are of a day"

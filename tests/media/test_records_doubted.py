"""What a record is held to, and what is said of it: a probe's error, an earlier revision, more than
went in, checks that failed, numbers written two ways."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT, compute, edit, lay
from each_row import each_row
from test_batch_records import BATCH, CHILL, POACH, reading
from test_changes import committed
from test_records_kept import KEPT, YAML, kept, record

from generator.files.finding import Refused
from generator.intake.batch_file import read_batch_file
from generator.intake.made_file import tree_of_batch
from generator.measures.amounts import read_amount
from generator.measures.marks import whole_figures, written_with
from generator.measures.units import load_units
from generator.pages import make_pages
from generator.records.size import read_size
from generator.resolve.made import History
from generator.sheet.manual import Manual
from generator.views.uris import EQUIPMENT_INDEX

HOUSE = "equipment/house.yaml"
UNITS = load_units(ROOT / "shared")


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    return lay("base", tmp_path / "kitchen")


def verdict(kitchen: Path, value: str, probe: str = "") -> dict[str, Any]:
    """What `record` says of the bake (limit 68.3 °C for 17 s, 70 °C at once), by one reading."""
    named = f", probe: {probe}" if probe else ""
    text = YAML.replace("value: 74 °C", f"value: {value}{named}")
    done = record(kitchen, text, "--dry-run", "--format", "json")
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)["verdicts"][0]
    return found


# --- a probe's error


def test_a_pass_within_the_probes_error_is_said_with_its_doubt(kitchen: Path) -> None:
    """158 °F is 70 °C at once; ±1 °C, so the page asks for 71 °C plus what rounds up. At the limit
    to a tenth it passes only if the probe is exact; two degrees above, without doubt."""
    sure, near = verdict(kitchen, "74 °C"), verdict(kitchen, "70.1 °C")
    assert (sure["verdict"], near["verdict"]) == ("pass", "pass"), (sure, near)
    assert "only_if_exact" not in sure and near["only_if_exact"] == ["1"]
    assert re.search(r"The page asks for 7[12] °C\.$", near["why"]), near["why"]
    text = record(kitchen, YAML.replace("74 °C", "70.1 °C"), "--dry-run").stdout
    assert "bake: within its limit only if the probe is exact." in text
    assert "bake: within its limit. " in record(kitchen, YAML, "--dry-run").stdout


def test_review_and_record_doubt_one_reading_alike(kitchen: Path, tmp_path: Path) -> None:
    for value in ("70.1", "70.9", "71", "72", "73"):
        log = tmp_path / f"{value}.csv"
        log.write_text(f"time,temp_c\n2026-11-20 12:05,{value}\n")
        words = ("--formula", "pork-bake", "--step", "bake", "--format", "json")
        notes = json.loads(run(kitchen, "review", str(log), *words).stdout)["notes"]
        doubted = any("only if the probe is exact" in note for note in notes)
        assert doubted == ("only_if_exact" in verdict(kitchen, f"{value} °C")), value


def test_another_thermometer_counts_with_its_own_accuracy(kitchen: Path) -> None:
    edit(
        kitchen,
        HOUSE,
        "bowl-mixer:",
        "spare: {kind: thermometer, name: Spare, reads: °C, accuracy: 2 °C}\n"
        "fine: {kind: thermometer, name: Fine, reads: °C, accuracy: 0.1 °C}\nbowl-mixer:",
    )
    assert "only_if_exact" not in verdict(kitchen, "71.9 °C", "fine")
    assert verdict(kitchen, "71.9 °C", "spare")["only_if_exact"] == ["spare"]
    assert verdict(kitchen, "71.9 °C", "SPARE")["only_if_exact"] == ["SPARE"]


def test_of_a_cooling_the_stage_within_the_error_is_named(tmp_path: Path) -> None:
    """21.1 °C within 2 h and 5 °C within 6 h (Food Code 3-501.14): 20.9 °C at the first is within
    the probe's 1 °C of it."""
    batch = json.loads(json.dumps(BATCH))
    for one in batch["readings"]:
        if one["limit"] == CHILL and one["value"] == "20":
            one["value"] = "20.9"
    (tmp_path / "batch.json").write_text(json.dumps(batch))
    done = run(ROOT, "record", str(tmp_path / "batch.json"), "--dry-run", "--format", "json")
    (chill,) = (v for v in json.loads(done.stdout)["verdicts"] if v["step"] == "chill")
    assert chill["verdict"] == "pass" and chill["only_if_exact"] == ["1"]
    assert "The page asks for 20 °C within 2 h." in chill["why"]


# --- checks that failed


FAILED = "accuracy: 1 °C, failed_checks: [{date: 2026-11-20, off_by: 5 °C, right_on: 2026-11-16}]}"


@pytest.mark.parametrize(
    ("day", "doubted"),
    [("15", False), ("16", True), ("18", True), ("20", True), ("21", False)],
)
def test_what_a_probe_read_before_it_failed_is_named_by_the_days_of_its_checks(
    kitchen: Path, day: str, doubted: bool
) -> None:
    """Both days count: nobody knows the hour of a check. The lot's number says nothing of it."""
    edit(kitchen, HOUSE, "accuracy: 1 °C}", FAILED)
    text = YAML.split("deviations")[0].replace("day: 2026-11-20", f"day: 2026-11-{day}")
    done = record(kitchen, text, "--format", "json")
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    codes = [one["code"] for one in said["doubts"]]
    assert ("record-probe" in codes) is doubted
    assert ("only_if_exact" in said["verdicts"][0]) is doubted  # 74 °C, and 5 °C off
    assert ("record-probe" in {f.code for f in compute(kitchen).findings}) is doubted


def test_a_failed_check_is_answered_by_what_was_done_and_by_another_thermometer(
    kitchen: Path,
) -> None:
    edit(kitchen, HOUSE, "accuracy: 1 °C}", FAILED)
    spare = "spare: {kind: thermometer, name: Spare, reads: °C, accuracy: 1 °C}\nbowl-mixer:"
    edit(kitchen, HOUSE, "bowl-mixer:", spare)
    assert record(kitchen, YAML).returncode == 0  # its deviation says what was done at the bake
    by_spare = YAML.split("deviations")[0].replace("261120-1", "261120-2")
    by_spare = by_spare.replace("value: 74 °C", "value: 74 °C, probe: Spare")
    assert record(kitchen, by_spare).returncode == 0
    assert "record-probe" not in {f.code for f in compute(kitchen).findings}


def test_the_page_of_the_equipment_shows_a_failed_check(kitchen: Path) -> None:
    edit(kitchen, HOUSE, "accuracy: 1 °C}", FAILED)
    (page,) = (p.text for p in make_pages(compute(kitchen)) if p.uri == EQUIPMENT_INDEX)
    page = page.replace("\u00a0", " ").replace("\u202f", " ")
    assert "Failed checks" in page and re.search(
        r"20 Nov\w* 2026, off by 5 °C, right on 16 Nov\w* 2026", page
    ), page


def test_a_failed_check_takes_no_day_and_no_lot_from_a_trace(kitchen: Path) -> None:
    """A probe's error stops every weight and limit; what was made already is traced as before."""
    assert record(kitchen, YAML).returncode == 0
    before = json.loads(run(kitchen, "trace", "P 1", "--format", "json").stdout)
    failed = "accuracy: 1 °C, last_check: {date: 2026-11-20, off_by: 3 °C}}"
    edit(kitchen, HOUSE, "accuracy: 1 °C}", failed)
    assert run(kitchen, "batch", "pork-bake").returncode == 1
    assert json.loads(run(kitchen, "trace", "P 1", "--format", "json").stdout) == before
    assert before["matches"][0]["labels"][0]["use_by"] == "2026-11-24"


# --- more than went in


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("made: 3.2 kg", "made: 4.2 kg", "4.2 kg made"),
        ("made: 3.2 kg", "made: 3.6 kg", ""),
        ("before: 3.6 kg", "before: 36 kg", "36 kg before `bake`"),
        ("size: 4 dishes", "size: 8 dishes", "7.2 kg in 8 dishes"),
    ],
)
def test_more_than_went_in_is_doubted(kitchen: Path, old: str, new: str, words: str) -> None:
    """3 kg of meat, 300 g of egg, 238 g of cream, 48 g of salt, 30 g of spice: 3.616 kg by hand."""
    more = "  - {item: whole-egg, weight: 300 g}\n  - {item: cream, weight: 238 g}\n"
    more += "  - {item: salt, weight: 48 g}\nreadings:"
    text = YAML.replace("readings:", more, 1).replace(old, new, 1)
    done = record(kitchen, text, "--dry-run", "--format", "json")
    assert done.returncode == 0, done.stderr
    found = [
        d["words"] for d in json.loads(done.stdout)["doubts"] if d["code"] == "record-made-more"
    ]
    assert (words in found[0]) if words else not found
    assert not found or "3.62 kg was weighed in" in found[0]


def test_a_batch_of_no_size_is_doubted_by_what_was_weighed(kitchen: Path) -> None:
    """No size is written, and only the meat is weighed: the rest counts as for that much meat."""
    assert "size: 4 dishes\n" in YAML
    text = YAML.replace("size: 4 dishes\n", "")
    assert doubts(kitchen, text, "record-made-more") == []
    assert doubts(kitchen, text.replace("made: 3.2 kg", "made: 6 kg"), "record-made-more")


def test_what_has_no_weight_counts_as_by_the_sheet_and_water_as_taken_up(kitchen: Path) -> None:
    """Meat alone is weighed: 6 kg made of 4 dishes are more than the sheet has for them. A step that
    gains 100 % may make twice of it."""
    text = YAML.replace("made: 3.2 kg", "made: 6 kg")
    (found,) = doubts(kitchen, text, "record-made-more")
    assert "what has no weight as by the sheet" in found
    edit(kitchen, "processes/baked.yaml", "loses: 10 %", "gains: 100 %")
    assert doubts(kitchen, text, "record-made-more") == []
    (found,) = doubts(kitchen, YAML.replace("made: 3.2 kg", "made: 9 kg"), "record-made-more")
    assert "with all it takes up" in found


def doubts(kitchen: Path, text: str, code: str) -> list[str]:
    done = record(kitchen, text, "--dry-run", "--format", "json")
    assert done.returncode == 0, done.stderr
    return [one["words"] for one in json.loads(done.stdout)["doubts"] if one["code"] == code]


# --- an earlier revision


def raised(kitchen: Path) -> None:
    """Revision 2: hotter, without the cream."""
    edit(kitchen, "formulas/pork-bake.yaml", "revision: 1", "revision: 2")
    edit(kitchen, "formulas/pork-bake.yaml", "effective: 2026-05-04", "effective: 2026-11-22")
    edit(kitchen, "formulas/pork-bake.yaml", "    cream: 1 cup\n", "")


WITH_CREAM = YAML.replace("readings:", "  - {item: cream, weight: 238 g, lot: C 1}\nreadings:", 1)


def test_an_earlier_revision_is_not_cleared_by_todays(kitchen: Path) -> None:
    """Without git its own sheet isn't to be had: nothing is judged, and that is said."""
    raised(kitchen)
    done = record(kitchen, WITH_CREAM)
    assert done.returncode == 0, done.stderr
    assert "NOT HELD: it was made by revision 1, and revision 2 is here." in done.stdout
    assert "within its limit" not in done.stdout and "not in Pork bake" not in done.stdout
    said = json.loads(record(kitchen, WITH_CREAM, "--corrects", "x", "--format", "json").stdout)
    assert (said["held_to_its_revision"], said["verdicts"]) == (False, [])
    (note,) = (f for f in compute(kitchen).findings if f.code == "record-earlier-revision")
    assert note.severity == "note" and note.message.startswith(
        "1\u00a0record of pork-bake is of an"
    )


@pytest.mark.skipif(
    shutil.which("git") is None and os.environ.get("REQUIRE_ALL") != "1", reason="git is not here"
)
def test_an_earlier_revision_is_held_to_its_own_sheet_from_git(kitchen: Path) -> None:
    committed(kitchen)
    raised(kitchen)
    committed(kitchen)
    done = record(kitchen, WITH_CREAM, "--format", "json")
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert said["held_to_its_revision"] and said["verdicts"][0]["verdict"] == "pass"
    assert "cream" not in said["lots_missing"] and said["doubts"] == []
    strange = WITH_CREAM.replace("261120-1", "261120-2").replace(
        "step: bake, at", "step: roast, at"
    )
    done = record(kitchen, strange)
    assert done.returncode == 1 and "[record-step-unknown]" in done.stderr


# --- two readings of a minute, numbers written two ways


def test_a_phones_readings_of_one_minute_keep_their_seconds(tmp_path: Path) -> None:
    """71 °C and 75 °C within one minute: in their order the second passes, as `review` says."""
    batch = json.loads(json.dumps(BATCH))
    batch["readings"] = [reading("17:50:10", POACH, "71"), reading("17:50:50", POACH, "77")]
    path = tmp_path / "batch.json"
    path.write_text(json.dumps(batch))
    tree = tree_of_batch(read_batch_file(path))
    assert [str(one["at"]) for one in tree["readings"]] == ["11:50:10", "11:50:50"]
    done = run(ROOT, "record", str(path), "--dry-run", "--format", "json")
    (poach,) = (v for v in json.loads(done.stdout)["verdicts"] if v["step"] == "poach")
    judged = json.loads(run(ROOT, "review", str(path), "--format", "json").stdout)
    assert poach["verdict"] == judged["verdict"] == "pass"


def test_the_hottest_of_two_readings_of_one_minute_is_named(kitchen: Path) -> None:
    two = 'at: "12:05", value: 55 °C}\n  - {step: bake, at: "12:05", value: 62 °C}'
    done = record(kitchen, YAML.replace('at: "12:05", value: 74 °C}', two), "--dry-run")
    assert "the hottest reading was 62 °C at 12:05" in done.stdout.replace("\u00a0", " ")


def test_a_lot_copied_otherwise_is_asked_about_once(kitchen: Path) -> None:
    for number, lot in enumerate(("P 1", "p1", "P-1", "P-1", "P-2")):
        text = YAML.replace("261120-1", f"261120-{number}").replace("lot: P 1", f"lot: {lot}")
        assert record(kitchen, text).returncode == 0
    found = [f for f in compute(kitchen).findings if f.code == "record-lot-alike"]
    assert [f.message for f in found] == [
        "`P-1` of pork-shoulder is nearly `P 1`, its lot in pork-bake-261120-0."
    ]


def test_twelve_batches_of_a_day_are_in_their_order(kitchen: Path) -> None:
    (kitchen / KEPT).mkdir()
    for number in range(1, 13):
        text = YAML.replace("261120-1", f"261120-{number}")
        (kitchen / KEPT / f"pork-bake-261120-{number}.yaml").write_text(text)
    found = compute(kitchen)
    assert isinstance(found, Manual) and isinstance(found.history, History)
    order = [b.record.lot for b in found.history.batches.values()]
    assert order == [f"261120-{n}" for n in range(1, 13)]
    assert found.yields["pork-bake"][0].points[-1].lot == "261120-12"
    assert len(kept(kitchen)) == 12


def test_two_phones_that_number_alike_are_two_batches_by_the_number_offered(tmp_path: Path) -> None:
    """Two stations begin the first batch of a day: both are 261125-1. The second is told who has it
    already, and the next number that is free; what is offered is taken."""
    project = lay("base", tmp_path / "kitchen")
    for lot in ("261120-1", "261120-2"):
        assert record(project, YAML.replace("261120-1", lot)).returncode == 0
    other = YAML.replace("who: Ana", "who: Mo").replace("lot: P 1", "lot: P 2")
    done = record(project, other)
    assert done.returncode == 2 and "pork-bake-261120-1.yaml, by Ana." in done.stderr
    assert "Write: --lot 261120-3" in done.stderr
    done = record(project, other, "--lot", "261120-3")
    assert done.returncode == 0, done.stderr
    found = compute(project)
    assert isinstance(found, Manual) and not found.errors
    assert {b.record.lot: b.record.who for b in found.history.batches.values()} == {
        "261120-1": "Ana",
        "261120-2": "Ana",
        "261120-3": "Mo",
    }


# --- what is on a plan's shelf


@pytest.mark.parametrize(
    ("shelf", "why"),
    [
        ("use_by: 2026-11-24", "pork-bake 261120-1 is on its shelf"),
        ("use_by: 2026-11-26", "pork-bake is on its shelf: look at its lot"),
        ("use_by: 2026-11-19", ""),
        ("made: 2026-11-20", "pork-bake 261120-1 is on its shelf"),
        ("made: 2026-11-21", ""),
    ],
)
def test_a_batch_on_a_plans_shelf_by_the_labels_day(kitchen: Path, shelf: str, why: str) -> None:
    (kitchen / "standards/plans").mkdir(exist_ok=True)
    (kitchen / "standards/plans/w.yaml").write_text(
        "name: W\nat: 12:00\nday: 2026-12-20\ndishes:\n  - {dish: rice-salad, amount: 20 portions}\n"
        f"on_shelf:\n  - {{item: pork-bake, amount: 2 dishes, {shelf}}}\n"
    )
    assert record(kitchen, YAML).returncode == 0
    (match,) = json.loads(run(kitchen, "trace", "P 1", "--format", "json").stdout)["matches"]
    assert [p["why"] for p in match["plans"]] == ([[why]] if why else [])


# --- fixes that are taken


@each_row(
    ("mark", "typed", "fixes"),
    [
        ("point", "1,000 slices", ["1000 slices"]),
        ("point", "1.000 slices", ["1000 slices", "1 slices"]),
        ("point", "12 500 slices", ["12500 slices"]),
        ("point", "1'000 portions", ["1000 portions"]),
        ("comma", "1.000 slices", ["1000 slices"]),
        ("comma", "1,000 slices", ["1000 slices", "1 slices"]),
        ("point", "1,000", ["1000 fills", "1000 portions"]),
        ("point", "1.5", ["1.5 kg base", "1.5 kg total", "1.5 kg yield"]),
        ("point", "1 500 g total", ["1500 g total"]),
        ("point", "1,00 slices", []),
        ("point", "1,000,00 slices", []),
    ],
)
def test_a_count_with_marks_between_its_thousands_has_fixes_that_are_read(
    mark: Any, typed: str, fixes: list[str]
) -> None:
    with written_with(mark):
        with pytest.raises(Refused) as refused:
            read_size(typed, UNITS)
        assert list(refused.value.write) == fixes
        for fix in fixes:
            assert read_size(fix, UNITS).value > 0


@each_row("typed", ["1,000", "1 000 g", "1'000 g", "1.500", "1,500 kg", "1000", "2 500"])
def test_an_amount_with_marks_has_fixes_that_are_read(typed: str) -> None:
    for mark in ("point", "comma"):
        with written_with(mark):  # type: ignore[arg-type]
            try:
                read_amount(typed, UNITS)
            except Refused as refused:
                assert refused.write
                for fix in refused.write:
                    assert read_amount(fix, UNITS).value > 0, fix


def test_whole_figures_are_digits_alone() -> None:
    assert whole_figures("1_000_000") == ("1000000",)
    assert whole_figures("0,100") == whole_figures("1,0000") == whole_figures("1.000,000") == ()


@pytest.mark.parametrize(
    ("option", "typed"),
    [
        ("--portions", "1,000"),
        ("--fills", "1'000"),
        ("--total", "1,000"),
        ("--total", "4 500 g"),
        ("--total", "5000"),
        ("--base", "1,500 g"),
        ("--on-hand", "pork-shoulder=1,500 g"),
        ("--on-hand", "pork-shoulder"),
        ("--on-hand", "pork-shoulder=5000"),
    ],
)
def test_a_fix_for_an_option_is_taken_as_it_is_printed(
    kitchen: Path, option: str, typed: str
) -> None:
    done = run(kitchen, "batch", "pork-bake", option, typed)
    assert done.returncode == 2
    fixes = re.findall("Write: (.*)", done.stderr)
    assert fixes, done.stderr
    for fix in fixes:
        again = run(kitchen, "batch", "pork-bake", *shlex.split(fix))
        unread = ("is not a", "of what", "two ways", "write ITEM", "what does one")
        assert again.returncode == 0 or not any(w in again.stderr for w in unread), again.stderr
        if option == "--portions":
            assert fix == "--portions 1000"


def test_a_plan_is_mended_by_its_fix(kitchen: Path) -> None:
    plan = kitchen / "standards/plans/w.yaml"
    plan.parent.mkdir(exist_ok=True)
    line = '  - {dish: rice-salad, amount: "1,000 portions"}'
    plan.write_text(f"name: W\nat: 12:00\nday: 2026-12-20\ndishes:\n{line}\n")
    (found,) = (f for f in compute(kitchen).findings if f.is_error)
    (fix,) = found.write
    plan.write_text(plan.read_text().replace(line.strip(), fix))
    done = run(kitchen, "order", "w", "--format", "json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["dishes"][0]["amount"] == "1000 portions"


# --- a load is what comes to its step


def test_a_load_is_what_comes_to_the_step_not_what_was_weighed_in(kitchen: Path) -> None:
    """The bake loses a tenth: what is chilled brings nine tenths of the heat. Losing half instead, it
    brings five ninths of that; the composition is stated, so nothing else of it changes."""

    def kilos(loses: str) -> float:
        edit(kitchen, "processes/baked.yaml", "loses: 10 %", f"loses: {loses}")
        edit(kitchen, HOUSE, "air: 1 °C}", "air: 1 °C, power: 2 kW}")
        done = run(kitchen, "predict", "pork-bake", "--total", "8 kg", "--format", "json")
        edit(kitchen, HOUSE, "air: 1 °C, power: 2 kW}", "air: 1 °C}")
        edit(kitchen, "processes/baked.yaml", f"loses: {loses}", "loses: 10 %")
        (load,) = json.loads(done.stdout)["loads"]
        return float(load["kg"])

    assert kilos("10 %") == pytest.approx(float(8 * Fraction(9, 10)), rel=1e-6)
    assert kilos("30 %") == pytest.approx(float(8 * Fraction(7, 10)), rel=1e-6)


# --- the days of its parts, and what nobody read


def spice_of(day: str, more: str = "") -> str:
    return (
        f"formula: house-spice\nrevision: 2\nlot: 261102-1\nday: {day}\nsize: 500 g base\n"
        f"used:\n  - {{item: white-pepper, weight: 350 g}}\n  - {{item: nutmeg, weight: 300 g}}\n"
        f"made: 600 g\n{more}"
    )


@pytest.mark.parametrize(
    ("spice", "said"),
    [
        (spice_of("2026-11-02", "use_by: 2026-11-19\n"), "Its last day was 19 Nov 2026"),
        (spice_of("2026-11-02", "use_by: 2026-11-20\n"), ""),
        (spice_of("2026-11-02"), ""),
        (spice_of("2026-11-20"), ""),
    ],
)
def test_a_part_past_its_last_day_is_said(kitchen: Path, spice: str, said: str) -> None:
    """By `record` and by `check`, on the record that used it."""
    assert record(kitchen, spice, name="spice.yaml").returncode == 0
    done = record(kitchen, YAML, "--format", "json")
    assert done.returncode == 0, done.stderr
    found = [d for d in json.loads(done.stdout)["doubts"] if d["code"] == "record-part-late"]
    assert bool(found) is bool(said)
    assert all(said in one["words"] for one in found)
    checked = [f for f in compute(kitchen).findings if f.code == "record-part-late"]
    assert len(checked) == len(found)
    assert all(f.place.file.endswith("pork-bake-261120-1.yaml") for f in checked)


def test_a_limit_nobody_read_is_named(kitchen: Path) -> None:
    done = record(kitchen, YAML.replace("  - {step: bake,", "  - {step: chill,", 1), "--dry-run")
    assert "Not read: bake" in done.stdout, done.stdout + done.stderr
    whole = record(kitchen, YAML, "--dry-run", "--format", "json")
    unread = json.loads(whole.stdout)["not_read"]
    assert "bake" not in unread and "chill" in unread


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        ("3 °C", "within"),
        ("-18 °C", "within"),
        ("-200 °C", "can't tell"),
        ("-320 °F", "can't tell"),
    ],
)
def test_a_reading_colder_than_any_food_shows_nothing(
    tmp_path: Path, typed: str, verdict: str
) -> None:
    """Of a hot one, 640 °C, the same is said: no core is hotter than boiling water."""
    kitchen = lay("base", tmp_path / "kitchen")
    text = YAML.replace("74 °C}", f"74 °C}}\n  - {{step: store, at: '13:05', value: {typed}}}")
    (kitchen / "b.yaml").write_text(text, encoding="utf-8")
    done = run(kitchen, "record", "b.yaml", "--dry-run")
    assert f"store: {verdict}" in done.stdout, done


def test_a_reading_hotter_than_any_core_shows_nothing(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path / "kitchen")
    (kitchen / "b.yaml").write_text(YAML.replace("74 °C", "640 °C"), encoding="utf-8")
    assert "bake: can't tell" in run(kitchen, "record", "b.yaml", "--dry-run").stdout

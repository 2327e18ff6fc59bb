"""What an answer about a formula carries beside its figures: cautions, whose rules govern, what to
do when missed."""

from __future__ import annotations

import json
import re

from commands import run
from conftest import ROOT
from each_row import each_row

from generator.answers.batch import batch_data, batch_text
from generator.answers.cautions import cautions_record, governs, with_cautions
from generator.answers.limits import limits_text
from generator.answers.sheet import sheet_record
from generator.rules.basics.limit import InWords, NotCovered, ShareLimit
from generator.rules.basics.missed import in_general, missed_words
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view, other_scale

FORMULAS = sorted(p.stem for p in (ROOT / "standards" / "formulas").glob("*.yaml"))


@each_row("formula", FORMULAS)
def test_every_answer_of_every_formula_carries_its_cautions_and_who_governs(
    demo: Manual, formula: str
) -> None:
    sheet = demo.sheets[formula]
    held = {n.words for n in sheet.notices.page}
    held |= {n.words for notices in sheet.notices.by_step.values() for n in notices}
    batch = sheet.batches[0]
    texts = [batch_text(sheet, batch), with_cautions(limits_text(sheet.walk), sheet)]
    for text in texts:
        plain = text.replace("\u00a0", " ")
        assert governs(sheet).replace("\u00a0", " ") in plain
        for words in held:
            assert words.replace("\u00a0", " ") in plain
    records = [
        batch_data(sheet, batch, demo.walks),
        sheet_record(sheet, sheet.batches, demo.walks),
        cautions_record(sheet),
    ]
    for record in records:
        assert {c["words"] for c in record["cautions"]} == held
        assert record["governs"] == governs(sheet)


def test_the_commands_carry_them(demo: Manual) -> None:
    for words in (["limits", "barley-soup"], ["batch", "barley-soup"]):
        reported = run(ROOT, *words).stdout
        assert "Cautions" in reported and "local code wins" in reported
        answer = json.loads(run(ROOT, *words, "--format", "json").stdout)
        assert answer["cautions"] and "local code wins" in answer["governs"]
    assert "local code wins" in json.loads(run(ROOT, "data", "barley-soup").stdout)["governs"]


def test_a_danger_is_read_before_anything_is_weighed(demo: Manual) -> None:
    cured = [
        s
        for s in demo.sheets.values()
        if any(n.severity == "danger" for ns in s.notices.by_step.values() for n in ns)
    ]
    assert cured
    for sheet in cured:
        text = batch_text(sheet, sheet.batches[0])
        assert text.index("DANGER: ") < text.index("Weigh ")


FIGURE = re.compile(r"\d")


def test_what_to_do_when_missed_gives_its_figure(demo: Manual) -> None:
    """Every box of a limit with a figure, but where the process or the rule says what to do."""
    assert demo.house is not None
    seen = set()
    for sheet in demo.sheets.values():
        for limit in sheet.walk.limits:
            if isinstance(limit, NotCovered | InWords | ShareLimit) or limit.if_missed:
                continue  # what food is sold as has no figure to go by at the bench
            view = limit_view(demo.house, limit)
            assert view.if_missed and FIGURE.search(view.if_missed), (limit.id, view.if_missed)
            assert "{" not in view.if_missed and "|" not in view.if_missed
            if view.figures and limit.hazard in ("cook", "reheat", "hot_hold", "cold_hold"):
                shown = view.figures[0]
                assert f"{shown.number}\u00a0{shown.unit}" in view.if_missed
            seen.add(limit.hazard)
    assert {"cook", "cool", "hot_hold", "cold_hold", "reheat", "additive"} <= seen


def test_a_cooling_that_is_late_gives_each_deadline(demo: Manual) -> None:
    """Food Code 3-501.14(A) on a probe of ±1 °C; reheated to 165 °F, read at 75 °C."""
    limit = next(lm for lm in demo.sheets["barley-soup"].walk.limits if lm.hazard == "cool")
    assert demo.house is not None
    view = limit_view(demo.house, limit)
    assert view.if_missed.replace("\u00a0", " ") == (
        "Above 20 °C after 2 h: reheat to 75 °C once, then chill again in smaller pieces. "
        "Above 4 °C after 6 h: throw it away."
    )
    assert "68 °F after 2 h: reheat to 167 °F once" in view.missed_other.replace("\u00a0", " ")
    words = demo.house.library.hazards["cool"]
    other = missed_words(demo.house, limit, words, other_scale(demo.house.kitchen.temperature))
    assert other == view.missed_other
    assert in_general(words) == (
        "Above the limit after the first time: reheat to its limit for reheating once, then chill "
        "again in smaller pieces. "
        "Above the limit after the last time: throw it away."
    )
    for hazard in demo.house.library.hazards.values():
        assert "{" not in in_general(hazard) and "|" not in in_general(hazard)

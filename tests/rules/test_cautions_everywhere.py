"""Whatever is hot, sharp or turning has its caution at the step, whole there or before it; none
contradicts its step.

The oracle here asks a step's machine, temperatures, cold place and effects, as a person with a
thermometer would who doesn't know the names of the work. It shares no code with the product.
"""

from __future__ import annotations

import html
import random
import re
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, compute
from each_row import each_row
from guide_text import changes, kitchen_of_the_guide, lay_over
from oracle_of_time import lay_many, some_kitchen

from generator.answers.batch import batch_data, batch_text
from generator.answers.cautions import cautions_record, governs, with_cautions
from generator.answers.limits import limits_text
from generator.answers.sheet import sheet_record
from generator.binder.batch_sheet import batch_sheets
from generator.pages import make_pages
from generator.reference.cautions import When
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.resolve.joined import JoinedStep
from generator.rules.basics.product import Product
from generator.sheet.cautioning import ASK_FIRST, Raised, notices_for, shared_machines
from generator.sheet.manual import Broken, Manual
from generator.sheet.walk import Walk

LIBRARY = read_reference(installed())
HOT = {"hot-oil", "hot-fat", "hot-water", "hot-oven", "hot-food"}
OF_MACHINE = {
    "slicer": {"slicer-blade"},
    "grinder": {"grinder-hands"},
    "cutter": {"cutter-blades"},
    "blender": {"cutter-blades"},
    "mixer": {"mixer-running"},
    "stuffer": {"machine-guards"},
    "packer": {"machine-guards"},
    "other": {"machine-guards"},
    "pressure-cooker": {"under-pressure"},
    "retort": {"under-pressure"},
    "fryer": {"hot-oil"},
    "griddle": {"hot-fat"},
    "oven": {"hot-oven"},
    "kettle": {"hot-water"},
    "bath": {"hot-water"},
    "pot": HOT,
    "microwave": HOT,
    "hot-holding": HOT,
}
HEATERS = {
    "oven",
    "kettle",
    "bath",
    "pot",
    "microwave",
    "hot-holding",
    "fryer",
    "griddle",
    "pressure-cooker",
    "retort",
}
OF_WORK = {
    "comminutes": "grinder-hands",
    "slices": "slicer-blade",
    "packs-without-air": "machine-guards",
}
"""What the trade does on a machine, where none is named."""
TOOLS = re.compile(
    r"\bhand\b|knife|knives|cleaver|mortar|pestle|\bfork\b|board|masher|ricer|mandolin"
)
BLADED = {"slicer", "grinder", "cutter", "blender"}
BURNS, OVER_WATER = 60, 115
HOUR = 3600


def needs(step: JoinedStep, hot: bool) -> list[set[str]]:
    """Of each set one caution has to be at the step; ``hot`` says whether hot food comes to
    it."""
    kind = step.machine.kind if step.machine is not None else ""
    at = step.step.at.warmest.celsius if step.step.at is not None else None
    cool = step.cold is not None or (at is not None and at < 50)
    found: list[set[str]] = []
    if kind in OF_MACHINE and not (kind in HEATERS and cool):
        found.append(OF_MACHINE[kind])
    if "cleans" in step.effects:
        return found
    if hot or burns(step):
        found.append(HOT)
    if at is not None and at > OVER_WATER and "cooks" in step.effects and kind in ("", "pot"):
        found.append({"hot-oil", "hot-oven"})
    if step.effects & {"cuts", "slices"} and kind not in BLADED:
        found.append({"knives"})
    if step.effects & {"injects", "tenderises"}:
        found.append({"needles"})
    if not kind and not TOOLS.search(" ".join((*step.step.how, step.step.until, step.step.note))):
        work = OF_WORK | ({"comminutes": "knives"} if "chop" in step.verb.lower() else {})
        found += [{work[effect]} for effect in sorted(step.effects & set(work))]
    if "in-water" in step.effects and burns(step):
        found.append({"hot-water", "hot-oil"} if not kind else HOT)
    if hot and kind == "blender":
        found.append({"blender-hot", "hot-food", "hot-oven", "hot-fat", "hot-oil"})
    return found


def pours(food: Product) -> bool:
    """Whether a third of it and more is liquid, with nothing raw of an animal: no grinder is asked
    for it."""
    liquid = sum(c.grams for c in food.components if c.form == "liquid" and c.boils != "fat")
    return 3 * liquid >= sum(c.grams for c in food.components) and not food.raw_animals


def burns(step: JoinedStep) -> bool:
    """Whether the step itself heats."""
    kind = step.machine.kind if step.machine is not None else ""
    at = step.step.at.warmest.celsius if step.step.at is not None else None
    target = step.target.warmest if step.target is not None else None
    if (at or 0) >= BURNS or (target is not None and target.celsius >= BURNS):
        return True
    cool = step.cold is not None or at is not None
    heats = kind in HEATERS or step.effects & {
        "cooks",
        "reheats",
        "heats",
        "part-cooks",
        "holds-hot",
    }
    return bool(heats) and not cool


def hot_after(step: JoinedStep, hot: bool) -> bool:
    if step.cold is not None or step.effects & {"cools", "freezes", "thaws"}:
        return False
    if burns(step):
        return True
    if step.target is not None and step.target.warmest is not None:
        return hot and step.target.warmest.celsius >= BURNS
    seconds = step.step.time.longest if step.step.time is not None else 0
    return hot and seconds < HOUR


CONTRARY = (
    (r"open or loosely covered", r"\blid on\b|tightly|\bstack(ed)?\b"),
    (r"on the counter, germs grow outside", r"on the (counter|bench)|room temperature"),
    (r"don't taste", r"\btaste (it|the (dough|mixture))\b"),
    (r"no bare hands", r"bare hands"),
    (r"don't wash it", r"\b(wash|rinse) (it|the (birds?|chicken))\b"),
    (r"never serve it pink", r"\bpink\b|\brosy\b"),
    (r"guard (on|down)|use the guard|keep the guard", r"without the guard|guard (off|up)"),
    (r"break it last", r"break"),
    (r"only the probe|no sign", r"no probe"),
    (r"a third at most", r"half full|to the brim"),
    (r"in the refrigerator", r"running water"),
)
"""What one says, and what would be the contrary of it."""


def problems(walk: Walk, raised: Raised) -> tuple[list[str], Counter[str]]:
    """What is wrong with a formula's cautions, and how often each need was met."""
    notices = raised.notices
    wrong: list[str] = []
    met: Counter[str] = Counter()
    hot, stood = False, {n.id for n in notices.before}
    off = {n for n in walk.formula.formula.cautions_off}
    asked_about = {
        f.place.line for f in raised.findings if f.code == "step-against-caution" and f.place
    }
    for walked in walk.steps:
        step = walked.step
        here = notices.by_step.get(step.number, ())
        reported = {n.id for n in here}
        where = f"{walk.formula.id} {step.number} {step.verb}"
        if "cleans" not in step.effects:
            hot = hot or any(
                c.comes == "hot" for c in walked.before.components if c.part in step.parts
            )
        for need in needs(step, hot):
            if need == {"grinder-hands"} and pours(walked.before):
                need = {"grinder-hands", "cutter-blades"}
            if not (reported | off) & need:
                wrong.append(f"{where}: none of {sorted(need)}, has {sorted(reported)}")
            met[min(need)] += 1
        for notice in here:
            if not notice.whole and notice.id not in stood:
                wrong.append(f"{where}: {notice.id} is short and was never whole")
            if notice.whole and notice.id in stood and not notice.words.startswith(ASK_FIRST):
                wrong.append(f"{where}: {notice.id} is whole twice")
            stood.add(notice.id)
            text = " ".join((*step.step.how, step.step.until, step.step.note)).casefold()
            for says, contrary in CONTRARY:
                if re.search(says, notice.words.casefold()) and re.search(contrary, text):
                    met["contrary"] += 1
                    place = step.step.place("do")
                    if not notice.words.startswith(ASK_FIRST) or place.line not in asked_about:
                        wrong.append(f"{where}: {notice.id} contradicts “{text}”")
        if "cleans" not in step.effects:
            hot = hot_after(step, hot)
    return wrong, met


def all_problems(manual: Manual) -> tuple[list[str], Counter[str], int]:
    assert manual.house is not None, [f.message for f in manual.errors][:3]
    shared = shared_machines(manual.walks.values())
    wrong: list[str] = []
    met: Counter[str] = Counter()
    for walk in manual.walks.values():
        more, found = problems(walk, Raised(manual.house, walk, shared))
        wrong += more
        met += found
    return wrong, met, sum(len(walk.steps) for walk in manual.walks.values())


def test_every_step_of_the_demo_has_its_caution(demo: Manual) -> None:
    wrong, met, _ = all_problems(demo)
    assert not wrong, "\n".join(wrong)
    assert {"grinder-hands", "slicer-blade", "knives", "needles", "hot-oven", "hot-water"} <= set(
        met
    )


def test_every_step_of_the_guides_kitchens_has_its_caution(tmp_path: Path) -> None:
    first = tmp_path / "guide"
    kitchen_of_the_guide(first)
    seen = 0
    for number, change in enumerate([None, *(c for c in changes() if not c.asks)]):
        project = tmp_path / f"k{number}"
        shutil.copytree(first, project)
        if change is not None:
            lay_over(project, change)
        manual = compute(project)
        if isinstance(manual, Broken) or not manual.walks:
            continue
        wrong, _, steps = all_problems(manual)
        assert not wrong, "\n".join(wrong)
        seen += steps
    assert seen > 50


# ---- random kitchens

EQUIPMENT = """\
slicer: {kind: slicer, name: Slicer}
grinder: {kind: grinder, name: Grinder}
cutter: {kind: cutter, name: Bowl cutter}
blender: {kind: blender, name: Blender}
mixer: {kind: mixer, name: Mixer}
stuffer: {kind: stuffer, name: Stuffer}
packer: {kind: packer, name: Packer}
griddle: {kind: griddle, name: Griddle}
kettle: {kind: kettle, name: Kettle}
bath: {kind: bath, name: Bath}
microwave: {kind: microwave, name: Microwave}
cooker: {kind: pressure-cooker, name: Pressure cooker}
"""
MACHINES = ("slicer", "grinder", "cutter", "blender", "mixer", "stuffer", "packer")
HEATS = (
    ("oven", "180 °C"),
    ("pot", "98 °C"),
    ("pot", "170 °C"),
    ("fryer", "175 °C"),
    ("fryer", None),
    ("griddle", "170 °C"),
    ("kettle", "95 °C"),
    ("bath", "80 °C"),
    ("microwave", None),
    ("cooker", None),
    ("", "170 °C"),
    ("", None),
)
SHARP = ("cuts", "slices", "injects", "tenderises", "comminutes", "[takes-off, handles]", "divides")
TEXTS = (
    "Lid on.",
    "Covered tightly.",
    "Uncovered.",
    "On a rack over a tray.",
    "Thaw it on the counter.",
    "Taste it.",
    "Until it is brown and no longer pink.",
    "Bare hands are fine here.",
    "Under cold running water.",
    "Guard off.",
    "Fill it to the brim.",
    "Stacked.",
    "Rinse the birds.",
)


def dangerous(rng: random.Random) -> Any:
    """A random dish with machines, hot pans and knives under verbs nobody has heard of, and words
    of any kind."""
    kitchen = some_kitchen(rng)
    for number, act in enumerate(kitchen.acts):
        step = act.yaml
        if act.place == "heat":
            using, at = rng.choice(HEATS)
            step.pop("with", None), step.pop("at", None)
            if using:
                step["with"] = using
            if at:
                step["at"] = at
        elif act.works or (act.place == "room" and rng.random() < 0.5 and not act.serves):
            if rng.random() < 0.5:
                step["with"] = rng.choice(MACHINES)
            if rng.random() < 0.6:
                step["do"] = f"work-{number}"
                step["does"] = rng.choice(SHARP).strip("[]").split(", ")
        if rng.random() < 0.4:
            step["how"] = [rng.choice(TEXTS)]
    return kitchen


def lay_dangerous(project: Path, seed: int, count: int) -> Manual:
    rng = random.Random(seed)
    lay_many(project, [dangerous(rng) for _ in range(count)])
    (project / "standards/equipment/more.yaml").write_text(EQUIPMENT, encoding="utf-8")
    return compute(project)


def random_problems(project: Path, seed: int, count: int) -> Counter[str]:
    manual = lay_dangerous(project, seed, count)
    wrong, met, steps = all_problems(manual)
    print(
        f"{len(manual.walks)} formulas of {count} kitchens, {steps} steps, needs met: {dict(met)}"
    )
    assert len(manual.walks) >= count * 0.9
    assert not wrong, f"{len(wrong)}\n" + "\n".join(wrong[:20])
    return met


def test_every_step_of_200_random_kitchens_has_its_caution(tmp_path: Path) -> None:
    met = random_problems(tmp_path, 20261129, 200)
    assert min(met[n] for n in ("knives", "needles", "slicer-blade", "hot-oil", "contrary")) >= 10


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_every_step_of_thousands_of_random_kitchens(tmp_path: Path, seed: int) -> None:
    random_problems(tmp_path, seed, 1000)


# ---- triggers, and where cautions are


def test_no_trigger_names_a_verb() -> None:
    assert "verb" not in When.model_fields and "do" not in When.model_fields
    for ident, caution in LIBRARY.cautions.items():
        words: set[str] = set()
        for key in caution.when.model_fields_set - {"does", "at_hand", "state", "function"}:
            value = getattr(caution.when, key)
            words |= {str(w) for w in (value if isinstance(value, tuple) else (value,))}
        assert not words & set(LIBRARY.verbs), ident


def test_frying_in_two_inches_of_oil_has_its_danger_whatever_it_is_called(tmp_path: Path) -> None:
    """Oil among what is taken in, or a pan hotter than water gets; own verbs, no machine, a pot."""
    rng = random.Random(1)
    kitchens = []
    for step in (
        {"do": "crisp", "does": ["cooks"], "with": "pot", "target": "core 76 °C"},
        {"do": "crisp", "does": ["cooks"], "target": "core 76 °C"},
        {"do": "braise", "with": "pot", "at": "170 °C", "target": "core 76 °C"},
        {"do": "crisp", "does": ["cooks"], "at": "170 °C", "target": "core 76 °C"},
    ):
        kitchen = some_kitchen(rng)
        while kitchen.item != "pork-loin":
            kitchen = some_kitchen(rng)
        kitchen.acts, kitchen.split = kitchen.acts[:1], 0
        kitchen.acts[0].yaml = step
        kitchens.append(kitchen)
    lay_many(tmp_path, kitchens)
    for path in (tmp_path / "standards/formulas").glob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("pork-loin: 10 kg", "pork-loin: 10 kg\n    oil: 60 %"))
    manual = compute(tmp_path)
    assert manual.house is not None
    for walk in manual.walks.values():
        notices = notices_for(manual.house, walk, frozenset())
        assert "hot-oil" in {n.id for n in notices.by_step[1]}, walk.formula.id
    assert len(manual.walks) == len(kitchens)


def test_every_danger_of_the_food_stands_before_it_is_weighed(demo: Manual) -> None:
    """Cure, souring to keep, packing without air: on the page, in text, in JSON and on paper."""
    pages = {page.uri: html.unescape(page.text) for page in make_pages(demo)}
    seen: set[str] = set()
    for ident, sheet in demo.sheets.items():
        for notice in sheet.notices.before:
            seen.add(notice.id)
            page = pages[f"{sheet.formula.formula.home}/{ident}.md"]
            first = page.index('<h2 id="weigh">')
            words = notice.words
            assert first < page.index(words) < page.index("ks-row", first)
            assert page.index(words) < page.index('<h2 id="steps">')
            text = batch_text(sheet, sheet.batches[0])
            assert text.index(f"DANGER: {notice.words}") < text.index("Weigh ")
            record = next(c for c in cautions_record(sheet)["cautions"] if c["id"] == notice.id)
            assert record["before_weighing"] and record["whole"] and record["severity"] == "danger"
            for made in batch_sheets(demo, sheet):
                forms = [b for b in made["blocks"] if b["form"] in ("notice", "weigh")]
                reported = [
                    b for b in forms if b["form"] == "notice" and b["words"] == notice.words
                ]
                weighed = next(b for b in forms if b["form"] == "weigh")
                rows = [r for b in forms if b["form"] == "weigh" for r in b["rows"]]
                above = [n for n, r in enumerate(rows) if r.get("words") == notice.words]
                if above:  # a cure's: over its row, with room for two people's initials
                    assert rows[above[0]]["row"] == "danger" and len(rows[above[0]]["boxes"]) == 2
                    (line,) = [r for r in rows[above[0] + 1 : above[0] + 2] if r["row"] == "line"]
                    assert "cure" in line["name"].lower() or "Curing" in line["name"]
                else:
                    assert forms.index(reported[0]) < forms.index(weighed)
    assert seen == {"curing-salt-looks-like-salt", "acidified", "reduced-oxygen"}


def test_it_stands_whole_once_and_short_after(demo: Manual) -> None:
    """By hand: the slicer is cleaned at step 6 and used at step 7."""
    sheet = demo.sheets["roast-beef-cold"]
    first = next(n for n in sheet.notices.by_step[6] if n.id == "slicer-blade")
    again = next(n for n in sheet.notices.by_step[7] if n.id == "slicer-blade")
    assert first.whole and not again.whole
    assert again.short == "The blade cuts to the bone, also while you clean it."
    page = next(
        html.unescape(p.text) for p in make_pages(demo) if p.uri.endswith("/roast-beef-cold.md")
    )
    assert page.count(first.words) == 1
    assert f"<b>WARNING:</b> {again.short}</p>" in page
    text = batch_text(sheet, sheet.batches[0])
    assert f"Step 7, Slice: WARNING: {again.short}\n" in text and text.count(first.words) == 1


@each_row("formula", sorted(p.stem for p in (ROOT / "standards/formulas").glob("*.yaml")))
def test_every_answer_carries_every_caution_at_its_step(demo: Manual, formula: str) -> None:
    sheet = demo.sheets[formula]
    batch = sheet.batches[0]
    expected = [(n.id, None) for n in (*sheet.notices.page, *sheet.notices.before)]
    expected += [(n.id, i) for i in sorted(sheet.notices.by_step) for n in sheet.notices.by_step[i]]
    for record in (
        batch_data(sheet, batch, demo.walks),
        sheet_record(sheet, sheet.batches, demo.walks),
        cautions_record(sheet),
    ):
        assert [(c["id"], c.get("step_number")) for c in record["cautions"]] == expected
        assert record["governs"] == governs(sheet)
    for text in (batch_text(sheet, batch), with_cautions(limits_text(sheet.walk), sheet)):
        reported = text.replace("\u00a0", " ")
        for notice in sheet.notices.all:
            assert (notice.words if notice.whole else notice.short).replace(
                "\u00a0", " "
            ) in reported
        assert governs(sheet).replace("\u00a0", " ") in reported


def test_the_short_form_is_the_first_clause() -> None:
    for ident, caution in LIBRARY.cautions.items():
        if caution.stands == "page":
            continue  # never short
        first = re.split(r"[.;]", caution.words)[0]
        assert len(first) <= 110, ident


def test_our_own_depth_is_marked_as_ours() -> None:
    """Food Code 3-501.15 says shallow, and no figure."""
    words = LIBRARY.cautions["deep-vessel-chills-slowly"].words
    assert "65 mm" in words and "our working rule" in words


def test_count_of_whole_boxes_on_a_page_of_the_demo(demo: Manual) -> None:
    whole = {i: sum(n.whole for n in s.notices.all) for i, s in demo.sheets.items()}
    short = sum(not n.whole for s in demo.sheets.values() for n in s.notices.all)
    print(
        f"{sum(whole.values())} whole boxes on {len(whole)} pages, at most "
        f"{max(whole.values())}; {short} short"
    )
    assert max(whole.values()) <= 16
    for sheet in demo.sheets.values():
        ids = [n.id for n in sheet.notices.all if n.whole]
        assert len(ids) == len(set(ids)), "whole once"

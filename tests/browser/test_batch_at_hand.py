"""Any batch size on the phone: the script's figures are the generator's, to the last digit."""

from __future__ import annotations

import json
import random
import shlex
from collections.abc import Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from browsing import engine_of
from conftest import AS_OF, TESTS, compute
from counted_kitchens import lay_counted
from test_house_measures import in_pounds
from test_one_order import MORE, ONE, fried

from generator.cli.sizes import asked_batch
from generator.files.finding import Refused
from generator.measures.marks import as_written, written_with
from generator.pages import STATIC
from generator.pages.batch_record import batch_record
from generator.scaling.batch import yields_at
from generator.scaling.scales import too_coarse_words
from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.size_words import run_words

ENGINE = (STATIC / "batch.js").read_text(encoding="utf-8")
RUN = """text => { const [records, asked] = JSON.parse(text); return asked.map(([record, kind, text]) => {
    try {
        const b = ksBatch.make(records[record], kind, text);
        b.lines.forEach(ln => { ln.shown = ksBatch.shows(ln.on.scale, ln.on.grams); ln.coarse = ln.on.needs ? ksBatch.coarse(ln.on) : ''; });
        return JSON.stringify(b, (key, v) => typeof v === 'bigint' ? String(v) : v);
    } catch (e) { if (!e.code) throw e; return JSON.stringify({refused: e}); }
}); }"""
Asked = tuple[str, str, Any]
REPORTED_ALIKE = (
    "size-too-large",
    "not-to-order",
    "size-below-a-piece",
    "vessels-too-few",
    "runs-wait-too-long",
)
"""Refusals whose words, and whose sizes that do, are the same on the phone."""


@pytest.fixture(scope="module")
def engine(browser: Any) -> Iterator[Any]:
    with engine_of(browser, ENGINE) as page:
        yield page


def record_of(sheet: Sheet) -> Any:
    return batch_record(sheet)


def run(engine: Any, asked: Sequence[Sequence[Any]]) -> list[str]:
    """The script's answers, as JSON; a record that is asked of often is given to it once."""
    records = {id(record): record for record, _, _ in asked}
    at = {ident: number for number, ident in enumerate(records)}
    texts = [[at[id(record)], kind, text] for record, kind, text in asked]
    found: list[str] = engine.evaluate(RUN, json.dumps([list(records.values()), texts]))
    return found


def answered(sheet: Sheet, kind: str, text: Any) -> Batch | Refused:
    """What `kitchen-manual batch` answers."""
    options: dict[str, Any] = {"on_hand": ()}
    if kind == "have":
        options["on_hand"] = tuple(f"{item}={amount}" for item, amount in text)
    else:
        options[f"{kind}_"] = text
    try:
        found = asked_batch(sheet, options)
    except Refused as refused:
        return refused
    assert found is not None
    return found


def frac(text: str | None) -> Fraction | None:
    return None if text is None else Fraction(text)


def compare(sheet: Sheet, asked: Asked, ours: dict[str, Any]) -> str:
    """Hold one answer of the script against the generator's. Returns what it was."""
    _, kind, text = asked
    theirs = answered(sheet, kind, text)
    where = f"{sheet.id} {kind} {text}"
    if isinstance(theirs, Refused):
        assert "refused" in ours, f"{where}: {theirs.message}"
        reported = ours["refused"]
        assert reported["message"].startswith(theirs.message), where
        if theirs.code.startswith("load-") or theirs.code in REPORTED_ALIKE:
            assert reported["code"] == theirs.code
            assert reported["message"] == f"{theirs.message} {theirs.help}".strip(), where
        return "refused"
    assert "refused" not in ours, f"{where}: {ours.get('refused')}"
    assert ours["label"] == theirs.label, where
    assert Fraction(ours["factor"]) == theirs.factor, where
    for line, mine in zip(theirs.lines, ours["lines"], strict=True):
        weighing, at = line.weighing, f"{where}: {line.name}"
        assert weighing.scale is not None
        assert mine["on"]["scale"]["id"] == weighing.scale.id, at
        assert Fraction(mine["on"]["grams"]) == weighing.grams, at
        assert Fraction(mine["on"]["each"]) == weighing.each, at
        assert int(Fraction(mine["on"]["n"])) == weighing.count, at
        assert Fraction(mine["on"]["share"]) == weighing.share, at
        assert Fraction(mine["on"]["ok"]) == weighing.permitted, at
        assert frac(mine["on"].get("needs")) == weighing.needs, at
        assert mine["coarse"] == (too_coarse_words(weighing) if weighing.needs else ""), at
        assert mine["shown"] == weighing.scale.shows(weighing.grams), at
        assert int(Fraction(mine["n"])) == line.loads, at
        assert Fraction(mine["all"]) == line.exact_g, at
        assert Fraction(mine["bought"]) == line.purchased_g, at
        if line.line.joined.line.amount.kind in ("volume", "count"):
            assert mine["words"] == line.household, at
    assert int(Fraction(ours["loads"]["n"])) == theirs.loads.count, where
    assert Fraction(ours["loads"]["grams"]) == theirs.loads.grams, where
    assert len(ours["steps"]) == len(theirs.step_loads)
    for one, mine in zip(theirs.step_loads, ours["steps"], strict=True):
        assert mine["id"] == one.step and mine["name"] == one.name
        assert [int(p) for p in mine["loads"].get("pieces", ())] == list(one.loads.pieces), where
        assert Fraction(mine["loads"]["grams"]) == one.loads.grams, where
        assert mine["words"] == run_words(one), where
        assert bool(mine["loads"].get("rest")) == one.loads.rest, where
        assert frac(mine.get("volume")) == one.volume_ml, where
    got, given = ours["yields"], theirs.yields
    pairs = {
        "base": given.base_g,
        "total": given.total_g,
        "filled": given.filled_g,
        "finished": given.finished_g,
        "yield": given.yield_g,
        "ends": given.ends_g,
        "fills": given.fills,
        "portions": given.portions,
        "portion": given.portion_g,
        "from": given.portion_from_g,
        "beside": given.beside_g or None,
        "to": given.portion_to_g,
    }
    assert {k: frac(got.get(k)) for k in pairs} == pairs, where
    assert Fraction(got.get("rest", "0")) == given.rest_g
    if theirs.on_hand is not None:
        assert ours["hand"]["item"] == theirs.on_hand.binding, where
        left = {item: Fraction(grams) for item, grams in ours["hand"]["left"].items()}
        assert left == theirs.on_hand.leftover, where
    return "loads" if theirs.loads.count > 1 else "one load"


def weight(dice: random.Random, grams: float) -> str:
    """A weight near so many grams, as somebody might type it."""
    form = dice.randrange(7)
    if form == 0:
        return as_written(f"{round(grams / 1000, 3)} kg".replace("0 kg", "01 kg"))
    if form == 1:
        return f"{max(1, round(grams))}g"
    if form == 2:
        return as_written(f"{round(grams, 1) + 0.1:.1f} g")
    if form == 3:
        return f"{int(grams // 454)} lb {dice.randrange(1, 16)} oz" if grams > 460 else "9 oz"
    if form == 4:
        return f"{max(1, int(grams // 1000))}½ kilos"
    if form == 5:
        return f"{int(grams // 454) + 1} {dice.randrange(1, 8)}/8 lb"
    return as_written(f"{round(grams / 28.35, 2) + 0.01:.2f} oz")


def volume(dice: random.Random, ml: float) -> str:
    """A volume near so many millilitres, as somebody might type it."""
    form = dice.randrange(4)
    if form == 0:
        return as_written(f"{round(ml / 1000, 2) + 0.01:.2f} l")
    if form == 1:
        return f"{max(1, round(ml))}ml"
    if form == 2:
        return f"{int(ml // 947) + 1} qt {dice.randrange(1, 3)} cups"
    return f"{max(1, round(ml / 237))} fl oz"


def random_sizes(manual: Manual, many: int, seed: int) -> list[tuple[Sheet, Asked]]:
    dice = random.Random(seed)
    every = [(sheet, record_of(sheet)) for sheet in manual.sheets.values()]
    sheets = [(sheet, record) for sheet, record in every if not record.get("only")]
    found: list[tuple[Sheet, Asked]] = []
    while len(found) < many:
        sheet, record = sheets[len(found) % len(sheets)]
        figures = sheet.walk.figures
        times = 10 ** dice.uniform(-1.3, 1.2)
        kind = dice.choice(("total", "base", "yield", "fills", "portions", "have"))
        text: Any
        if kind in ("total", "base", "yield"):
            whole = {"total": figures.total, "base": figures.base, "yield": figures.yielded}[kind]
            text = weight(dice, float(whole) * times)
            if kind == "base" and "baseMl" in record:
                text = volume(dice, float(Fraction(record["baseMl"])) * times)
        elif kind == "have":
            lines = dice.sample(record["lines"], dice.randint(1, min(3, len(record["lines"]))))
            text = []
            for line in lines:
                if line["item"] in dict(text):
                    continue
                grams = float(Fraction(line["g"])) * times * dice.uniform(0.7, 1.4)
                amount = weight(dice, grams)
                if line.get("pieces") and dice.random() < 0.5:
                    word, each = dice.choice(line["pieces"])
                    amount = f"{max(1, round(grams / float(Fraction(each))))} {word}"
                text.append([line["item"], amount])
        else:
            at_one = yields_at(Fraction(1), figures)
            usual = (at_one.fills if kind == "fills" else at_one.portions) or 10
            text = str(max(1, round(usual * times)))
        found.append((sheet, (record, kind, text)))
    return found


def hold(manual: Manual, engine: Any, many: int, seed: int) -> dict[str, int]:
    with written_with(manual.writing):
        sizes = random_sizes(manual, many, seed)
        answers = [json.loads(a) for a in run(engine, [asked for _, asked in sizes])]
        kinds: dict[str, int] = {}
        for (sheet, asked), ours in zip(sizes, answers, strict=True):
            what = compare(sheet, asked, ours)
            kinds[what] = kinds.get(what, 0) + 1
    return kinds


@pytest.fixture(scope="module")
def second() -> Manual:
    """A kitchen of another place, with a decimal comma."""
    return make_manual(TESTS / "kitchens/second_kitchen", AS_OF)


def test_500_random_sizes_of_all_demo_formulas(demo: Manual, engine: Any) -> None:
    kinds = hold(demo, engine, 500, 20261125)
    assert sum(kinds.values()) == 500
    assert kinds["one load"] > 150 and kinds["loads"] > 35 and kinds["refused"] > 100, kinds


def test_random_sizes_of_other_kitchens(second: Manual, clean: Manual, engine: Any) -> None:
    kinds = hold(second, engine, 150, 7)
    assert kinds["one load"] > 40 and kinds["loads"] > 10, kinds
    kinds = hold(clean, engine, 60, 11)
    assert kinds["one load"] > 15, kinds


@pytest.mark.parametrize("weights", ["metric", "us"])
def test_500_random_sizes_of_formulas_that_count(weights: str, tmp_path: Path, engine: Any) -> None:
    """Pieces, fills by volume, places, runs and waits, and the sizes that a refusal proposes."""
    lay_counted(tmp_path / "kitchen", 29, 40)
    if weights == "us":
        in_pounds(tmp_path / "kitchen")
    manual = compute(tmp_path / "kitchen")
    assert not isinstance(manual, Broken) and len(manual.sheets) > 20
    kinds = hold(manual, engine, 500, 20261129)
    assert sum(kinds.values()) == 500
    assert kinds["loads"] > 80 and kinds["refused"] > 40, kinds


def test_random_sizes_of_a_kitchen_that_weighs_in_pounds(kitchen: Path, engine: Any) -> None:
    in_pounds(kitchen)
    manual = compute(kitchen)
    assert manual.writing.weights == "us"
    kinds = hold(manual, engine, 60, 13)
    assert kinds["one load"] > 15, kinds


def test_a_base_by_volume(demo: Manual, engine: Any) -> None:
    """So much milk and cream as there is, by the litre; a weight of it still does, and what is no
    volume is refused as the command does."""
    sheet = demo.sheets["millpond-cream"]
    record = record_of(sheet)
    texts = [
        "4.2 l",
        "1 gal",
        "2½ litres",
        "3 qt 1 cup",
        "4 kg",
        "0 l",
        "5 x",
        "3",
        "1,500 l",
    ]
    asked: list[Asked] = [(record, "base", text) for text in texts]
    with written_with(demo.writing):
        answers = [json.loads(a) for a in run(engine, asked)]
        found = [compare(sheet, one, ours) for one, ours in zip(asked, answers, strict=True)]
    assert found[:5] == ["one load"] * 5 and found[5:] == ["refused"] * (len(texts) - 5), found


def test_the_kitchens_own_sizes_are_the_sheets(demo: Manual, second: Manual, engine: Any) -> None:
    for manual in (demo, second):
        with written_with(manual.writing):
            for sheet in manual.sheets.values():
                record = record_of(sheet)
                if record.get("only"):
                    assert set(record) == {"id", "rev", "sizes", "only"}
                    continue
                answers = run(engine, [[record, *size] for size in record["sizes"]])
                for batch, answer in zip(sheet.batches, answers, strict=True):
                    ours = json.loads(answer)
                    assert ours["label"] == batch.label
                    assert [Fraction(ln["on"]["grams"]) for ln in ours["lines"]] == [
                        ln.weighing.grams for ln in batch.lines
                    ]


def test_more_than_one_guests_order(tmp_path: Path, engine: Any) -> None:
    """A formula that is made to order is worked out for one guest, here as there."""
    manual = compute(fried(tmp_path, "portion: 110 g", "1 portion"))
    sheet = manual.sheets["dish"]
    sizes = [(kind.lstrip("-"), text) for kind, text in (*MORE, *ONE)]
    asked: list[Asked] = [
        (record_of(sheet), "have", [text.split("=")])
        if kind == "on-hand"
        else (record_of(sheet), kind, text)
        for kind, text in sizes
    ]
    with written_with(manual.writing):
        answers = [json.loads(a) for a in run(engine, asked)]
        found = [compare(sheet, one, ours) for one, ours in zip(asked, answers, strict=True)]
    assert found == ["refused"] * len(MORE) + ["one load"] * len(ONE)


TYPED = (
    ("5 kg", True),
    ("5kg", True),
    ("2 lb 6 oz", True),
    ("1½ lb", True),
    ("1 1/2 kg", True),
    ("½ kilo", True),
    (".5 kg", True),
    ("12 oz.", True),
    ("1 500 g", False),
    ("1\u2009500 g", True),
    ("2 KG", True),
    ("3 kgs", False),
    ("5", False),
    ("", False),
    ("   ", False),
    ("-2 kg", False),
    ("+2 kg", False),
    ("0 kg", False),
    ("1/0 kg", False),
    ("9**9", False),
    ("1e400 kg", False),
    ("nan g", False),
    ("inf kg", False),
    ("5 oz water/cup", False),
    ("1,500 kg", False),
    ("1.500 kg", False),
    ("1.000,5 g", False),
    ("1.2.3 kg", False),
    ("1 T", False),
    ("1 t", False),
    ("6 oz 2 lb", False),
    ("2 lb 6", False),
    ("5 kg kg", False),
    ("12345678901 g", False),
    ("x" * 70, False),
    ("5 kg; drop", False),
    ("<b>5 kg</b>", False),
    ("5 %", False),
    ("3 each", False),
    ("3 éclairs", False),
    ("toString", False),
    ("5 toString", False),
    ("5 __proto__", False),
    ("99999999 kg", False),
)


@pytest.mark.parametrize("mark", ["point", "comma"])
def test_amounts_are_read_as_strictly_as_the_generator_reads(
    mark: Any, demo: Manual, engine: Any
) -> None:
    """The same texts are taken, for the same weight; the others are refused, and doubts reported
    alike."""
    sheet = demo.sheets["turkey-chive-roll"]
    with written_with(mark):
        record = record_of(sheet)
        typed = [t for t, _ in TYPED] + [
            "1,5 kg",
            "1.5 kg",
            "2,250 kg",
            "1.250 kg",
            "0,5 kg",
            "0.500 kg",
            "1,500",
            "1.500",
            "1 500 kg",
            "1'500 kg",
        ]
        answers = [json.loads(a) for a in run(engine, [[record, "base", t] for t in typed])]
        taken, same = {}, 0
        for text, ours in zip(typed, answers, strict=True):
            theirs = answered(sheet, "base", text)
            reported = ours.get("refused")
            taken[text] = reported is None or reported["code"].startswith(
                "load-"
            )  # read, and too little
            if isinstance(theirs, Refused):
                assert "refused" in ours, f"{text}: {theirs.message}"
                if reported["code"] == theirs.code != "unit-unknown":
                    assert reported["message"].startswith(theirs.message), text
                same += reported["code"] == theirs.code
                if reported["write"]:
                    typed_as = [f"--base {shlex.quote(fix)}" for fix in reported["write"]]
                    assert typed_as == list(theirs.write), text
            else:
                assert "refused" not in ours, f"{text}: {ours.get('refused')}"
                assert Fraction(ours["factor"]) == theirs.factor, text
        for text, fine in TYPED:
            if mark == "point" or not set(text) & {".", ","}:
                assert taken[text] == fine, text
        assert same >= 20


def test_counts_are_whole(demo: Manual, engine: Any) -> None:
    record = record_of(demo.sheets["turkey-chive-roll"])
    for text in ("1.5", "-3", "0", "", "8 rolls", "1e3", "٣", "1234567", "999999"):
        (answer,) = run(engine, [[record, "fills", text]])
        reported = json.loads(answer)["refused"]
        theirs = answered(demo.sheets["turkey-chive-roll"], "fills", text)
        assert isinstance(theirs, Refused) and reported["message"].startswith(theirs.message)


def test_what_a_formula_does_not_make_is_reported(demo: Manual, engine: Any) -> None:
    sausage = demo.sheets["race-sausage"]
    (answer,) = run(engine, [[record_of(sausage), "portions", "10"]])
    theirs = answered(sausage, "portions", "10")
    assert isinstance(theirs, Refused)
    assert json.loads(answer)["refused"]["message"] == f"{theirs.message} {theirs.help}"

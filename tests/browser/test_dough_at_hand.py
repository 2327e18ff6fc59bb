"""The water of a dough on the page: the script's figures and words are the command's."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import pytest
from browsing import engine_of
from conftest import AS_OF
from doughs import kitchen_with

from generator.files.finding import Refused
from generator.measures.marks import as_written, written_with
from generator.measures.temperature import Temperature, TemperatureDifference, read_temperature
from generator.pages import STATIC, make_pages
from generator.sheet.dough_day import day_of, friction_of, other_liquids, wanted_of
from generator.sheet.manual import Manual, make_manual
from generator.views.dough_view import degrees, dough_form, ice_words, of_friction

ENGINE = (STATIC / "dough.js").read_text(encoding="utf-8")
RUN = "asked => asked.map(([record, typed]) => JSON.stringify(ksDough.work(record, typed)))"


@pytest.fixture(scope="module")
def engine(browser: Any) -> Iterator[Any]:
    with engine_of(browser, ENGINE) as page:
        yield page


def dough_text(friction: str) -> str:
    return (
        "parts:\n  flour:\n    bread-flour: 9 kg\n  rest:\n    water: 6 kg\n    poolish: 500 g\n"
        f"    salt: 180 g\nprocess: hearth\ndough: {friction}\nkeeps: {{dry: 3 days}}\n"
        "not_tcs: A plain loaf, baked through.\nbatches: [2 kg total, 15 kg total]\n"
    )


POOLISH = (
    "parts:\n  flour:\n    bread-flour: 468 g\n  rest:\n    water: 468 g\n    yeast: 3 g\n"
    "process: ripen\nnot_tcs: Flour and water.\nbatches: [936 g total]\n"
)


@pytest.fixture(scope="module")
def kitchens(tmp_path_factory: pytest.TempPathFactory) -> list[Manual]:
    """A kitchen in °C, and one in °F that writes a comma and states no friction."""
    made: list[Manual] = []
    for unit, dough, comma in (
        ("°C", "{temperature: 25 °C, friction: 12 °C}", False),
        ("°F", "76 °F", True),
    ):
        folder = tmp_path_factory.mktemp("dough")
        kitchen_with(folder, {"poolish": POOLISH, "loaf": dough_text(dough)})
        kitchen = folder / "standards/kitchen.yaml"
        text = kitchen.read_text(encoding="utf-8").replace(
            "temperature: °C", f"temperature: {unit}"
        )
        kitchen.write_text(text + ("decimal: comma\n" if comma else ""), encoding="utf-8")
        if comma:
            for path in (folder / "standards").rglob("*.yaml"):
                typed = path.read_text(encoding="utf-8")
                path.write_text(
                    typed.replace("1.6 %", "1,6 %")
                    .replace("division: 0.1 g", 'division: "0,1 g"')
                    .replace("accuracy: 0.1 g", 'accuracy: "0,1 g"')
                )
        manual = make_manual(folder, AS_OF)
        assert isinstance(manual, Manual) and "loaf" in manual.sheets, manual.errors
        made.append(manual)
    return made


def asked_of(dice: random.Random, sign: str, fahrenheit: bool) -> dict[str, Any]:
    """The day's temperatures at random, some missing, a few that can't be."""

    def one(low: int, high: int, missing: float = 0.0) -> str:
        if dice.random() < missing:
            return ""
        celsius = Fraction(dice.randrange(low * 10, high * 10), 10)
        value = celsius * 9 / 5 + 32 if fahrenheit else celsius
        tenths = round(value * 10)
        text = f"{'-' if tenths < 0 else ''}{abs(tenths) // 10}"
        return text + (f"{sign}{abs(tenths) % 10}" if abs(tenths) % 10 else "")

    measured = dice.random() < 0.3
    return {
        "other": [one(-5, 45), one(10, 40), one(0, 35, 0.02)],
        "friction": f"{dice.randrange(1, 20)}" if fahrenheit else "",
        "tap": one(-2, 40, 0.2) if dice.random() < 0.97 else "hot",
        "dough": one(20, 32) if measured else "",
        "water": one(0, 40) if measured else "",
    }


def by_the_command(manual: Manual, typed: dict[str, Any]) -> dict[str, Any]:
    """What `kitchen-manual dough` answers at every size, in the script's form."""
    unit, sheet, found = (
        manual.house.kitchen.temperature,
        manual.sheets["loaf"],
        manual.dough("loaf"),
    )
    assert found is not None
    wanted = wanted_of(sheet.walk, found)
    assert wanted is not None

    def read(text: str) -> Temperature | None:
        return read_temperature(f"{text} {unit}") if text else None

    try:
        others = [read(text) for text in typed["other"]]
        tap, dough, water = (read(typed[kind]) for kind in ("tap", "dough", "water"))
        if None in others:
            return {"notes": [], "ice": []}
        known = [one for one in others if one is not None]
        friction, answer = None, dict[str, Any]()
        if typed["friction"]:
            value = Fraction(typed["friction"].replace(",", "."))
            friction = TemperatureDifference(value * 5 / 9 if unit == "°F" else value, unit)
        if dough is not None and water is not None:
            friction = friction_of(wanted, known, dough, water)
            answer["friction"] = of_friction(friction, unit)
        liquids = other_liquids(manual.house, found, sheet.walk)
        days = [
            day_of(manual.house, found, wanted, batch, known, tap, friction, liquids)
            for batch in sheet.batches
        ]
    except Refused:
        return {"wrong": True}
    day = days[0]
    answer |= {"notes": list(day.notes), "water": degrees(day.water, unit)}
    answer["ice"] = [] if day.share is None else [[ice_words(i) for i in d.lines] for d in days]
    return answer


def test_the_script_answers_as_the_command_does(engine: Any, kitchens: list[Manual]) -> None:
    """600 days at random, in °C and in °F with a comma: water, friction, ice and words."""
    dice, seen = random.Random(1725), set[str]()
    for manual in kitchens:
        with written_with(manual.writing):
            form = dough_form(manual, manual.sheets["loaf"])
            assert form is not None
            sign = as_written("1.0")[1]
            days = [asked_of(dice, sign, form.unit == "°F") for _ in range(300)]
            answers = engine.evaluate(RUN, [[dict(form.record), typed] for typed in days])
            for typed, text in zip(days, answers, strict=True):
                ours, theirs = json.loads(text), by_the_command(manual, typed)
                if "wrong" in theirs:
                    assert "wrong" in ours, (typed, ours)
                    seen.add("wrong")
                    continue
                ours.pop("share", None)
                assert ours == theirs, typed
                seen |= {"ice" if any(theirs["ice"]) else "no ice", *theirs["notes"]}
    assert {"wrong", "ice", "no ice"} <= seen and len(seen) >= 6, seen


def test_a_cook_types_the_day_and_reads_the_water(browser: Any, kitchens: list[Manual]) -> None:
    """The form of the page itself, without the frame: figures typed, words read."""
    manual = kitchens[0]
    (page,) = (p for p in make_pages(manual) if p.uri == "range/loaf.md")
    context = browser.new_context()
    tab = context.new_page()
    tab.set_content(f"<!doctype html><body>{page.html}</body>")
    tab.add_script_tag(content=ENGINE)
    tab.evaluate(
        "() => ksDough(document.querySelector('.ks-dough'), (tag, ...kids) => {"
        "const [name, ...cls] = tag.split('.'), node = document.createElement(name);"
        "node.className = cls.join(' '); node.append(...kids.filter(k => k)); return node; })"
    )
    fields = tab.locator(".ks-day input")
    for index, text in enumerate(("28", "30", "27", "18")):
        fields.nth(index).fill(text)
    answer = tab.locator(".ks-answer").first.inner_text().replace("\u00a0", " ")
    assert "Water 3 °C" in answer  # by hand: 4 × 25 − 28 − 30 − 27 − 12
    # by hand: 6 kg of 15.68 kg, so 765 g in 2 kg of dough: × 15 ÷ 98 = 117.1 g, in steps of 5 g
    assert "Tap water: 115 g of ice and 650 g from the tap" in answer
    context.close()

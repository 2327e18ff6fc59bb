"""Small kitchens of dry food, to plan with: formulas given as texts over five plain ingredients."""

from __future__ import annotations

import datetime
import random
import shutil
from collections.abc import Mapping
from pathlib import Path

from conftest import BASE

from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.order import Order, order_of

TODAY = datetime.date(2026, 11, 30)


def formula(
    lines: Mapping[str, str],
    batches: str,
    makes: str = "",
    time: str = "",
    keeps: str = "90 days",
    station: str = "pass",
) -> str:
    """A dry formula of lines with their amounts; one step, of a time or of none."""
    parts = "".join(f"    {item}: {amount}\n" for item, amount in lines.items())
    return (
        f"name: NAME\nrevision: 1\neffective: 2026-01-05\napproved: R. Osei\nstation: {station}\n"
        + (f"makes: {makes}\n" if makes else "")
        + f"base: all\nparts:\n  all:\n{parts}"
        + "steps:\n  - do: mix\n    add: all\n"
        + (f"    time: {time}\n" if time else "")
        + f"keeps: {{dry: {keeps}}}\nnot_tcs: Dry. Nothing wet goes in.\n"
        + f"batches: {batches}\n"
    )


def planned_kitchen(
    folder: Path,
    formulas: Mapping[str, str],
    plans: Mapping[str, str],
    packs: Mapping[str, str] | None = None,
    trims: Mapping[str, str] | None = None,
) -> Path:
    """A project of the base kitchen's house with these formulas and plans, and the plain
    ingredients ``v`` to ``z``, each with its packs and its trim if it has any."""
    shutil.copytree(BASE / "standards", folder / "standards")
    for ident, text in formulas.items():
        (folder / f"standards/formulas/{ident}.yaml").write_text(
            text.replace("NAME", ident.upper())
        )
    (folder / "standards/plans").mkdir()
    for ident, text in plans.items():
        (folder / f"standards/plans/{ident}.yaml").write_text(text)
    shelf = ""
    for item in "vwxyz":
        shelf += f"{item}: {{name: {item.upper()}, species: none, state: raw, form: dry, "
        shelf += "allergens: none, tcs: no, weighs: {each: 40 g, cup: 120 g}, source: weighed here"
        shelf += f", packs: {packs[item]}" if packs and item in packs else ""
        shelf += f", trim: {trims[item]}" if trims and item in trims else ""
        shelf += "}\n"
    (folder / "standards/ingredients/plain.yaml").write_text(shelf)
    return folder


def manual_for(folder: Path, as_of: datetime.date = TODAY) -> Manual:
    """The manual of a project that has a house."""
    manual = make_manual(folder, as_of)
    assert not isinstance(manual, Broken), manual.errors
    return manual


def ordered(manual: Manual, plan: str) -> Order:
    """The order of a plan in which nothing is wrong."""
    found = manual.plans[plan]
    assert found.sound, [f.message for f in manual.findings]
    return order_of(manual, found)


_PORTIONS = ("{portion: 50 g}", "{fill_weight: 300 g, portions: 4}", "{fill_weight: 250 g}")


def random_formulas(rng: random.Random) -> dict[str, str]:
    """Two or three levels of formulas, each made of those before it and of plain ingredients."""
    found: dict[str, str] = {}
    for number in range(rng.randint(3, 6)):
        below = list(found)
        lines = {item: f"{rng.randrange(50, 900)} g" for item in rng.sample("vwxyz", 2)}
        for part in rng.sample(below, min(len(below), rng.randint(0, 2))):
            lines[part] = f"{rng.randrange(20, 400)} g"
        sizes = sorted({rng.randrange(4, 60) for _ in range(rng.randint(1, 3))})
        found[f"made-{number}"] = formula(
            lines,
            "[" + ", ".join(f"{size / 10} kg yield" for size in sizes) + "]",
            rng.choice(_PORTIONS),
            rng.choice(("", "30 min", "5 h", "26 h", "20 to 40 min")),
            rng.choice(("1 day", "2 days", "5 days", "90 days")),
        )
    return found


def random_plan(rng: random.Random, formulas: Mapping[str, str]) -> str:
    """A week of dishes of a kitchen, with a shelf."""
    dishes = ""
    for _ in range(rng.randint(1, 7)):
        ident = rng.choice(list(formulas))
        words = ["portions"] if "portion" in formulas[ident].split("base:")[0] else []
        words += ["fills"] if "fill_weight" in formulas[ident] else []
        amount = rng.choice(
            [
                f"{rng.randint(1, 90)} {rng.choice(words)}",
                f"{rng.randrange(1, 9000)} g yield",
                f"{rng.randint(1, 3)} batches",
            ]
        )
        day = TODAY + datetime.timedelta(days=rng.randint(6, 13))
        dishes += (
            f"  - {{dish: {ident}, amount: {amount}, day: {day}, at: {rng.randint(6, 20)}:15}}\n"
        )
    shelf = ""
    for _ in range(rng.randint(0, 5)):
        if rng.random() < 0.5:
            item, days = (
                rng.choice("vwxyz"),
                f"use_by: {TODAY + datetime.timedelta(rng.randint(-3, 15))}",
            )
        else:
            item, days = (
                rng.choice(list(formulas)),
                f"made: {TODAY - datetime.timedelta(rng.randint(0, 9))}",
            )
        shelf += f"  - {{item: {item}, amount: {rng.randrange(1, 5000)} g, {days}}}\n"
    return "name: Week\ndishes:\n" + dishes + (f"on_shelf:\n{shelf}" if shelf else "")

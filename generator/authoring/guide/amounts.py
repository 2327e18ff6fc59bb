"""Made parts of the guide on amounts, units, times, temperatures and foodstuffs."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from generator.authoring.guide.examples import ASKED, FORMS, TIMES_AND_TEMPERATURES
from generator.authoring.guide.words import code, listed, sentence
from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.temperature import read_difference, read_temperature
from generator.measures.times import read_time
from generator.measures.units import Unit, Units, load_units
from generator.measures.words import plain
from generator.records.process import read_target
from generator.reference.library import Library

SETS = ("us", "metric", "imperial", "australian")
"""The sets of household measures, as `cup` in `kitchen.yaml` names them."""


def _of_what(name: str) -> str:
    """What a percentage is of, in words."""
    if name.startswith(("whole-", "rest-of-")):
        return f"the {name.replace('-', ' ')}"
    return f"the part `{name}`" if name else "the base"


def _became(library: Library, text: str) -> str:
    amount = read_amount(text, load_units(library.folder, "us"))
    if amount.kind == "percent":
        of = _of_what(amount.of)
        return f"{plain(amount.value)} % of {of}"
    if amount.kind == "count":
        return f"{plain(amount.value)} × what one weighs by the word `{amount.unit}`"
    unit = {"mass": "g", "volume": "ml", "length": "mm"}[amount.kind]
    detail = f", {amount.detail}" if amount.detail else ""
    return f"{plain(amount.value, 4)} {unit}{detail}"


def forms(library: Library) -> str:
    """Every form of an amount of `FORMS`, and what is read out of it with US cups."""
    return "\n".join(f"- {code(text)}: {_became(library, text)}" for text in FORMS)


def _refusal(read: Callable[[str], Any], text: str) -> str:
    try:
        read(text)
    except Refused as refused:
        write = f" Write {listed([code(w) for w in refused.write])}." if refused.write else ""
        help = f" {sentence(refused.help)}" if refused.help else ""
        message = (
            refused.message.removeprefix(code(text)).removeprefix(text).removeprefix(":").strip()
        )
        return f"- {code(text)}: {sentence(message)}{help}{write}"
    raise ValueError(f"{text} is not refused: take it out of the examples")


def asked(library: Library) -> str:
    """Every amount of `ASKED`, and the question or refusal it gets."""
    units = load_units(library.folder, "us")
    return "\n".join(_refusal(lambda t: read_amount(t, units), text) for text in ASKED)


_READ: dict[str, Callable[[str], Any]] = {
    "temperature": read_temperature,
    "difference": read_difference,
    "time": read_time,
    "target": read_target,
}


def times_and_temperatures(library: Library) -> str:
    """Forms of temperatures, differences, times and targets: read, and asked about or refused."""
    out: list[str] = []
    for kind, (good, bad) in TIMES_AND_TEMPERATURES.items():
        read = _READ[kind]
        for text in good:
            read(text)
        out += [
            f"**A {kind}**: {listed([code(g) for g in good])}.",
            "",
            "Asked about or refused:",
            "",
        ]
        out += [_refusal(read, text) for text in bad] + [""]
    return "\n".join(out).rstrip()


def units(library: Library) -> str:
    """Every unit with its size in g, ml or mm; a household measure by each set of `cup`."""
    found = {name: load_units(library.folder, name) for name in SETS}
    us = found["us"]
    spelled: dict[str, list[str]] = {}
    for alias, name in us.aliases.items():
        if alias != name:
            spelled.setdefault(name, []).append(code(alias))
    out: list[str] = []
    for kind, (title, base) in _KINDS.items():
        own = [n for n, u in us.by_name.items() if u.kind == kind and not _household(found, n)]
        lines = [_unit(us.by_name[name], base, spelled.get(name, [])) for name in own]
        out += [f"**{title}**", "", *lines, ""]
    out += ["**Household measures**, by the kitchen's `cup`", ""]
    out += [_measure(found, n, spelled.get(n, [])) for n in us.by_name if _household(found, n)]
    return "\n".join(out)


_KINDS = {"mass": ("Weight", "g"), "volume": ("Volume", "ml"), "length": ("Length", "mm")}
"""The kinds of units: what the guide calls each, and the unit their sizes are in."""


def _unit(unit: Unit, base: str, spelled: list[str]) -> str:
    also = f"; also {', '.join(spelled)}" if spelled else ""
    return f"- {code(unit.name)}: {plain(unit.factor, 10, False)} {base}{also}"


def _measure(found: dict[str, Units], name: str, spelled: list[str]) -> str:
    sizes = [
        f"{one} {plain(found[one].by_name[name].factor, 12, False)} ml"
        for one in SETS
        if not found[one].by_name[name].missing
    ]
    return f"- {code(name)}: {', '.join(sizes)}. Also {', '.join(spelled)}."


def _household(found: dict[str, Units], name: str) -> bool:
    """Whether a unit has another size, or none, by another set."""
    return len({(f.by_name[name].factor, f.by_name[name].missing) for f in found.values()}) > 1


def foodstuffs(library: Library) -> str:
    """Every foodstuff by its id, with what its measures weigh in g."""
    out: list[str] = []
    for ident, stuff in library.foodstuffs.items():
        weighs = ", ".join(
            f"{word} {plain(Fraction(amount.value), 3)} g" for word, amount in stuff.weighs.items()
        )
        out.append(f"- {code(ident)}: {stuff.name}. {weighs or 'No measures; weigh it.'}")
    return "\n".join(out)

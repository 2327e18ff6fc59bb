"""The parts of the guide that are made from the program: one function a part, by its name.

A page holds a part between `<!-- made: NAME -->` and `<!-- end -->`. Lists, no tables: a phone
shows them whole.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any, get_args

import click
from commands import every_command
from guide_examples import ASKED, COMMANDS, FORMS, TIMES_AND_TEMPERATURES

from generator.authoring.schemas import schemas
from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.temperature import read_difference, read_temperature
from generator.measures.times import read_time
from generator.measures.units import load_units
from generator.measures.words import plain
from generator.records.process import Effect, read_target
from generator.reference.cautions import RANK, When
from generator.reference.library import Library, read_reference
from generator.reference.row_kinds import CookRow
from generator.reference.shared_data import installed
from generator.rules.basics.context import hold_words

LIBRARY: Library = read_reference(installed())
SETS = ("us", "metric", "imperial", "australian")

EFFECTS = {
    "handles": "Work on the food by hand, board or bowl. It may leave its `time` out, and then "
    "shows as not timed.",
    "soaks": "Lies in a liquid that goes into it. It waits meanwhile.",
    "brines": "The liquid holds salt. It waits meanwhile.",
    "encloses": "Rolled, wrapped or folded round other food. Meat and fish count as stuffed "
    "unless the formula's `filling` says it is seasoning.",
    "joins": "One food put on or into another. Whole raw meat and fish with more than seasoning at "
    "it count as stuffed until the formula says `filling: nothing`.",
    "divides": "Parted, or turned out of its vessel. A run of heating ends here.",
    "heats": "Warmed, and not cooked by it. Moist plant food needs the cold afterwards; raw "
    "meat stays raw.",
    "in-water": "Cooked in water, which gets no hotter than it boils.",
    "bakes": "Baked through in an oven.",
    "waits": "Stands, and nothing is done to it. Food that needs the cold then says how long, "
    "or where.",
    "raises": "A dough rises. What is baked through afterwards isn't fermented to keep it. It "
    "waits meanwhile.",
    "ferments": "Left warm so that it sours or ripens. Food that needs the cold needs a "
    "variance for it.",
    "dries": "Loses water in the air, to keep it. Food that needs the cold needs a variance "
    "for it, unless it is kept cold meanwhile.",
    "ages": "Ripens for days. At the limit for cold holding it is cold holding; warmer it "
    "needs a variance.",
    "displays": "Out for guests or for sale: held cold, hot, or by time.",
    "stores": "Put where it is kept. Hot food gets its cooling limit here if no other step "
    "cools it.",
    "packs": "Closed in its pack.",
    "labels": "Dated.",
    "serves": "Goes to the guest, and nothing of it is kept.",
    "cuts": "Cut in pieces. Cut leafy greens, tomato and melon need temperature control from "
    "here on.",
    "comminutes": "Ground, minced or chopped fine: no piece is whole any more. Raw meat and "
    "fish move to the higher limit.",
    "tenderises": "Pierced by a machine: no longer whole. Raw meat moves to the higher limit.",
    "injects": "Brine or marinade pumped in: no longer whole. Raw meat moves to the higher limit.",
    "pools": "Eggs broken together, never for one order. Raw eggs count so unless the formula "
    "is made `to_order`.",
    "stuffs": "One food inside another. Whatever is raw in it takes the highest limit.",
    "fills": "Divided into vessels or pieces. The first step that fills is where fills are "
    "weighed and counted.",
    "cooks": "Heated until it is safe. Raw animal food needs a core target here; afterwards it "
    "counts as cooked, hot and in need of temperature control.",
    "part-cooks": "Raw animal food heated in part, to be cooled at once and cooked through "
    "later. It stays raw; needs `time`, `procedure` and an approval on file.",
    "cools": "Brought to cold. Hot food gets the two-stage cooling limit, ready food made at "
    "room temperature four hours.",
    "slacks": "Frozen food let warm a little before it is cooked or fried. In a refrigerator "
    "it gets the limit of thawing there; anywhere else it stays frozen, and the step "
    "says `stays_frozen: yes`.",
    "holds-hot": "Kept hot for service. It gets the hot-holding limit.",
    "reheats": "Cooked and cooled food heated again for hot holding. It gets the reheating limit.",
    "freezes": "Frozen. The date mark pauses; at the end it is kept frozen, and no "
    "cold-holding figure stands.",
    "smokes": "Hung in smoke. For its flavour by `smoked_for: flavour` in the formula; else it "
    "counts as smoked to keep it, which needs a variance. A smoke that cooks the food "
    "says `does: cooks` as well and has a core target.",
    "thaws": "Thawed. It gets the thawing limit; say how: `in` a refrigerator, `at` the "
    "temperature of running water for a `time`, or `using` a microwave oven. With "
    "`cooks`, cooked from frozen.",
    "acidifies": "Made sour enough to need no temperature control. Needs a variance and the pH "
    "stated under `acidified`.",
    "packs-without-air": "Packed without air. Refused without a plan on file and a criterion stated "
    "under `without_air`.",
    "slices": "Cut after it is ready. Ends are lost (`ends`); cautions on blades and hands.",
    "cleans": "Machine, tools or place are cleaned; nothing is done to the food.",
    "holds-by-time": "Held by time alone, then served or discarded. It gets a limit of time; "
    "needs `time` and `procedure`.",
    "takes-off": "Bones, skin, fat or liquid leave. Say how much with `loses`.",
}


def code(text: str) -> str:
    return f"`{text}`"


def listed(words: list[str], joint: str = "or") -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {joint} {words[-1]}"


def sentence(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else text + "."


# Amounts, times, temperatures.


def _became(text: str) -> str:
    amount = read_amount(text, load_units(LIBRARY.folder, "us"))
    if amount.kind == "percent":
        of = f"the part `{amount.of}`" if amount.of else "the base"
        return f"{plain(amount.value)} % of {of}"
    if amount.kind == "count":
        return f"{plain(amount.value)} × what one weighs by the word `{amount.unit}`"
    unit = {"mass": "g", "volume": "ml", "length": "mm"}[amount.kind]
    detail = f", {amount.detail}" if amount.detail else ""
    return f"{plain(amount.value, 4)} {unit}{detail}"


def forms() -> str:
    return "\n".join(f"- {code(text)}: {_became(text)}" for text in FORMS)


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
    raise AssertionError(f"{text} is not refused")


def asked() -> str:
    units = load_units(LIBRARY.folder, "us")
    return "\n".join(_refusal(lambda t: read_amount(t, units), text) for text in ASKED)


_READ: dict[str, Callable[[str], Any]] = {
    "temperature": read_temperature,
    "difference": read_difference,
    "time": read_time,
    "target": read_target,
}


def times_and_temperatures() -> str:
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


def units() -> str:
    found = {name: load_units(LIBRARY.folder, name) for name in SETS}
    us = found["us"]
    spelled: dict[str, list[str]] = {}
    for alias, name in us.aliases.items():
        if alias != name:
            spelled.setdefault(name, []).append(alias)
    out: list[str] = []
    for kind, title, base in (
        ("mass", "Weight", "g"),
        ("volume", "Volume", "ml"),
        ("length", "Length", "mm"),
    ):
        out += [f"**{title}**", ""]
        for name, unit in us.by_name.items():
            if unit.kind != kind or _household(found, name):
                continue
            also = (
                f"; also {', '.join(code(a) for a in spelled.get(name, []))}"
                if name in spelled
                else ""
            )
            out.append(f"- {code(name)}: {plain(unit.factor, 10, False)} {base}{also}")
        out.append("")
    out += ["**Household measures**, by the kitchen's `cup`", ""]
    for name in us.by_name:
        if not _household(found, name):
            continue
        sizes = [
            f"{one} {plain(found[one].by_name[name].factor, 12, False)} ml"
            for one in SETS
            if not found[one].by_name[name].missing
        ]
        also = f" Also {', '.join(code(a) for a in spelled.get(name, []))}."
        out.append(f"- {code(name)}: {', '.join(sizes)}.{also}")
    return "\n".join(out)


def _household(found: dict[str, Any], name: str) -> bool:
    return len({(f.by_name[name].factor, f.by_name[name].missing) for f in found.values()}) > 1


def foodstuffs() -> str:
    out: list[str] = []
    for ident, stuff in LIBRARY.foodstuffs.items():
        weighs = ", ".join(
            f"{word} {plain(Fraction(amount.value), 3)} g" for word, amount in stuff.weighs.items()
        )
        out.append(f"- {code(ident)}: {stuff.name}. {weighs or 'No measures; weigh it.'}")
    return "\n".join(out)


# Steps.


def effects() -> str:
    assert set(EFFECTS) == set(get_args(Effect))
    out: list[str] = []
    for effect, words in EFFECTS.items():
        verbs = [code(v) for v, verb in LIBRARY.verbs.items() if effect in verb.does]
        out.append(f"- {code(effect)}: {words} Verbs: {', '.join(verbs)}.")
    return "\n".join(out)


def verbs() -> str:
    out: list[str] = []
    for ident, verb in LIBRARY.verbs.items():
        does = f": {', '.join(verb.does)}" if verb.does else ""
        shown = verb.name if verb.name.lower() != ident.replace("-", " ") else ""
        out.append(f"- {code(ident)}{f' ({shown})' if shown else ''}{does}")
    return "\n".join(out)


# The law.


def species() -> str:
    groups: dict[str, list[str]] = {}
    for pack in LIBRARY.packs.values():
        for ident, definition in pack.definitions.items():
            groups.setdefault(definition.group_as, [])
            if code(ident) not in groups[definition.group_as]:
                groups[definition.group_as].append(code(ident))
    return "\n".join(
        f"- {name.replace('-', ' ')}: {', '.join(words)}" for name, words in groups.items()
    )


def packs() -> str:
    out: list[str] = []
    for pack in LIBRARY.packs.values():
        facts = pack.facts
        if not pack.rows_of(CookRow):
            continue  # a pack of one topic that another pack leads to
        out.append(
            f"- {code(f'model: {facts.model}')}, {code(f'edition: {facts.edition}')}: "
            f"{facts.name}, {facts.publisher}"
        )
    return "\n".join(out)


def rows() -> str:
    """The ranked groups of each pack with their rows."""
    out: list[str] = []
    for pack in LIBRARY.packs.values():
        if not pack.rows_of(CookRow):
            continue
        out += [f"**{pack.facts.name}**, each group above the one before:", ""]
        for group in pack.ranking:
            longest: dict[Fraction, Any] = {}  # a group may borrow rows: the longest time binds
            for member in pack.members(group):
                for _, row in pack.cook_rows(member):
                    if row.value is None or row.bound != "min" or row.applies == "to-order":
                        continue
                    kept = longest.setdefault(row.value.celsius, row)
                    if row.hold is not None and row.hold.seconds > kept.hold.seconds:
                        longest[row.value.celsius] = row
            shown = [
                f"{longest[c].value}{_held(longest[c])}".replace("\u00a0", " ")
                for c in sorted(longest)
            ]
            if len(shown) > 6:
                shown = [f"{len(shown)} rows, from {shown[0]} to {shown[-1]}"]
            words = "; ".join(shown) or "no rows of its own"
            out.append(f"- {pack.groups[group].name} ({pack.groups[group].clause}): {words}")
        out.append("")
    return "\n".join(out).rstrip()


def _held(row: Any) -> str:
    if row.hold is None:
        return ""
    return hold_words(row.hold.seconds)


def not_covered() -> str:
    out: list[str] = []
    for pack in LIBRARY.packs.values():
        if pack.facts.not_covered:
            out += [f"**{pack.facts.name}**", ""]
            out += [f"- {one.what}: {sentence(one.why)}" for one in pack.facts.not_covered] + [""]
    return "\n".join(out).rstrip()


def allergens() -> str:
    out: list[str] = []
    for ident, one in LIBRARY.allergens.items():
        words = [
            f"{code(word.name)}{' with its kind' if word.kind_named else ''}"
            for word in one.words.values()
        ]
        out.append(f"- {ident}, {one.name}: {', '.join(words)}")
    return "\n".join(out)


# Keys.

_FILES = {
    "kitchen": "standards/kitchen.yaml",
    "station": "standards/stations/<id>.yaml",
    "equipment": "standards/equipment/<room>.yaml, each under its id",
    "ingredients": "standards/ingredients/<shelf>.yaml, each under its id",
    "process": "standards/processes/<id>.yaml",
    "formula": "standards/formulas/<id>.yaml",
    "print-register": "standards/print-register.yaml, which `binder --record` writes",
}


def keys() -> str:
    out: list[str] = []
    assert set(schemas()) == set(_FILES), "say in which file a kind stands"
    for kind, file in _FILES.items():
        schema = schemas()[kind]
        definitions = schema.get("$defs", {})
        records: list[Any] = [schema]
        if each := schema.get("additionalProperties"):
            records = each.get("anyOf", [each])
        out += [f"## {kind.capitalize()}", "", f"In {code(file)}.", ""]
        for record in records:
            if len(records) > 1:
                out += [f"### {record['title']}", "", record.get("description", ""), ""]
            out += _record(record)
        for name, definition in definitions.items():
            inner = definition["anyOf"][-1] if "anyOf" in definition else definition
            where = ", ".join(code(w) for w in _used(schema, name))
            out += [f"### {name}", "", f"{inner.get('description', '')} Under {where}.", ""]
            out += _record(inner)
    return "\n".join(out).rstrip()


def _used(node: Any, name: str, key: str = "") -> list[str]:
    """The keys whose value is a record of this name."""
    if isinstance(node, list):
        return [k for inner in node for k in _used(inner, name, key)]
    if not isinstance(node, dict):
        return []
    if node.get("$ref") == f"#/$defs/{name}":
        return [key]
    found: list[str] = []
    for inner_key, inner in node.items():
        if inner_key in ("properties", "$defs"):
            for one, value in inner.items():
                found += _used(value, name, one if inner_key == "properties" else key)
        else:
            found += _used(inner, name, key)
    return list(dict.fromkeys(found))


def _record(record: Any) -> list[str]:
    needed = set(record.get("required", ()))
    lines = [_key(key, field, key in needed) for key, field in record["properties"].items()]
    return [*lines, ""]


def _key(key: str, field: Any, needed: bool) -> str:
    words = [field.get("description", "")]
    if "const" in field:
        words.append(f"Always {code(field['const'])}.")
    if "enum" in field:
        choices = [c for c in field["enum"] if isinstance(c, str)]
        words.append(f"One of {listed([code(c) for c in choices])}.")
    words.append(_as_in(field))
    for inner in (field.get("additionalProperties"), field.get("items")):
        if isinstance(inner, dict) and inner.get("examples"):
            words.append(f"Each {_low(inner['description'])} {_as_in(inner)}")
    words += [f"Its keys: [{name}](#{name.lower()})." for name in _refs(field)]
    default = field.get("default")
    if isinstance(default, bool):
        default = "yes" if default else "no"
    state = "required" if needed else f"left out: {code(default)}" if default else "may be left out"
    return f"- **{code(key)}**, {state}. " + " ".join(w for w in words if w)


def _as_in(field: Any) -> str:
    examples = [code(str(one)) for one in field.get("examples", ())]
    return f"As in {listed(examples)}." if examples else ""


def _refs(node: Any) -> list[str]:
    """The records a key's value is made of."""
    if isinstance(node, dict):
        own = [str(node["$ref"]).rsplit("/", 1)[1]] if "$ref" in node else []
        return list(dict.fromkeys([*own, *(r for inner in node.values() for r in _refs(inner))]))
    return [r for inner in node for r in _refs(inner)] if isinstance(node, list) else []


def _low(text: str) -> str:
    return text[:1].lower() + text[1:]


# Findings, commands, cautions.


def findings() -> str:
    out: list[str] = []
    for ident, words in LIBRARY.explanations.items():
        out += [f"### {ident}", "", words.means, ""]
        if words.file:
            out += [f"In `standards/{words.file}`, not:", "", *_block(words.bad), ""]
            out += ["but:", "", *_block(words.good), ""]
        if words.source:
            out += [f"Source: {words.source}.", ""]
    return "\n".join(out).rstrip()


def _block(text: str) -> list[str]:
    shown = text.strip("\n")
    if not shown.strip():
        return ["(nothing)"]
    shown = re.sub(
        "[\u202a-\u202e\t]",
        lambda m: "→" if m.group() == "\t" else f"[U+{ord(m.group()):04X}]",
        shown,
    )
    return ["```yaml", *shown.split("\n"), "```"]


def commands() -> str:
    assert set(COMMANDS) == set(every_command())
    out: list[str] = []
    for name, command in every_command().items():
        arguments = [p for p in command.params if isinstance(p, click.Argument)]
        usage = " ".join(
            ["kitchen-manual", name, *(a.make_metavar(click.Context(command)) for a in arguments)]
        )
        out += [f"### {name}", "", code(usage), "", " ".join((command.help or "").split()), ""]
        for option in command.params:
            if isinstance(option, click.Option):
                out.append(_option(option))
        out += [
            "",
            "```console",
            *(f"$ kitchen-manual {example}" for example in COMMANDS[name]),
            "```",
            "",
        ]
    return "\n".join(out).rstrip()


def _option(option: click.Option) -> str:
    takes = ""
    if not option.is_flag:
        kind = option.type
        if isinstance(kind, click.Choice):
            takes = " " + "|".join(str(c) for c in kind.choices)
        else:
            takes = " " + (option.metavar or kind.name.upper().replace("INTEGER RANGE", "NUMBER"))
    again = " May be repeated." if option.multiple and "repeat" not in (option.help or "") else ""
    default = ""
    if option.show_default and option.default not in (None, False):
        default = f" Left out: {code(str(option.default))}."
    return f"- {code(option.opts[0] + takes)}: {sentence(option.help or '')}{again}{default}"


_TRIGGER = {
    "at_hand": "at hand is",
    "does": "the step",
    "machine": "the machine is",
    "in": "it stands in",
    "not_in": "it doesn't stand in",
    "raw": "raw food in it is",
    "species": "raw food in it is",
    "organ": "raw food in it is",
    "state": "the food is",
    "function": "what is taken in is",
    "casing": "the vessel is a casing, or none is named",
    "deeper_than": "the vessel is deeper than",
    "allergens": "an allergen is in it",
    "shared_machine": "the machine also takes raw food elsewhere",
    "end": "the finished food is",
    "scales": "something is weighed on a fine scale",
}


def cautions() -> str:
    out: list[str] = []
    for severity in RANK:
        found = [(i, c) for i, c in LIBRARY.cautions.items() if c.severity == severity]
        if found:
            out += [f"**{severity.upper()}**", ""]
            out += [f"- {code(i)}, {c.name}: when {trigger(c.when)}." for i, c in found] + [""]
    return "\n".join(out).rstrip()


def trigger(when: When) -> str:
    """A trigger in words: all of its parts must hold."""
    parts: list[str] = []
    for name in When.model_fields:
        value = getattr(when, name)
        if name not in when.model_fields_set:
            continue
        key = When.model_fields[name].alias or name
        if key == "cured":
            parts.append("a cure is in it" if value else "no cure is in it")
        elif key in ("allergens", "shared_machine", "scales", "casing"):
            parts.append(_TRIGGER[key])
        elif isinstance(value, tuple):
            parts.append(f"{_TRIGGER[key]} {listed([str(v) for v in value])}")
        else:
            text = getattr(value, "text", "") or str(value)
            parts.append(f"{_TRIGGER[key]} {text}".replace("\u00a0", " "))
    return " and ".join(parts)


MADE: dict[str, Callable[[], str]] = {
    "forms": forms,
    "asked": asked,
    "times-and-temperatures": times_and_temperatures,
    "units": units,
    "foodstuffs": foodstuffs,
    "effects": effects,
    "verbs": verbs,
    "species": species,
    "packs": packs,
    "rows": rows,
    "not-covered": not_covered,
    "allergens": allergens,
    "keys": keys,
    "findings": findings,
    "commands": commands,
    "cautions": cautions,
}

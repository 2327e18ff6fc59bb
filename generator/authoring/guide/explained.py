"""Made parts of the guide on findings and cautions."""

from __future__ import annotations

import re

from generator.authoring.guide.words import code, listed
from generator.measures.words import breakable
from generator.reference.cautions import RANK, When
from generator.reference.library import Library


def findings(library: Library) -> str:
    """Every finding: what it means, a bad and a good example, its source."""
    out: list[str] = []
    for ident, words in library.explanations.items():
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


_TRIGGER = {
    "at_hand": "at hand is",
    "does": "the step",
    "machine": "the machine is",
    "in": "it is in",
    "not_in": "it isn't in",
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
    "named": "what is in it is called",
    "called": "the formula is called",
}


def cautions(library: Library) -> str:
    """Every caution with what raises it, the gravest first."""
    out: list[str] = []
    for severity in RANK:
        found = [(i, c) for i, c in library.cautions.items() if c.severity == severity]
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
            parts.append(breakable(f"{_TRIGGER[key]} {text}"))
    return " and ".join(parts)

"""What cooks say for an amount, where it is none that can be weighed."""

from __future__ import annotations

import re

_BY_HAND = re.compile(
    r"\b(?:to taste|pinch|dash|handful|splash|knob|drizzle|sprinkle|sprinkling|some|glug|squeeze)\b"
    r"|^(?:as required|as desired|q\.?s\.?|(?:an? )?little(?: of .*)?)$",
    re.IGNORECASE,
)
"""Words of a cook who takes an amount by hand."""
_FIGURE = r"(?:\d+/\d+|[\d.,½¼¾⅓⅔]+)"
_TWO_ENDS = re.compile(
    rf"(?P<low>{_FIGURE})\s*(?:[-–—]|to|or)\s*(?P<high>{_FIGURE})\s*(?P<unit>[^\d\s].*)"
)
_HALF = re.compile(r"half (?:an? )?([a-z]+)", re.IGNORECASE)
_TURNED = re.compile(r"(g|kg|ml|l|oz|lb)\s*(\d[\d.,/]*)", re.IGNORECASE)


def meant(typed: str) -> tuple[str, list[str]]:
    """What an amount that can't be read, as typed, is likely meant to be: words that help, and the
    amounts to write; empty where nobody can say."""
    if found := _TWO_ENDS.fullmatch(typed):
        low, high, unit = found["low"], found["high"], found["unit"]
        mixed = "/" in high and "/" not in low
        both = [f"{low} {high} {unit}"] if mixed else [f"{low} {unit}", f"{high} {unit}"]
        return "A line has one amount: the one that is weighed.", both
    if _BY_HAND.search(typed):
        help = "Weigh what you take, and write that. Where the cook tastes it, write the usual "
        return f"{help}weight too, as in {{amount: as needed, usual: 2 g}}.", []
    if found := _HALF.fullmatch(typed):
        return "Write half as a fraction, as in 1/2 cup.", [f"1/2 {found[1]}"]
    if found := _TURNED.fullmatch(typed):
        return "The figure comes first, as in 48 g.", [f"{found[2]} {found[1].lower()}"]
    return "", []

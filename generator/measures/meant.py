"""What cooks say for an amount, where it is none that can be weighed."""

from __future__ import annotations

import re

_TASTED = re.compile(
    r"^(?:to taste|as required|as desired|q\.?s\.?|(?:an? )?(?:pinch|dash|little)(?: of .*)?)$",
    re.I,
)
_RANGE = re.compile(r"^(\d[\d.,/]*)\s*(?:-|–|to)\s*(\d[\d.,/]*)\s*([a-zA-Z%].*)$")
_HALF = re.compile(r"^half (?:an? )?([a-z]+)$", re.I)
_TURNED = re.compile(r"^(g|kg|ml|l|oz|lb)\s*(\d[\d.,/]*)$", re.I)


def meant(typed: str) -> tuple[str, tuple[str, ...]]:
    """What a line's amount that can't be read, as typed, is likely meant to be: words that help,
    and the amounts to write; empty where nobody can say."""
    text = typed.strip()
    if _TASTED.match(text):
        return (
            "Does the cook taste it? Write `as needed` with the weight you use on most days, as in "
            "`{amount: as needed, usual: 2 g}`.",
            (),
        )
    if found := _RANGE.match(text):
        one, other, unit = found.groups()
        return "An amount is one figure.", (f"{one} {unit}", f"{other} {unit}")
    if found := _HALF.match(text):
        return "Write half as a fraction.", (f"1/2 {found[1]}",)
    if found := _TURNED.match(text):
        return "The figure comes first.", (f"{found[2]} {found[1].lower()}",)
    return "", ()

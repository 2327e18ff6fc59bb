"""Where each page lies."""

from __future__ import annotations

from generator.records.fields import ID_PATTERN, as_id

CONTROL = "control"


def formula_uri(station: str, formula: str) -> str:
    """The page of a formula: under its station.

    A file whose name is no id can't be computed, but its findings need an address all the same. No
    id ends in a hyphen, so a name that is taken by a page of ours gets one.
    """
    name = formula
    if not ID_PATTERN.fullmatch(formula):
        name = f"no-id-{as_id(formula)}-"
    elif formula == "index" or f"{station}/{formula}.md" in (REGISTER, FINDINGS):
        name = f"{formula}-"
    return f"{station}/{name}.md"


def station_uri(station: str) -> str:
    """The front page of a station."""
    return f"{station}/index.md"


REGISTER = f"{CONTROL}/limits.md"
FINDINGS = f"{CONTROL}/findings.md"
HOME = "index.md"

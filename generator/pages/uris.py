"""Where each page lies."""

from __future__ import annotations

import re

from generator.records.fields import ID_PATTERN

CONTROL = "control"


def formula_uri(station: str, formula: str) -> str:
    """The page of a formula: under its station.

    A file whose name is no id can't be computed, but its findings need an address all the same.
    """
    if ID_PATTERN.fullmatch(formula):
        return f"{station}/{formula}.md"
    rest = re.sub("[^a-z0-9]+", "-", formula.lower()).strip("-")
    return f"{station}/{f'no-id-{rest}'.rstrip('-')}.md"


def station_uri(station: str) -> str:
    """The front page of a station."""
    return f"{station}/index.md"


REGISTER = f"{CONTROL}/limits.md"
FINDINGS = f"{CONTROL}/findings.md"
HOME = "index.md"

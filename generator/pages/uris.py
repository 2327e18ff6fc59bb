"""Where each page lies."""

from __future__ import annotations

CONTROL = "control"


def formula_uri(station: str, formula: str) -> str:
    """The page of a formula: under its station."""
    return f"{station}/{formula}.md"


def station_uri(station: str) -> str:
    """The front page of a station."""
    return f"{station}/index.md"


REGISTER = f"{CONTROL}/limits.md"
FINDINGS = f"{CONTROL}/findings.md"
HOME = "index.md"

"""A house limit in force, and how it compares with the code, in the words every page uses."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from typing import Literal

from generator.files.finding import Place
from generator.measures.words import NARROW, date

Spoken = frozenset[tuple[Place, bool]]
"""The places of the house limits that speak of something, each with whether it is in force
there."""


@dataclass(frozen=True)
class HouseRule:
    """A limit of the kitchen's own in force: ``text`` as the chef wrote it, and for a looser one
    the authorisation that allows it."""

    standing: Literal["stricter", "looser"]
    text: str
    reason: str = ""
    authority: str = ""
    document: str = ""
    until: datetime.date | None = None

    @property
    def words(self) -> str:
        """How it compares with the code, as every page says it."""
        if self.until is None:
            return "House limit, stricter than the code"
        return (
            f"Looser than the code, by {self.authority}, {self.document}, until {date(self.until)}"
        )

    @property
    def compared(self) -> str:
        """The words with the figure as written, and why."""
        why = f" {self.reason}" if self.reason else ""
        return f"{self.words}: {re.sub(r'(?<=[0-9]) ', NARROW, self.text)}.{why}"

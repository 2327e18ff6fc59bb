"""The kitchen: whose rules, whose probe, whose cup."""

from __future__ import annotations

import datetime
import zoneinfo
from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.files.finding import Refused
from generator.measures.marks import Mark
from generator.measures.words import counted, plain
from generator.records.fields import (
    Date,
    Degree,
    Id,
    IdList,
    Keeping,
    Length,
    WholeNumber,
    Words,
    reader,
)
from generator.records.house_limit import KitchenLimit
from generator.records.named import Approver, Paper
from generator.records.record import Record

HOME = "en"
"""The language the frame of a page, checks and paper are written in."""


def _zones_of(city: str) -> list[str]:
    """The zones that bear a city's name: New York → America/New_York."""
    last = "/" + "_".join(city.split()).lower()
    return sorted(z for z in zoneinfo.available_timezones() if z.lower().endswith(last))[:3]


def _zone(text: str) -> str:
    try:
        zoneinfo.ZoneInfo(text.strip())
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            "time-zone-unknown",
            f"`{text}` is not a time zone's name.",
            "Write it as Area/City, as in Europe/London.",
            _zones_of(text),
        ) from None
    return text.strip()


class Code(Record):
    """Whose law: model, edition, and who adopted it."""

    model: Id = Field(
        description="Which rule pack: the model code or the country's law.",
        examples=["us-food-code"],
    )
    edition: Words = Field(description="The edition adopted, as its year.", examples=["2022"])
    adopted_by: Paper = Field(
        description="The ordinance or rule that makes it law here, or who made it and who "
        "enforces it. Every page with a limit shows it.",
        examples=["Larch County Health Code, chapter 4"],
    )


class Authorisation(Record):
    """A variance or plan on file that allows what the code otherwise forbids."""

    for_: Literal[
        "cure",
        "smoke",
        "acidify",
        "pack-without-air",
        "cook",
        "cool",
        "hold-hot",
        "hold-cold",
        "reheat",
        "date",
        "receive",
        "part-cook",
        "ferment",
        "dry",
        "sprout",
        "raw-milk",
    ] = Field(alias="for", description="What it allows.")
    authority: Paper = Field(
        description="The authority that gave it.", examples=["State Department of Health"]
    )
    document: Paper = Field(description="Its number or title.", examples=["Variance 2026-118"])
    from_: Date = Field(alias="from", description="The first day it is in force.")
    until: Date = Field(description="The last day it is in force.")

    def in_force(self, day: datetime.date) -> bool:
        """Whether it is in force on a day; its first and its last day count."""
        return self.from_ <= day <= self.until


_PAPERS: dict[str, tuple[Fraction, Fraction]] = {
    "a4": (Fraction(210), Fraction(297)),
    "letter": (Fraction("215.9"), Fraction("279.4")),
}
"""Width and height in mm: ISO 216; US Letter is 8½ by 11 inches."""
_LEAST = (Fraction(50), Fraction(25))
"""Below this, in mm, a use-by in 20 pt and a QR code have no room beside each other."""


class FolderApproval(Record):
    """What was approved together: every file of a folder that gives no revision, no effective date
    and no approval of its own."""

    revision: WholeNumber = Field(description="Add 1 with every change that matters.")
    effective: Date = Field(description="The day this revision starts.")
    approved: Approver = Field(description="Who approved all of them.", examples=["head chef"])


class Approvals(Record):
    """Approval that applies to a whole folder."""

    formulas: FolderApproval | None = Field(
        None,
        description="For every formula without its own.",
        examples=["{revision: 3, effective: 2026-09-14, approved: head chef}"],
    )
    processes: FolderApproval | None = Field(
        None,
        description="For every process without its own.",
        examples=["{revision: 3, effective: 2026-09-14, approved: head chef}"],
    )
    stations: FolderApproval | None = Field(
        None,
        description="For every station without its own.",
        examples=["{revision: 3, effective: 2026-09-14, approved: head chef}"],
    )


class LabelSheet(Record):
    """A sheet of labels: so many across and down, and where they lie on the paper."""

    paper: Literal["a4", "letter"] = Field("a4", description="The paper: a4 or letter.")
    across: WholeNumber = Field(description="Labels in a row.", examples=["3"])
    down: WholeNumber = Field(description="Rows of labels.", examples=["7"])
    width: Length = Field(description="One label's width.", examples=["63 mm"])
    height: Length = Field(description="One label's height.", examples=["39 mm"])
    left: Length = Field(
        description="From the paper's left edge to the first label.", examples=["10.5 mm"]
    )
    top: Length = Field(
        description="From the paper's top edge to the first label.", examples=["12 mm"]
    )
    gap: Length | None = Field(
        None, description="Between two labels of a row. Left out: none.", examples=["2.5 mm"]
    )
    row_gap: Length | None = Field(None, description="Between two rows. Left out: none.")

    @property
    def count(self) -> int:
        """How many labels are on a sheet."""
        return self.across * self.down

    def steps(self) -> tuple[Fraction, Fraction]:
        """From one label's corner to the next one's, across and down, in mm."""
        gap = self.gap.value if self.gap is not None else Fraction(0)
        rows = self.row_gap.value if self.row_gap is not None else Fraction(0)
        return self.width.value + gap, self.height.value + rows

    def size(self) -> tuple[Fraction, Fraction]:
        """The paper's width and height in mm."""
        return _PAPERS[self.paper]

    def faults(self) -> tuple[tuple[str, str], ...]:
        """What keeps it from being printed: the key, and the fault in words."""
        found: list[tuple[str, str]] = []
        across, down = self.steps()
        sides = (
            (
                "across",
                self.across,
                self.left,
                across,
                self.width,
                self.size()[0],
                "wide",
                _LEAST[0],
            ),
            ("down", self.down, self.top, down, self.height, self.size()[1], "high", _LEAST[1]),
        )
        for key, count, start, step, one, paper, word, least in sides:
            if count < 1:
                found.append((key, "There is no label on it."))
                continue
            end = start.value + (count - 1) * step + one.value
            if end > paper:
                found.append(
                    (
                        key,
                        f"{counted(count, 'label')} end at {plain(end, 2)} mm. The paper is "
                        f"{plain(paper, 2)} mm {word}.",
                    )
                )
            if one.value < least:
                name = "width" if key == "across" else "height"
                found.append(
                    (
                        name,
                        f"A label needs {plain(least)} mm to be read. This is "
                        f"{plain(one.value, 2)} mm {word}.",
                    )
                )
        return tuple(found)


class Kitchen(Record):
    """standards/kitchen.yaml: one kitchen, one manual."""

    name: Words = Field(description="The kitchen's name.", examples=["Larch Street Kitchen"])
    code: Code = Field(description="The law in force here.")
    operation: Literal["retail", "inspected-establishment"] = Field(
        "retail",
        description="A restaurant, canteen or shop is retail. A plant under inspection is not: "
        "it may choose its authority's tables.",
    )
    serves: Literal["general", "highly-susceptible"] = Field(
        description="Who its guests are. A nursing home, hospital or preschool is "
        "highly-susceptible."
    )
    time_zone: Annotated[
        str,
        PlainValidator(reader(_zone)),
        WithJsonSchema({"type": "string", "examples": ["America/Chicago", "Europe/London"]}),
    ] = Field(description="The time zone of its clocks, as Area/City.")
    altitude: Length | None = Field(
        None,
        description="Height above the sea. It sets what a probe must read in boiling water.",
        examples=["240 m"],
    )
    cup: Literal["us", "metric", "imperial", "australian"] = Field(
        description="Which country's cups and spoons. See the household measures."
    )
    temperature: Degree = Field(description="The scale the crew reads. The probe must read it too.")
    probe: Id = Field(
        description="The thermometer used for core temperatures, a piece of equipment.",
        examples=["pocket-probe"],
    )
    stations: IdList = Field(
        (),
        description="The stations in the manual's order. Those left out follow.",
        examples=["[hearth, cold-table]"],
    )
    allergens: Id | None = Field(
        None,
        description="Which list of allergens is declared: us or eu. Not stated: the code's. If "
        "you change it, review every ingredient's allergens.",
    )
    decimal: Mark = Field(
        "point", description="The decimal mark the crew types and reads: point or comma."
    )
    languages: IdList = Field(
        (),
        description="The languages the crew reads, the kitchen's own first. Then the check "
        "counts the chef's texts that are not in one of them. Left out: nothing is counted. Pages "
        "can be read in every language there are words for either way.",
        examples=["[en, es]"],
    )
    approval: Approvals | None = Field(
        None,
        description="Revision, effective date and approval for all files of a folder at once. A "
        "file that gives one of the three gives its own, and nothing here applies to it.",
        examples=["{formulas: {revision: 3, effective: 2026-09-14, approved: head chef}}"],
    )
    review_every: Keeping | None = Field(
        None,
        description="How long after its effective date a standard is reviewed, if it gives no "
        "day of its own.",
        examples=["365 days"],
    )
    labels: LabelSheet | None = Field(
        None, description="The sheets of labels in the printer, measured in mm off one sheet."
    )
    authorisations: tuple[Authorisation, ...] = Field(
        (), description="Variances and plans on file, a list."
    )
    house_limits: tuple[KitchenLimit, ...] = Field(
        (),
        description="Your own limits, a list. Stricter than the code: always allowed. Looser: "
        "only `allowed_by` an authorisation.",
    )


def today_at(kitchen: Kitchen | None) -> datetime.date:
    """The day it is now in a kitchen: by the clocks of its time zone. Where no kitchen could be
    read, the day of this machine."""
    zone = zoneinfo.ZoneInfo(kitchen.time_zone) if kitchen is not None else None
    return datetime.datetime.now(zone).date()

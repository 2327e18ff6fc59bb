"""The cover of a station's binder: whose it is, under whose rules, and the list of its sheets."""

from __future__ import annotations

from generator.binder.sheets import Record, sheet_record
from generator.measures.words import breakable, counted
from generator.records.approval import approval_of
from generator.sheet.manual import Manual


def cover_sheet(manual: Manual, station: str, sheets: list[Record]) -> Record:
    """The cover over numbered sheets. A sheet that isn't in its list isn't to be used."""
    house = manual.house
    record = house.stations[station]
    approval = approval_of(record, house.kitchen, manual.as_of)
    rows = [_row(sheet) for sheet in sheets]
    labels = (
        ("Copy no.", 26),
        ("Kept at", 50),
        ("Issued by", 52),
        ("Date", 26),
        ("Sheets checked", 26),
    )
    return sheet_record(
        manual,
        "cover",
        f"{station}/{station}/cover",
        record.name,
        ["Station binder"],
        record.name,
        approval,
        f"{station}, station binder, list of controlled sheets",
        [
            {"form": "fields", "fields": [{"label": w, "share": s} for w, s in labels]},
            {
                "form": "head",
                "words": "Controlled sheets in this binder",
                "right": "Use no other sheet or hash. Numbers are never used again.",
                "keep": True,
            },
            {"form": "list", "rows": rows},
        ],
        cover={
            "kitchen": house.kitchen.name,
            "holds": breakable(counted(len(sheets), "sheet")),
            "issue": "",
            "lines": [
                house.pack.facts.document,
                f"as adopted by {house.kitchen.code.adopted_by}",
                f"Temperatures in {house.kitchen.temperature}, weights as the scale shows them",
            ],
        },
    )


def _row(sheet: Record) -> Record:
    control = sheet["control"]
    flags = []
    if control["status"] != "Approved":
        flags.append({"form": "outlined", "words": control["status"]})
    if control["overdue"]:
        flags.append({"form": "reversed", "words": f"Review due {control['review']}"})
    title = sheet["title"]
    if sheet["kind"] == "batch":
        title += f", {sheet['subtitle'][1]}"
    return {
        "no": sheet["number"],
        "key": sheet["key"],
        "title": title,
        "id": control["id"],
        "revision": control["revision"],
        "print": control["hash"],
        "effective": control["effective"],
        "approved": control["approved"],
        "review": control["review"],
        "flags": flags,
    }

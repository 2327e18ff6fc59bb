"""What a page leaves free goes to the rows of its tables, and to nothing else."""

from __future__ import annotations

import random

from generator.binder.pagination import Frame, gaps, roomy, tall

FRAME = Frame(664, 4, 3, 7, 2, 29, 14, 6)


def table(form: str, heads: int, *rows: str) -> dict[str, object]:
    return {
        "form": form,
        "rows": [{"row": r} for r in rows],
        "heights": [20.0] * (heads + len(rows)),
    }


def test_rows_share_what_is_left_up_to_the_most_and_the_page_never_overflows() -> None:
    draw = random.Random(20261130)
    grown = 0
    for _ in range(300):
        blocks = [
            draw.choice(
                [
                    table("weigh", 1, "group", "line", "line"),
                    table("steps", 0, "", ""),
                    table("list", 1, *[""] * draw.randint(1, 9)),
                    {"form": "limit", "height": 90.0},
                ]
            )
            for _ in range(draw.randint(1, 4))
        ]
        room = draw.uniform(100, 700)
        below = gaps(blocks, room, FRAME)
        found = roomy(blocks, below, room, FRAME)
        before, after = (sum(map(tall, some)) + sum(below) for some in (blocks, found))
        assert before <= after + 1e-9 and (after <= room + 1e-9 or found == blocks)
        for old, new in zip(blocks, found, strict=True):
            if "heights" not in old:
                assert new == old
                continue
            more = [b - a for a, b in zip(old["heights"], new["heights"], strict=True)]
            heads = len(more) - len(old["rows"])
            assert all(m == 0 for m in more[:heads])
            named = [
                m for m, row in zip(more[heads:], old["rows"], strict=True) if row["row"] == "group"
            ]
            assert all(m == 0 for m in named) and all(0 <= m <= FRAME.roomy for m in more)
            grown += any(m > 0 for m in more)
    assert grown > 100

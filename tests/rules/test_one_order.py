"""What is made for one guest's order is worked out for one guest alone, whatever asks for more: its
limits hold for no larger batch (Food Code 3-401.11(A)(1)(a))."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands import run
from conftest import compute
from honest_kitchens import lay_out

STEPS = (
    "  - do: fry\n    add: [egg]\n    with: fryer\n    at: 160 °C\n"
    "    target: from the formula\n  - do: serve\n"
)
TARGET = "targets: {fry: core 64 °C for 15 s}\n"


def fried(path: Path, makes: str, sizes: str, to_order: bool = True) -> Path:
    """A kitchen that fries two eggs for one guest."""
    order = "to_order: yes\n" if to_order else ""
    spec = {
        "parts": {"egg": {"egg-in-shell": "2 each"}},
        "formula": f"{order}makes: {{{makes}}}\n{TARGET}batches: [{sizes}]\n",
        "process": STEPS,
    }
    return lay_out(path, spec)


@pytest.mark.parametrize(
    ("makes", "sizes", "accepted"),
    [
        ("portion: 110 g", "1 portion", True),
        ("fill_weight: 110 g", "1 fill", True),
        ("fill_weight: 110 g, portion: 110 g", "1 fill", True),
        ("fill_weight: 110 g, portions: 1", "1 fill", True),
        ("portion: 110 g", "2 portions", False),
        ("fill_weight: 5 kg, portion: 110 g", "1 fill", False),
        ("fill_weight: 5 kg, portions: 40", "1 fill", False),
        ("portion: 110 g", "10 kg total", False),
    ],
)
def test_a_fill_for_several_guests_is_no_one_order(
    tmp_path: Path, makes: str, sizes: str, accepted: bool
) -> None:
    manual = compute(fried(tmp_path, makes, sizes))
    found = [f for f in manual.errors if f.code == "not-to-order"]
    assert (found == []) == accepted, [f.message for f in manual.errors]


MORE = (
    ("--portions", "2"),
    ("--portions", "1000"),
    ("--total", "50kg"),
    ("--base", "221g"),
    ("--yield", "1kg"),
    ("--on-hand", "egg-in-shell=60 each"),
)
ONE = (("--portions", "1"), ("--total", "110g"), ("--base", "100g"))


@pytest.mark.parametrize("command", ["batch", "data"])
def test_every_command_refuses_more_than_one_order(tmp_path: Path, command: str) -> None:
    project = fried(tmp_path, "portion: 110 g", "1 portion")
    for option in MORE:
        done = run(project, command, "dish", *option)
        assert done.returncode == 2 and done.stdout == "", option
        assert "isn't made to order in a batch of more than one portion" in done.stderr
        assert "Traceback" not in done.stderr
    for option in ONE:
        assert run(project, command, "dish", *option).returncode == 0, option


def test_a_batch_sheet_of_more_than_one_order_is_refused(tmp_path: Path) -> None:
    project = fried(tmp_path, "portion: 110 g", "1 portion")
    out = tmp_path / "out.pdf"
    done = run(project, "binder", "dish", "--portions", "1000", "--out", str(out))
    assert done.returncode == 2 and not out.exists(), done
    assert "isn't made to order in a batch of more than one portion" in done.stderr


def test_a_plan_for_many_guests_makes_it_once_for_each(tmp_path: Path) -> None:
    project = fried(tmp_path, "portion: 110 g", "1 portion")
    (project / "standards/plans").mkdir()
    (project / "standards/plans/day.yaml").write_text(
        "name: Day\ndishes:\n  - dish: dish\n    amount: 40 portions\n    day: 2026-11-26\n"
        "    at: '12:00'\n",
        encoding="utf-8",
    )
    done = run(project, "order", "day")
    assert done.returncode == 0, done
    assert "40 × 1\N{NO-BREAK SPACE}portion" in done.stdout, done.stdout


def test_what_is_made_ahead_has_any_size(tmp_path: Path) -> None:
    """Without the key, or with an error about it, the limits are those of food made ahead."""
    project = fried(tmp_path, "portion: 110 g", "1 portion", to_order=False)
    text = (project / "standards/formulas/dish.yaml").read_text(encoding="utf-8")
    (project / "standards/formulas/dish.yaml").write_text(
        text.replace("core 64 °C for 15 s", "core 75 °C"), encoding="utf-8"
    )
    assert run(project, "batch", "dish", "--portions", "1000").returncode == 0

"""What a cook needs on the first day: amounts as written, scales as they read, pictures, stock."""

from __future__ import annotations

import html
import io
import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from PIL import Image

from generator.answers.batch import batch_data, batch_text
from generator.pages import make_pages
from generator.sheet.manual import Manual
from generator.sheet.sheet import BatchLine

BAKE, BAKED, HOUSE, ALL = (
    "formulas/pork-bake.yaml",
    "processes/baked.yaml",
    "equipment/house.yaml",
    "ingredients/all.yaml",
)
OZ = Fraction("28.349523125")  # g: NIST Handbook 44, appendix C
LB = 16 * OZ
GARLIC = """garlic:
  name: Garlic
  species: none
  state: raw
  allergens: none
  tcs: no
  weighs: {clove: 4 g}
  source: weighed here
butter:
  name: Butter
  species: none
  state: pasteurised
  allergens: [milk]
  weighs: {stick: 4 oz}
  source: the wrapper
"""


def more(kitchen: Path, lines: str) -> Manual:
    edit(kitchen, ALL, "whole-egg:\n", GARLIC + "whole-egg:\n")
    edit(
        kitchen,
        BAKE,
        "    house-spice: 1 %\n",
        "    house-spice: 1 %\n    butter: 1 stick\n    garlic: 20 cloves\n" + lines,
    )
    return compute(kitchen)


def written(manual: Manual, item: str, formula: str = "pork-bake") -> Fraction:
    """Grams of a line at the formula as written."""
    return next(ln.grams for ln in manual.walks[formula].lines if ln.joined.item == item)


def line(manual: Manual, item: str, size: int = 0) -> BatchLine:
    batch = manual.sheets["pork-bake"].batches[size]
    return next(ln for ln in batch.lines if ln.line.joined.item == item)


def page(manual: Manual) -> str:
    found = next(p.text for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    return html.unescape(found).replace("\u00a0", " ")


def test_amounts_as_cooks_write_them(kitchen: Path) -> None:
    """2 lb 6 oz is 38 oz of 28.349523125 g; a dozen eggs at 50 g; cloves and sticks by their own
    weight."""
    edit(kitchen, BAKE, "pork-shoulder: 3 kg", "pork-shoulder: 2 lb 6 oz")
    edit(kitchen, BAKE, "whole-egg: 6 each", "whole-egg: 1 dozen")
    edit(kitchen, BAKE, "cream: 1 cup", "cream: ½ cup")
    manual = more(kitchen, "")
    assert written(manual, "pork-shoulder") == 38 * OZ
    assert written(manual, "whole-egg") == 600
    assert written(manual, "cream") == 119
    assert written(manual, "butter") == 4 * OZ
    assert written(manual, "garlic") == 80


def test_as_needed_is_counted_by_the_usual_amount(kitchen: Path) -> None:
    edit(
        kitchen,
        ALL,
        "whole-egg:\n",
        "parsley: {name: Parsley, species: none, state: raw, allergens: [soybeans], tcs: no}\n"
        "whole-egg:\n",
    )
    manual = more(kitchen, "    parsley: {amount: as needed, usual: 25 g, note: For the top}\n")
    assert written(manual, "parsley") == 25
    assert "soybeans" in {a.word for a in manual.sheets["pork-bake"].allergens}
    found = line(manual, "parsley")
    assert found.weighing.share <= Fraction(1, 10), "near enough to start from"
    assert not [f for f in manual.findings if "Parsley" in f.message], (
        "and no finer scale is asked for"
    )
    assert dict(found.line.basis.inputs)["Usual"] == "25 g"
    sheet = manual.sheets["pork-bake"]
    assert "as needed" in batch_text(sheet, sheet.batches[0])
    record = json.loads(json.dumps(batch_data(sheet, sheet.batches[0], manual.walks)))
    assert [ln["ingredient"] for ln in record["lines"] if ln.get("as_needed")] == ["parsley"]
    shown = page(manual)
    assert "as needed, about" in shown and "For the top" in shown


@pytest.mark.parametrize("item", ["salt", "pork-shoulder"])
def test_the_usual_amount_is_never_made_up(kitchen: Path, item: str) -> None:
    old = {"salt": "salt: 1.6 %", "pork-shoulder": "pork-shoulder: 3 kg"}[item]
    edit(kitchen, BAKE, old, f"{item}: as needed")
    found = [f for f in compute(kitchen).errors if f.code == "usual-missing"]
    assert len(found) == 1 and found[0].write == ()


def imperial(kitchen: Path) -> Manual:
    """Scales that read pounds and ounces, one with a tub of 1 lb that stays on it."""
    edit(
        kitchen,
        HOUSE,
        "platform-scale: {kind: scale, name: Platform scale, division: 5 g, accuracy: 5 g, "
        "capacity: 30 kg}",
        "floor-scale: {kind: scale, name: Floor scale, division: 0.02 lb, accuracy: 0.01 lb, "
        "capacity: 5 lb, tare: 1 lb}",
    )
    edit(
        kitchen,
        HOUSE,
        "bench-scale: {kind: scale, name: Bench scale, division: 1 g, accuracy: 1 g, capacity: "
        "5 kg, minimum: 20 g}",
        "bench-scale: {kind: scale, name: Bench scale, division: 0.1 oz, accuracy: 0.05 oz, "
        "capacity: 30 oz, minimum: 4 oz}",
    )
    return compute(kitchen)


def test_a_line_is_shown_in_the_unit_its_scale_reads(kitchen: Path) -> None:
    """The figure shown times the scale's unit is the weight, within half a division."""
    manual = imperial(kitchen)
    shown = {}
    for item in ("pork-shoulder", "whole-egg", "salt"):
        found = line(manual, item)
        scale = found.weighing.scale
        assert scale is not None
        shown[item] = scale.unit
        figure = Fraction(scale.shows(found.weighing.each))
        unit = {"lb": LB, "oz": OZ, "g": Fraction(1)}[scale.unit]
        assert abs(figure * unit - found.exact_g / found.weighing.count) <= scale.division / 2
        whole = scale.shows(found.weighing.grams).partition(".")[0]
        assert re.search(rf"<b(?: data-alt=[^>]*)?>{whole}</b>", page(manual))
    assert shown == {"pork-shoulder": "lb", "whole-egg": "oz", "salt": "g"}
    assert " lb" in page(manual) and " oz" in page(manual)


def test_what_a_scale_does_not_carry_is_weighed_in_goes(kitchen: Path) -> None:
    """5 lb less a tub of 1 lb are 4 lb (1814 g): 2657 g of meat go on in two halves."""
    found = line(imperial(kitchen), "pork-shoulder")
    assert found.weighing.scale is not None and found.weighing.scale.id == "floor-scale"
    assert found.weighing.scale.capacity == 4 * LB
    assert 4 * LB < found.exact_g < 8 * LB
    assert found.weighing.count == 2
    assert found.weighing.share == found.weighing.scale.uncertainty(2) / found.exact_g
    assert "In 2 weighings of" in page(compute(kitchen))


def test_a_scale_is_not_used_below_its_least(kitchen: Path) -> None:
    """Four ounces are the least of the bench scale: 26.6 g of spice go on the fine one."""
    found = line(imperial(kitchen), "house-spice")
    assert found.weighing.scale is not None and found.weighing.scale.id == "fine-scale"


def test_the_method_is_the_cooks_own_words(kitchen: Path) -> None:
    edit(
        kitchen,
        BAKED,
        "    with: range-oven",
        "    with: range-oven\n    how:\n      - Turn the dish once.\n"
        '      - "Note: keep the door shut."',
    )
    shown = page(compute(kitchen))
    assert shown.index("Turn the dish once.") < shown.index("Note: keep the door shut.")


def test_what_is_made_ahead_is_drawn_from_stock(kitchen: Path) -> None:
    """The batch says how much of the spice it takes; less on hand makes a smaller batch."""
    from test_cli import data

    manual = compute(kitchen)
    sheet = manual.sheets["pork-bake"]
    record = batch_data(sheet, sheet.batches[0], manual.walks)
    spice = next(ln for ln in record["lines"] if ln["ingredient"] == "house-spice")
    assert record["made_ahead_g"] == {"house-spice": spice["exact_g"]}
    assert spice["made_ahead"] is True
    assert "Make ahead" in page(manual)
    half = spice["exact_g"] / 2
    found = data(kitchen, "batch", "pork-bake", "--on-hand", f"house-spice={half:.4f} g")
    assert found["binding"] == "house-spice"
    assert found["factor"] == pytest.approx(record["factor"] / 2, rel=1e-3)


def _picture(form: str) -> bytes:
    """A real picture of a few dots."""
    data = io.BytesIO()
    Image.new("RGB", (4, 3), (120, 90, 60)).save(data, form)
    return data.getvalue()


PNG, JPG, WEBP = _picture("PNG"), _picture("JPEG"), _picture("WEBP")


def with_pictures(kitchen: Path, files: dict[str, bytes]) -> Manual:
    """A step and "looks right" with a picture each, and these files in the pages folder."""
    for name, content in files.items():
        path = kitchen / "docs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    edit(kitchen, BAKE, "process: baked", "picture: pictures/right.jpg\nprocess: baked")
    edit(
        kitchen,
        BAKED,
        "    with: range-oven",
        "    with: range-oven\n    picture: pictures/oven.webp",
    )
    return compute(kitchen)


def test_pictures_stand_by_the_step_and_by_what_looks_right(kitchen: Path) -> None:
    manual = with_pictures(kitchen, {"pictures/right.jpg": JPG, "pictures/oven.webp": WEBP})
    assert manual.findings == ()
    shown = page(manual)
    step = shown[shown.index('id="step-4"') : shown.index('id="step-5"')]
    assert 'src="../../pictures/oven.webp" alt="Bake"' in step
    right = shown[shown.index('id="right"') : shown.index('id="store"')]
    assert 'src="../../pictures/right.jpg"' in right


@pytest.mark.parametrize(
    ("files", "words", "write"),
    [
        ({"pictures/oven.webp": WEBP}, "is not in the pages folder", ""),
        (
            {"pictures/Right.JPG": JPG, "pictures/oven.webp": WEBP},
            "is not in the pages folder",
            "pictures/Right.JPG",
        ),
        (
            {"pictures/right.png": PNG, "pictures/oven.webp": WEBP},
            "is not in the pages folder",
            "pictures/right.png",
        ),
        (
            {"pictures/right.jpg": b"<svg/>", "pictures/oven.webp": WEBP},
            "is not what its name says",
            "",
        ),
        (
            {"pictures/right.jpg": JPG, "pictures/oven.webp": b"RIFF\x10\x00\x00\x00WAVEfmt "},
            "is not what its name says",
            "",
        ),
    ],
)
def test_a_picture_that_cannot_be_shown_is_reported(
    kitchen: Path, files: dict[str, bytes], words: str, write: str
) -> None:
    found = with_pictures(kitchen, files).errors
    assert [f.code for f in found] == ["picture-refused"]
    assert words in found[0].message
    assert found[0].write == ((f"picture: {write}",) if write else ())

"""Thawing by microwave and as part of cooking, and of fish packed without air: Food Code
3-501.13(C) and (E), read in Wisconsin ATCP 75 appendix 3-501.13 and Washington WAC
246-215-03510."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.binder.limit_box import limit_block
from generator.rules.basics.limit import InWords
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

ALL, BAKED, TOSS = "ingredients/all.yaml", "processes/baked.yaml", "processes/toss.yaml"
GRIND = "  - do: grind\n    add: [meat]\n"
PORK = "  name: Pork shoulder\n  species: pork\n  state: raw\n  form: intact\n  allergens: none\n"
COD = "  name: Cod\n  species: fish\n  state: raw\n  form: intact\n  allergens: [fish (cod)]\n"
PACKED = "  arrives: frozen\n  without_air: yes\n"


def thaws(manual: Manual, formula: str = "pork-bake") -> list[tuple[str, str]]:
    """The thawing rules in words: where they are and what they say."""
    limits = manual.sheets[formula].walk.limits
    return [
        (x.id.split("/", 1)[1], x.words)
        for x in limits
        if x.hazard == "thaw" and isinstance(x, InWords)
    ]


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings]


def microwave(kitchen: Path) -> None:
    edit(
        kitchen,
        "equipment/house.yaml",
        "probe: {kind",
        "zap: {kind: microwave, name: Microwave oven, station: range}\nprobe: {kind",
    )


def test_cooked_from_frozen(kitchen: Path) -> None:
    edit(kitchen, BAKED, "  - do: bake\n", "  - do: bake\n    does: thaws\n")
    manual = compute(kitchen)
    assert codes(manual) == []
    reported = [
        (
            "bake/thaw",
            "Put it on the heat frozen. Cook it until it meets its cooking limit.",
        )
    ]
    assert thaws(manual) == reported
    assert [x.hazard for x in manual.sheets["pork-bake"].walk.steps[3].limits] == ["cook", "thaw"]


def test_the_rule_in_words_on_glass_and_paper(kitchen: Path) -> None:
    edit(kitchen, BAKED, "  - do: bake\n", "  - do: bake\n    does: thaws\n")
    manual = compute(kitchen)
    assert manual.house is not None
    limit = manual.sheets["pork-bake"].walk.steps[3].limits[1]
    view = limit_view(manual.house, limit)
    assert (view.head, view.figures, view.words) == ("thaw", (), limit.words)
    assert view.if_missed.startswith("Left out between thawing and cooking")
    block = limit_block(manual.house, limit, "4", "Bake")
    assert block["lead"] == limit.words and "Food Code 2022, 3-501.13(C)." in block["small"][1]


def test_undercooked_food_never_thaws_while_it_cooks(kitchen: Path) -> None:
    """(C)(1) names the cooking of 3-401.11(A) and (B), and not that on request, (D)."""
    edit(
        kitchen,
        ALL,
        PORK,
        COD.replace("fish (cod)", "fish (tuna)").replace("Cod", "Tuna")
        + "  parasites: {freed_by: tuna, record: Invoice}\n",
    )
    edit(kitchen, BAKED, "  - do: bake\n", "  - do: bake\n    does: thaws\n")
    edit(
        kitchen,
        BAKED,
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: serve\n",
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
        "targets: {bake: core 50 °C}\nundercooked: By request; the menu carries the reminder.\n",
    )
    manual = compute(kitchen)
    assert any(
        f.code == "not-covered" and "undercooked on request" in f.message for f in manual.errors
    )


def test_by_microwave_and_cooked_at_once(kitchen: Path) -> None:
    microwave(kitchen)
    zap = "  - do: thaw\n    add: [rice, dressing]\n    with: zap\n"
    edit(
        kitchen,
        TOSS,
        "  - do: toss\n    add: [rice, dressing]\n",
        zap + "  - do: boil\n    target: core 80 °C\n",
    )
    manual = compute(kitchen)
    assert codes(manual) == []
    (reported,) = thaws(manual, "rice-salad")
    assert reported == (
        "thaw/thaw",
        "Take it out of the microwave oven. Cook it at once on other equipment, without a pause.",
    )


@pytest.mark.parametrize(
    "after",
    [
        "  - do: toss\n",
        "  - do: boil\n    with: zap\n    target: core 80 °C\n",
        "  - do: rest\n  - do: boil\n    target: core 80 °C\n",
        "",
    ],
)
def test_by_microwave_and_not_cooked_at_once(kitchen: Path, after: str) -> None:
    microwave(kitchen)
    zap = "  - do: thaw\n    add: [rice, dressing]\n    with: zap\n"
    edit(kitchen, TOSS, "  - do: toss\n    add: [rice, dressing]\n", zap + after)
    assert "thaw-not-cooked-at-once" in codes(compute(kitchen))


@pytest.mark.parametrize(
    ("steps", "where", "words"),
    [
        (
            "  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n",
            "thaw",
            "before it thaws.",
        ),
        (
            "  - do: thaw\n    add: [meat]\n    at: 15 °C\n    time: 1 h\n  - do: grind\n",
            "thaw",
            "or at once when it has thawed.",
        ),
        # neither the microwave nor the cooking is named by (E): opened first
        ("  - do: season\n    add: [meat]\n", "season", "before it thaws."),
    ],
)
def test_fish_out_of_its_pack(kitchen: Path, steps: str, where: str, words: str) -> None:
    edit(kitchen, ALL, PORK, COD + PACKED)
    edit(kitchen, BAKED, GRIND, steps)
    manual = compute(kitchen)
    ((place, reported),) = [t for t in thaws(manual) if t[0].endswith("thaw-pack")]
    assert place == f"{where}/thaw-pack" and reported.endswith(words)
    assert codes(manual) == ([] if where == "thaw" else ["packed-fish-not-thawed"])


@pytest.mark.parametrize(
    ("name", "facts", "asked"),
    [
        ("Cod", "", True),
        ("Live cod", "", False),
        ("Cod, alive", "", False),
        ("Liver of cod", "", True),
        ("Live cod", "  arrives: frozen\n", True),  # contradicted: the strictest counts
        ("Live cod", "  without_air: yes\n", True),
    ],
)
def test_what_comes_alive_comes_in_no_pack(
    kitchen: Path, name: str, facts: str, asked: bool
) -> None:
    edit(kitchen, ALL, PORK, COD.replace("name: Cod", f'name: "{name}"') + facts)
    assert ("packed-fish-not-thawed" in codes(compute(kitchen))) is asked


def test_fish_cooked_from_frozen_comes_out_of_its_pack_first(kitchen: Path) -> None:
    edit(kitchen, ALL, PORK, COD + PACKED)
    edit(kitchen, BAKED, "  - do: bake\n", "  - do: bake\n    does: thaws\n")
    manual = compute(kitchen)
    assert codes(manual) == []
    assert dict(thaws(manual))["bake/thaw-pack"] == "Take the fish out of its pack before it thaws."


@pytest.mark.parametrize("facts", ["  arrives: frozen\n", "  without_air: yes\n"])
def test_one_of_the_two_stated_counts_as_both(kitchen: Path, facts: str) -> None:
    edit(kitchen, ALL, PORK, COD + facts)
    manual = compute(kitchen)
    assert codes(manual) == ["packed-fish-not-thawed"]
    (found,) = [f for f in manual.findings if f.code == "packed-fish-not-thawed"]
    assert "may come frozen" in found.message and "`without_air: no`" in found.help
    assert thaws(manual)[0][0].endswith("thaw-pack")


@pytest.mark.parametrize(
    "facts",
    [
        "  arrives: frozen\n  without_air: no\n",
        "  without_air: yes\n  arrives: cold\n",
        "  without_air: no\n",
    ],
)
def test_other_fish_and_other_food_have_no_pack_to_open(kitchen: Path, facts: str) -> None:
    edit(kitchen, ALL, PORK, COD + facts)
    edit(kitchen, BAKED, GRIND, "  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n")
    manual = compute(kitchen)
    assert codes(manual) == [] and thaws(manual) == []


def test_fish_that_says_nothing_and_is_thawed_may_come_packed(kitchen: Path) -> None:
    """What is thawed came frozen: neither line left out takes the rule of its pack away."""
    edit(kitchen, ALL, PORK, COD)
    edit(kitchen, BAKED, GRIND, "  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n")
    manual = compute(kitchen)
    assert [ident.rpartition("/")[2] for ident, _ in thaws(manual)] == ["thaw-pack"]


def test_meat_in_a_pack_without_air_isnt_spoken_of(kitchen: Path) -> None:
    edit(kitchen, ALL, PORK, PORK + PACKED)
    manual = compute(kitchen)
    assert codes(manual) == [] and thaws(manual) == []


def test_fish_packed_here_is_opened_too(kitchen: Path) -> None:
    """Frozen and packed by one formula (3-502.12(C)), thawed in another."""
    edit(
        kitchen,
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nauthorisations:\n  - {for: pack-without-air, authority: County, document: "
        "HACCP 7, from: 2026-02-01, until: 2028-02-01}\n",
    )
    edit(
        kitchen,
        "equipment/house.yaml",
        "probe: {kind",
        "deep: {kind: freezer, name: Freezer, air: -20 °C}\nprobe: {kind",
    )
    edit(
        kitchen,
        ALL,
        "whole-egg:\n",
        f"hake:\n{COD.replace('cod', 'hake').replace('Cod', 'Hake')}  arrives: frozen\n"
        "whole-egg:\n",
    )
    folder = kitchen / "standards"
    (folder / "processes/pack.yaml").write_text(
        "name: Pack\nsteps:\n  - do: vacuum-pack\n    add: [fish]\n  - do: store\n    in: deep\n"
    )
    (folder / "formulas/packed-hake.yaml").write_text(
        "name: Packed hake\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        "station: range\nbase: fish\nparts:\n"
        "  fish:\n    hake: 2 kg\nprocess: pack\nwithout_air: {criterion: fish-frozen, record: "
        "HACCP 7}\n"
        "keeps: {frozen: 60 days}\nbatches: [2 kg base]\n"
    )
    edit(kitchen, "formulas/pork-bake.yaml", "pork-shoulder: 3 kg", "packed-hake: 3 kg")
    edit(kitchen, BAKED, GRIND, "  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n")
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == []
    assert thaws(manual) == [("thaw/thaw-pack", "Take the fish out of its pack before it thaws.")]
    assert thaws(manual, "packed-hake") == [], "it stays frozen there"


def test_the_edition_of_2013_says_nothing_of_fish_in_packs(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2013")
    edit(kitchen, ALL, PORK, COD + PACKED)
    assert thaws(compute(kitchen)) == []


def test_law_without_a_figure_for_running_water_lets_nothing_thaw_in_it(kitchen: Path) -> None:
    """The Regulations of England name no temperature of water: the water is not covered, however
    cold."""
    edit(
        kitchen,
        "kitchen.yaml",
        "{model: us-food-code, edition: 2022, adopted_by: Port Sable Health Rule 9}",
        "{model: uk-england, edition: 2013, adopted_by: the law of England}",
    )
    thaw = "  - do: thaw\n    add: [meat]\n    at: 4 °C\n    time: 1 h\n  - do: grind\n"
    edit(kitchen, BAKED, GRIND, thaw)
    manual = compute(kitchen)
    said = [f.message for f in manual.errors if f.code == "not-covered"]
    assert any(
        m.startswith("Thaw: there is no limit here") and "running water" in m for m in said
    ), said


@pytest.mark.parametrize(
    ("water", "time", "later", "expected"),
    [
        ("70 °F", "3 h", "1 h", []),  # 4 h in all, in water of 70 °F: 3-501.13(B)(1) and (4)(b)
        ("71 °F", "3 h", "1 h", ["thaw-water-too-warm"]),
        ("70 °F", "181 min", "1 h", ["thaw-too-long"]),
        ("70 °F", "3 h", "61 min", ["thaw-too-long"]),
        ("70 °F", "4 h", "", []),
        ("70 °F", "", "1 h", ["thaw-time-missing"]),
    ],
)
def test_raw_food_in_water_at_the_edge_of_its_degrees_and_hours(
    kitchen: Path, water: str, time: str, later: str, expected: list[str]
) -> None:
    reported = f"    time: {time}\n" if time else ""
    after = f"    time: {later}\n" if later else ""
    thaw = f"  - do: thaw\n    add: [meat]\n    at: {water}\n{reported}  - do: grind\n{after}"
    edit(kitchen, BAKED, GRIND, thaw)
    manual = compute(kitchen)
    assert codes(manual) == expected
    if not expected:
        limits = [x for x in manual.sheets["pork-bake"].walk.limits if x.hazard == "thaw"]
        reported_of = {
            x.id.rsplit("/", 1)[1]: (x.figure.value.in_unit("°F"), x.lasts and x.lasts.most_s)
            for x in limits
        }
        assert reported_of == {"thaw-water": (70, None), "thaw": (41, 4 * 3600)}

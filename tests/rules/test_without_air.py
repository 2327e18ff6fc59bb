"""Packed without air by the paragraphs of their own: cook-chill, fish, cheese, 48 hours;
England."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from conftest import AS_OF, compute, edit

from generator.answers.limits import limit_record, limits_text
from generator.pages import make_pages
from generator.rules.basics.limit import InWords, KeepingLimit, Limit
from generator.sheet.labelling import Asked, NoDate, PartDay, date_mark
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

PLAN = (
    "authorisations:\n  - {for: pack-without-air, authority: County, document: HACCP 7, "
    "from: 2026-02-01, until: 2027-02-01}\n"
)
BAKED, BAKE, HOUSE = "processes/baked.yaml", "formulas/pork-bake.yaml", "equipment/house.yaml"
HOT = "  - do: vacuum-pack\n  - do: chill"
COOK_CHILL = "{criterion: cook-chill, sold: no, record: HACCP 7}"


def packed(
    kitchen: Path,
    facts: str,
    *,
    steps: tuple[str, str] = ("  - do: chill", HOT),
    plan: str = PLAN,
    watched: str = ", watched: yes",
    keeps: str = "7 days",
) -> Manual:
    """The clean kitchen's bake, packed without air where ``steps`` says."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(plan)
    edit(kitchen, BAKED, *steps)
    edit(
        kitchen,
        BAKE,
        "keeps: {cold: 5 days}",
        f"keeps: {{cold: {keeps}}}\nwithout_air: {facts}",
    )
    edit(kitchen, HOUSE, "air: 3 °C}", f"air: 3 °C{watched}}}")
    return compute(kitchen)


def air(manual: Manual) -> list[Limit]:
    return [lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "reduced_oxygen"]


def refusal(manual: Manual) -> str:
    assert [f.code for f in manual.errors] == ["not-covered"]
    return manual.errors[0].message


def test_cook_chill_packed_hot(kitchen: Path) -> None:
    """3-502.12(D)(2)(d) and (e)(ii): sealed before it falls below 135 °F, then 41 °F for 7 days at
    most. On ±1 °C 135 °F is read at 59 °C, 41 °F at 4 °C."""
    manual = packed(kitchen, COOK_CHILL)
    assert manual.errors == ()
    sealed, kept = air(manual)
    assert (sealed.bound, sealed.read) == ("min", 59)
    assert (kept.bound, kept.read) == ("max", 4)
    assert (
        "within 7\u00a0days of packing" in kept.note
        and "name and the day it is packed" in kept.note
    )
    assert "six months" in dict(kept.basis.inputs)["Records"]
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and (dates.law_day, dates.day) == (7, 7)
    assert manual.house is not None
    assert [limit_view(manual.house, lm).clause for lm in (sealed, kept)] == [
        "3-502.12(D)(2)(d)",
        "3-502.12(D)(2)(e)(ii)",
    ]


def test_cooked_in_its_pack(kitchen: Path) -> None:
    """Sous vide: sealed before cooking, so nothing is sealed hot; the core is held to its row."""
    manual = packed(
        kitchen, COOK_CHILL, steps=("  - do: bake", "  - do: vacuum-pack\n  - do: bake")
    )
    assert manual.errors == ()
    assert [lm.bound for lm in air(manual)] == ["max"]
    assert any(lm.hazard == "cook" for lm in manual.walks["pork-bake"].limits)


@pytest.mark.parametrize(
    ("air_c", "keeps", "found"),
    [
        ("0 °C", "30 days", []),
        ("0 °C", "31 days", ["keeps-beyond-law"]),
        ("3 °C", "30 days", ["not-covered", "keeps-beyond-law"]),
    ],
)
def test_near_freezing_keeps_thirty_days(
    kitchen: Path, air_c: str, keeps: str, found: list[str]
) -> None:
    """(D)(2)(e)(i): 34 °F within 48 hours of reaching 41 °F, then 30 days from packing; 34 °F is
    1.1 °C, read at 0 °C on ±1 °C. The box for storing says the same figure."""
    facts = COOK_CHILL.replace("sold", "kept: near-freezing, sold")
    manual = packed(kitchen, facts, keeps=keeps, watched=", watched: yes")
    edit(kitchen, HOUSE, "name: Cold room, air: 3 °C", f"name: Cold room, air: {air_c}")
    manual = compute(kitchen)
    assert sorted(f.code for f in manual.errors) == sorted(found)
    if not found:
        _, kept = air(manual)
        assert kept.read == 0 and "within 48\u00a0h" in kept.note and "of reaching 41" in kept.note
        (store,) = [lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "cold_hold"]
        assert store.read == 0


def test_cook_chill_frozen(kitchen: Path) -> None:
    facts = COOK_CHILL.replace("sold", "kept: frozen, sold")
    with (kitchen / "standards" / HOUSE).open("a") as file:
        file.write("deep: {kind: freezer, name: Deep freezer, air: -18 °C}\n")
    manual = packed(kitchen, facts, watched="")
    assert "No later step freezes it" in refusal(manual)
    edit(
        kitchen,
        BAKED,
        "  - do: store\n    in: cold-room",
        "  - do: freeze\n    in: deep\n  - do: store\n    in: deep",
    )
    edit(kitchen, BAKE, "keeps: {cold: 7 days}", "keeps: {frozen: 200 days}")
    manual = compute(kitchen)
    assert manual.errors == ()
    assert air(manual)[1].words.startswith("No limit on how long")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"plan": ""}, "HACCP plan"),
        ({"facts": "{criterion: cook-chill, record: HACCP 7}"}, "Never sell it in its pack"),
        (
            {"facts": "{criterion: cook-chill, sold: yes, record: HACCP 7}"},
            "Never sell it in its pack",
        ),
        ({"steps": ("  - do: store", "  - do: vacuum-pack\n  - do: store")}, "packed cold"),
        ({"watched": ""}, "watched"),
    ],
)
def test_every_condition_of_cook_chill(
    kitchen: Path, change: dict[str, object], words: str
) -> None:
    facts = str(change.pop("facts", COOK_CHILL))
    assert words in refusal(packed(kitchen, facts, **change))  # type: ignore[arg-type]


def test_cook_chill_has_to_be_cooled_and_kept_somewhere(kitchen: Path) -> None:
    packed(kitchen, COOK_CHILL)
    edit(kitchen, BAKED, "  - do: store\n    in: cold-room\n", "")
    assert "Its refrigerator isn't stated" in refusal(compute(kitchen))
    edit(kitchen, BAKED, "  - do: chill\n    in: blast\n    target: to 4 °C\n", "")
    assert any("No later step cools it" in f.message for f in compute(kitchen).errors)


def test_a_house_cure_is_never_a_criterion(kitchen: Path) -> None:
    """3-502.12(B)(2)(c) is for meat cured at a plant and received in an intact package."""
    (kitchen / "standards/ingredients/cure.yaml").write_text(
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure, nitrite: 6.25 %}\n"
    )
    edit(kitchen, BAKE, "    salt: 1.6 %\n", "    salt: 1.6 %\n    cure: 0.24 %\n")
    both = (
        PLAN + "  - {for: cure, authority: County, document: V 1, from: 2026-02-01, until: "
        "2027-02-01}\n"
    )
    steps = ("  - do: store", "  - do: vacuum-pack\n  - do: store")
    facts = "{criterion: cured-at-a-plant, record: Label}"
    assert "cured in this house" in refusal(packed(kitchen, facts, plan=both, steps=steps))


@pytest.mark.parametrize("edition", ["2022", "2013", "2017"])
def test_opened_within_48_hours(kitchen: Path, edition: str) -> None:
    """3-502.12(F): no plan, 41 °F or colder, time and date on it, out of its pack within 48 hours;
    read in texts of 2017 and later only."""
    edit(kitchen, "kitchen.yaml", "edition: 2022", f"edition: {edition}")
    steps = ("  - do: bake", "  - do: vacuum-pack\n  - do: bake")
    facts = "{criterion: within-48-hours, record: The label itself}"
    manual = packed(kitchen, facts, plan="", steps=steps)
    if edition != "2022":  # 2017 isn't held: the strictest of those held
        assert any("no criterion `within-48-hours`" in f.message for f in manual.errors)
        return
    assert manual.errors == ()
    (limit,) = air(manual)
    assert isinstance(limit, KeepingLimit) and limit.lasts is not None
    assert (limit.lasts.most_s, limit.read) == (48 * 3600, 4)
    assert "time and date" in limit.note
    assert limit_record(limit)["within_s"] == 48 * 3600
    assert manual.house is not None
    figure = limit_view(manual.house, limit).figures[0]
    assert (figure.number, figure.unit, figure.words) == (
        "48",
        "h",
        "from packing to opening the pack",
    )
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and dates.law_day == 7, "opened, it is dated as ever"


def fish(
    kitchen: Path, arrives: str, steps: str, keeps: str = "keeps: {frozen: 90 days}"
) -> Manual:
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(PLAN)
    with (kitchen / "standards" / HOUSE).open("a") as file:
        file.write("deep: {kind: freezer, name: Deep freezer, air: -18 °C}\n")
    (kitchen / "standards/ingredients/fish.yaml").write_text(
        "hake: {name: Hake, species: fish, state: raw, form: intact, allergens: [fish "
        f"(hake)], arrives: {arrives}}}\n"
    )
    (kitchen / "standards/processes/pack-fish.yaml").write_text(f"name: Pack fish\nsteps:\n{steps}")
    (kitchen / "standards/formulas/packed-hake.yaml").write_text(
        "name: Packed hake\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        "station: range\nbase: fish\n"
        "parts:\n  fish:\n    hake: 5 kg\nprocess: pack-fish\n"
        "without_air: {criterion: fish-frozen, record: HACCP 7}\n"
        f"{keeps}\ncooked_later: Sold raw; the label says cook it.\nbatches: [5 kg base]\n"
    )
    return compute(kitchen)


FROZEN_IN_A_PACK = "  - do: vacuum-pack\n    add: [fish]\n  - do: store\n    in: deep\n"


@pytest.mark.parametrize(
    ("arrives", "steps", "why"),
    [
        ("frozen", FROZEN_IN_A_PACK, ""),
        (
            "cold",
            "  - do: freeze\n    add: [fish]\n    in: deep\n"
            + FROZEN_IN_A_PACK.replace("    add: [fish]\n", ""),
            "",
        ),
        ("cold", FROZEN_IN_A_PACK, "isn't frozen when it is packed"),
        (
            "frozen",
            "  - do: thaw\n    add: [fish]\n    in: cold-room\n    time: 10 h\n"
            + FROZEN_IN_A_PACK.replace("    add: [fish]\n", ""),
            "isn't frozen when it is packed",
        ),
        ("frozen", FROZEN_IN_A_PACK.replace("in: deep", "in: cold-room"), "doesn't stay frozen"),
    ],
)
def test_fish_is_frozen_throughout(kitchen: Path, arrives: str, steps: str, why: str) -> None:
    """3-502.12(C): frozen before, during and after packing, and labelled so."""
    manual = fish(kitchen, arrives, steps)
    messages = [f.message for f in manual.errors]
    if why:
        assert any(why in m for m in messages)
        return
    assert messages == []
    (limit,) = [lm for lm in manual.walks["packed-hake"].limits if lm.hazard == "reduced_oxygen"]
    assert limit.words.startswith("Pack fish without air only if it is frozen")
    assert "keep frozen until use" in limit.note


@pytest.mark.parametrize(
    ("kind", "found"),
    [
        ("cheese: hard", []),
        ("cheese: soft", ["not-covered"]),
        ("note: From the dairy.", ["not-covered"]),
    ],
)
def test_cheese_of_a_plant(kitchen: Path, kind: str, found: list[str]) -> None:
    """3-502.12(E): hard, semisoft, pasteurised process; nothing added; 30 days at 41 °F."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(PLAN)
    (kitchen / "standards/ingredients/cheese.yaml").write_text(
        "hill-cheese: {name: Hill cheese, species: none, state: ready-to-eat, allergens: "
        f"[milk], {kind}}}\n"
    )
    (kitchen / "standards/processes/pack.yaml").write_text(
        "name: Pack\nsteps:\n  - do: vacuum-pack\n    add: [cheese]\n  - do: store\n"
        "    in: cold-room\n"
    )
    (kitchen / "standards/formulas/wedge.yaml").write_text(
        "name: Wedge\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: pass\n"
        "base: cheese\nparts:\n"
        "  cheese:\n    hill-cheese: 2 kg\nprocess: pack\n"
        "without_air: {criterion: cheese, record: HACCP 7}\n"
        "keeps: {cold: 30 days}\nbatches: [2 kg base]\n"
    )
    beyond = ["keeps-beyond-law"] if found else []
    assert sorted(f.code for f in compute(kitchen).errors) == beyond + found


def test_england_asks_no_criterion_and_caps_ten_days(kitchen: Path) -> None:
    """The Food Standards Agency's guidance: 10 days at 3 to 8 °C, with no other control."""
    edit(
        kitchen,
        "kitchen.yaml",
        "{model: us-food-code, edition: 2022,",
        "{model: uk-england, edition: 2013,",
    )
    edit(kitchen, "kitchen.yaml", "cup: us", "cup: us\nallergens: us")
    edit(kitchen, BAKED, "  - do: store", "  - do: vacuum-pack\n  - do: store")
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == []
    (limit,) = air(manual)
    assert (limit.source.standing, limit.read) == ("guidance", 7)
    edit(kitchen, BAKE, "cold: 5 days", "cold: 11 days")
    (found,) = compute(kitchen).errors
    assert (
        found.code == "keeps-beyond-law"
        and "the guidance on packing without air allows 10" in found.message
    )


def test_the_page_and_the_terminal_report_the_same(kitchen: Path) -> None:
    manual = packed(kitchen, COOK_CHILL)
    (page,) = (p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    assert "Seal every pack straight after cooking" in page.text
    assert "Use it or throw it away within 7 days of packing" in page.text.replace("\u00a0", " ")
    reported = limits_text(manual.walks["pork-bake"])
    assert "Probe must read 59 °C" in reported and "Probe must read 4 °C" in reported


def test_the_two_boxes_are_reported_apart(kitchen: Path) -> None:
    manual = packed(kitchen, COOK_CHILL)
    assert manual.house is not None
    sealed, kept = (limit_view(manual.house, lm) for lm in air(manual))
    assert (sealed.head, kept.head) == ("without air: seal", "without air: keep")
    assert kept.check == manual.house.library.hazards["reduced_oxygen"].check


# --- raw food, by (B)(2)(d)


def raw_pack(
    kitchen: Path,
    lines: str,
    items: str,
    *,
    plan: str = PLAN,
    keys: str = "without_air: {criterion: competing-organisms, record: HACCP 7}\n",
    more: str = "",
) -> Manual:
    """A formula that packs raw food without air and keeps it cold, with ``items`` on a shelf of its
    own."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(plan)
    (kitchen / "standards/ingredients/packed.yaml").write_text(items)
    (kitchen / "standards/processes/packed.yaml").write_text(
        f"name: Packed raw\nsteps:\n  - do: mix\n    add: [food]\n{more}  - do: vacuum-pack\n"
        "  - do: store\n    in: cold-room\n"
    )
    (kitchen / "standards/formulas/packed.yaml").write_text(
        "name: Packed raw\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        "station: range\nbase: food\n"
        f"parts:\n  food:\n{lines}process: packed\n"
        f"{keys}cooked_later: Sold raw; the label says cook it.\nbatches: [5 kg base]\n"
    )
    return compute(kitchen)


def item(ident: str, facts: str, allergens: str = "none") -> str:
    name = ident.replace("-", " ").capitalize()
    return f"{ident}: {{name: {name}, {facts}, allergens: {allergens}}}\n"


MEAT = item("beef-rib", "species: beef, state: raw, form: intact")
NAMED = {
    "beef-rib": MEAT,
    "duck-leg": item("duck-leg", "species: duck, state: raw, form: intact"),
    "quail": item("quail", "species: quail, state: raw, form: intact"),
    "venison": item("venison", "species: farmed-venison, state: raw, form: intact"),
    "shredded-lettuce": item("shredded-lettuce", "species: none, state: raw, plant: leafy-greens"),
}
NOT_NAMED = {
    "yolk": item("yolk", "species: egg, state: raw, form: liquid", "[eggs]"),
    "wild-boar": item("wild-boar", "species: wild-game, state: raw, form: intact"),
    "something": item("something", "state: raw, form: intact"),
    "dough": item("dough", "species: none, state: raw", "[wheat]"),
    "mung-sprouts": item("mung-sprouts", "species: none, state: raw, plant: sprouts"),
    "cut-melon": item("cut-melon", "species: none, state: raw, plant: melon"),
    "cooked-barley": item("cooked-barley", "species: none, state: ready-to-eat"),
    "buttermilk": item("buttermilk", "species: none, state: pasteurised", "[milk]"),
}


@pytest.mark.parametrize("what", NAMED)
def test_raw_food_the_paragraph_names(kitchen: Path, what: str) -> None:
    """3-502.12(B)(2)(d): such as raw meat, raw poultry, or raw vegetables; poultry and meat by
    1-201.10."""
    manual = raw_pack(kitchen, f"    {what}: 5 kg\n", NAMED[what])
    assert [f.message for f in manual.errors] == []
    (limit,) = [lm for lm in manual.walks["packed"].limits if lm.hazard == "reduced_oxygen"]
    assert limit.source.clause == "3-502.12(B)(2)(d), (B)(4)"


@pytest.mark.parametrize("what", NOT_NAMED)
def test_raw_food_it_does_not_name(kitchen: Path, what: str) -> None:
    """Neither alone nor in a mixture with meat."""
    alone = raw_pack(kitchen, f"    {what}: 5 kg\n", NOT_NAMED[what])
    mixed = raw_pack(
        kitchen, f"    {what}: 5 kg\n    beef-rib: 5 kg\n", NOT_NAMED[what] + MEAT, plan=""
    )
    name = what.replace("-", " ").capitalize()
    for manual in (alone, mixed):
        reported = [f.message for f in manual.errors if f.code == "not-covered"]
        assert any(f"{name} is none of them" in m for m in reported), [
            f.message for f in manual.errors
        ]


def test_what_needs_no_control_packs_without_air_as_it_likes(kitchen: Path) -> None:
    """3-502.12 is for food that needs temperature control: dried herbs, sugar and spices need no
    plan."""
    dry = item("dried-thyme", "species: none, state: ready-to-eat, tcs: no")
    manual = raw_pack(
        kitchen,
        "    dried-thyme: 1 kg\n    salt: 1 kg\n",
        dry,
        plan="",
        keys="keeps: {dry: 90 days}\n",
    )
    assert manual.findings == ()
    assert not [lm for lm in manual.walks["packed"].limits if lm.hazard == "reduced_oxygen"]


@pytest.mark.parametrize("tcs", ["", ", tcs: yes"])
def test_what_needs_control_or_does_not_say_is_refused(kitchen: Path, tcs: str) -> None:
    """The twin: the fact left out counts as needing it."""
    herb = item("dried-thyme", f"species: none, state: ready-to-eat{tcs}")
    manual = raw_pack(kitchen, "    dried-thyme: 1 kg\n", herb, plan="", keys="")
    assert [f.code for f in manual.errors] == ["not-covered"]
    assert "HACCP plan" in manual.errors[0].message


def test_the_finished_food_needs_no_control_by_its_own_word(kitchen: Path) -> None:
    """`not_tcs` is of the finished food: biscuits packed when they are done, never dough packed
    before."""
    keys = "not_tcs: Dry biscuits.\nkeeps: {dry: 30 days}\n"
    baked = "  - do: bake\n    with: range-oven\n    at: 180 °C\n"
    dough = item("biscuit-dough", "species: none, state: raw, tcs: yes", "[wheat]")
    assert (
        raw_pack(kitchen, "    biscuit-dough: 1 kg\n", dough, plan="", keys=keys, more=baked).errors
        == ()
    )
    process = kitchen / "standards/processes/packed.yaml"
    process.write_text(
        process.read_text().replace(baked, "").replace("  - do: store\n    in: cold-room\n", baked)
    )
    assert "HACCP plan" in refusal(compute(kitchen))


def test_raw_meat_that_says_it_needs_no_control_is_refused_all_the_same(kitchen: Path) -> None:
    beef = MEAT.replace("form: intact", "form: intact, tcs: no")
    manual = raw_pack(kitchen, "    beef-rib: 5 kg\n", beef, plan="")
    assert any("HACCP plan" in f.message for f in manual.errors)


# --- fish


@pytest.mark.parametrize(
    "between",
    [
        "  - do: freeze\n    in: deep\n  - do: store\n    id: thawing\n    in: cold-room\n",
        "  - do: freeze\n    in: deep\n  - do: slack\n    in: cold-room\n    time: 2 h\n",
        "  - do: freeze\n    in: deep\n  - do: brine\n    in: cold-room\n    time: 2 h\n",
    ],
)
def test_fish_that_leaves_the_freezer_before_it_is_packed(kitchen: Path, between: str) -> None:
    """Frozen once is not frozen still."""
    steps = between.replace("freeze\n", "freeze\n    add: [fish]\n") + FROZEN_IN_A_PACK.replace(
        "    add: [fish]\n", ""
    )
    assert any(
        "isn't frozen when it is packed" in f.message for f in fish(kitchen, "cold", steps).errors
    )


@pytest.mark.parametrize("store", ["  - do: store\n    in: deep\n", "  - do: store\n", ""])
@pytest.mark.parametrize("keeps", ["keeps: {frozen: 90 days}", ""])
def test_such_a_pack_is_kept_frozen_and_nothing_else(kitchen: Path, store: str, keeps: str) -> None:
    """3-502.12(C), whether or not the formula says where it is stored: never 41 °F."""
    steps = FROZEN_IN_A_PACK.replace("  - do: store\n    in: deep\n", store)
    manual = fish(kitchen, "frozen", steps, keeps)
    assert [f.message for f in manual.errors] == []
    (held,) = [lm for lm in manual.walks["packed-hake"].limits if lm.hazard == "cold_hold"]
    assert isinstance(held, InWords) and held.words == "Keep it frozen."


def test_fish_opened_within_48_hours_is_read_both_ways(kitchen: Path) -> None:
    """(C) forbids the pack unless it is frozen, (F) takes packs opened in time off the plan:
    ask."""
    steps = (
        "  - do: vacuum-pack\n    add: [fish]\n  - do: poach\n"
        "    target: core 63 °C for 15 s\n  - do: serve\n"
    )
    fish(kitchen, "cold", steps, "")
    edit(
        kitchen, "formulas/packed-hake.yaml", "criterion: fish-frozen", "criterion: within-48-hours"
    )
    reported = refusal(compute(kitchen))
    assert "read both ways" in reported
    assert compute(kitchen).errors[0].help.startswith("Ask your regulatory authority")


@pytest.mark.parametrize(
    "by",
    [
        "competing-organisms",
        "acidity",
        "water-activity",
        "cook-chill",
        "cheese",
        "cured-at-a-plant",
    ],
)
def test_no_other_criterion_is_for_fish(kitchen: Path, by: str) -> None:
    fish(kitchen, "frozen", FROZEN_IN_A_PACK)
    edit(
        kitchen,
        "formulas/packed-hake.yaml",
        "criterion: fish-frozen",
        f"criterion: {by}, measured: 4.0, sold: no",
    )
    assert "Pack fish without air only if it is frozen" in refusal(compute(kitchen))


def test_fish_that_its_formula_keeps_cold_is_not_kept_frozen(kitchen: Path) -> None:
    """Food Code 3-502.12(C): frozen before, during and after packing. Packed frozen and then kept
    refrigerated is not."""
    manual = fish(kitchen, "frozen", FROZEN_IN_A_PACK, "keeps: {cold: 3 days}")
    assert "kept refrigerated by its formula" in refusal(manual)


# --- the maker's own date


def bought(kitchen: Path, by: str, facts: str, keeps: str = "keeps: {cold: 30 days}\n") -> Manual:
    """Food of a plant, opened and packed again without air."""
    keys = f"without_air: {{criterion: {by}, record: HACCP 7}}\n{keeps}"
    return raw_pack(
        kitchen, "    plant-food: 5 kg\n", item("plant-food", facts, "[milk]"), keys=keys
    )


PLANT_FOOD = {
    "cured-at-a-plant": "species: pork, state: ready-to-eat, form: intact, "
    "commercially_packed: yes",
    "cheese": "species: none, state: ready-to-eat, cheese: hard",
}


@pytest.mark.parametrize("by", PLANT_FOOD)
def test_the_makers_date_ends_it_and_the_label_asks(kitchen: Path, by: str) -> None:
    """3-502.12(B)(4) and (E)(3): 30 days from packing, or the maker's sell-by or use-by date,
    whichever is first."""
    manual = bought(kitchen, by, PLANT_FOOD[by])
    assert manual.errors == ()
    walked = manual.walks["packed"]
    (limit,) = [lm for lm in walked.limits if lm.hazard == "reduced_oxygen"]
    assert "maker's sell-by or use-by date if that is sooner" in limit.note
    assert (
        walked.dates is not None and "or the maker's sell-by or use-by date" in walked.dates.words
    )
    assert "maker's sell-by" in limits_text(walked)
    sheet, made = manual.sheets["packed"], datetime.date(2026, 11, 20)
    parts = {part.item: PartDay(made) for part in walked.dates.dated_parts}
    with pytest.raises(NoDate) as refused:
        date_mark(sheet, Asked(made, parts), AS_OF)
    assert [r.code for r in refused.value.reasons] == ["label-maker-undated"]
    sooner = date_mark(sheet, Asked(made, parts, maker_use_by=datetime.date(2026, 12, 1)), AS_OF)
    assert sooner.use_by == datetime.date(2026, 12, 1)
    later = date_mark(sheet, Asked(made, parts, maker_use_by=datetime.date(2027, 6, 1)), AS_OF)
    none = date_mark(sheet, Asked(made, parts, no_maker_date=True), AS_OF)
    assert later.use_by == none.use_by == datetime.date(2026, 12, 19)  # 20 November is day 1 of 30
    assert ("Maker of a part", "no pack has a date") in none.basis.inputs


def test_a_date_and_none_are_not_both_stated(kitchen: Path) -> None:
    manual = bought(kitchen, "cheese", PLANT_FOOD["cheese"])
    made = datetime.date(2026, 11, 20)
    with pytest.raises(NoDate) as refused:
        date_mark(
            manual.sheets["packed"], Asked(made, maker_use_by=made, no_maker_date=True), AS_OF
        )
    assert "label-maker-undated" in [r.code for r in refused.value.reasons]


def test_what_was_raised_and_packed_by_nobody_else_is_not_asked(kitchen: Path) -> None:
    manual = raw_pack(kitchen, "    beef-rib: 5 kg\n", MEAT)
    dates = manual.walks["packed"].dates
    assert dates is not None and not dates.makers_date
    assert date_mark(manual.sheets["packed"], Asked(AS_OF), AS_OF).use_by is not None


OPENED = "{criterion: within-48-hours, record: The label itself}"
BY_THEN = ("  - do: bake", "  - do: vacuum-pack\n  - do: bake")


@pytest.mark.parametrize(
    ("keeps", "after", "code"),
    [
        ("2 days", "", ""),
        ("7 days", "", "pack-kept-longer"),
        ("3 days", "", "pack-kept-longer"),
        ("7 days", "  - do: unpack\n", ""),
        ("7 days", "  - do: slice\n", ""),
        (
            "2 days",
            "  - do: store\n    id: hold\n    in: cold-room\n    time: 49 h\n",
            "pack-opened-late",
        ),
        (
            "7 days",
            "  - do: store\n    id: hold\n    in: cold-room\n    time: 40 h\n  - do: unpack\n",
            "",
        ),
        (
            "7 days",
            "  - do: store\n    id: hold\n    in: cold-room\n    stays: 3 days\n  - do: unpack\n",
            "pack-opened-late",
        ),
    ],
)
def test_kept_for_longer_than_it_may_stay_packed(
    kitchen: Path, keeps: str, after: str, code: str
) -> None:
    """48 hours from the packing: what the formula keeps is asked about unless a step opens the
    pack, and what the steps keep closed for longer is refused."""
    edit(kitchen, BAKED, "  - do: store", f"{after}  - do: store")
    manual = packed(kitchen, OPENED, plan="", steps=BY_THEN, keeps=keeps)
    assert [f.code for f in manual.findings if f.code.startswith("pack-")] == (
        [code] if code else []
    )
    assert bool(manual.errors) == (code == "pack-opened-late"), manual.errors

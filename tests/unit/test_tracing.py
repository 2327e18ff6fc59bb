"""A lot traced through records: against a brute-force closure on random records, and by hand."""

from __future__ import annotations

import random
from collections.abc import Mapping
from fractions import Fraction

import pytest
from recorded_batches import Made, Row, history_of, random_batches

from generator.files.finding import Refused
from generator.sheet.tracing import Graph, Match, Traced

Lines = Mapping[str, frozenset[str]]


def plain(lot: str | None) -> str:
    return "" if lot is None else lot.replace(" ", "").lower()


def signs(lot: str | None) -> str:
    """A lot's number as one who reads it badly may copy it: no hyphens, o for 0, l or i for 1."""
    kept = "".join(c for c in plain(lot) if c.isalnum())
    return kept.replace("o", "0").replace("l", "1").replace("i", "1")


def sources(batches: list[Made], row: Row) -> set[str]:
    """The batches a line came from."""
    return {
        b.id
        for b in batches
        if row.lot is not None and b.formula == row.item and plain(b.lot) == plain(row.lot)
    }


def names(batches: list[Made], row: Row, match: Match) -> str:
    """Whether a line is of the match, by the words of the task alone: "is", "may", ""."""
    here = row.item in {b.formula for b in batches}
    if row.lot is None or here != match.made_here:
        return ""
    own = sources(batches, row)
    if own:
        return "is" if own & set(match.records) else ""
    ours, theirs = row.supplier.lower(), match.supplier.lower()
    other = not match.made_here and ours and theirs and ours != theirs
    if row.item != match.item or other or signs(row.lot) != signs(match.lot):
        return ""
    alike = plain(row.lot) != plain(match.lot) or match.records
    return "may" if alike or (not match.made_here and ours != theirs) else "is"


def unwritten(batch: Made, item: str, lines: Lines) -> bool:
    rows = [r for r in batch.rows if r.item == item]
    return any(r.lot is None for r in rows) if rows else item in lines.get(batch.formula, ())


def lost(batches: list[Made], row: Row, item: str, lines: Lines) -> bool:
    """Whether a line is of a made-ahead batch without a record, with the item in it at any depth."""
    here = row.item in {b.formula for b in batches}
    if not here or row.lot is None or sources(batches, row) or row.item == item:
        return False
    inside = {(a, c) for a, items in lines.items() for c in items}
    for k in lines:
        inside |= {(a, d) for a, b in inside if b == k for c, d in inside if c == k}
    return (row.item, item) in inside


def brute(batches: list[Made], lines: Lines, match: Match) -> tuple[set[str], set[str]]:
    """All pairs first (Warshall), then the rules over and over until nothing changes."""
    ids = [b.id for b in batches]
    reach = {(a, a) for a in ids}
    reach |= {(s, b.id) for b in batches for r in b.rows for s in sources(batches, r)}
    for k in ids:
        reach |= {(a, c) for a in ids for c in ids if (a, k) in reach and (k, c) in reach}
    start = set(match.records)
    start |= {b.id for b in batches if any(names(batches, r, match) == "is" for r in b.rows)}
    sure = {c for a in start for c in ids if (a, c) in reach}
    maybe: set[str] = set()
    for b in batches:
        doubt = any(names(batches, r, match) == "may" for r in b.rows)
        if not (match.made_here and match.records):
            doubt = doubt or unwritten(b, match.item, lines)
        doubt = doubt or any(lost(batches, r, match.item, lines) for r in b.rows)
        if doubt and b.id not in sure:
            maybe.add(b.id)
    while True:
        before = set(maybe)
        maybe |= {c for a in maybe for c in ids if (a, c) in reach} - sure
        for b in batches:
            held = [h for h in batches if h.id in sure | maybe and h.day <= b.day]
            if b.id not in sure and any(unwritten(b, h.formula, lines) for h in held):
                maybe.add(b.id)
        if maybe == before:
            return sure, maybe


def grams_by_paths(
    batches: list[Made], sure: set[str], match: Match, ident: str, seen: tuple[str, ...]
) -> Fraction:
    """How much of a lot is in a batch: every way it came in, one by one, each a product of shares.
    Raises KeyError where a figure is missing or a way runs in a circle."""
    if ident in seen:
        raise KeyError(ident)
    batch = next(b for b in batches if b.id == ident)
    if ident in match.records:
        if batch.grams is None:
            raise KeyError(ident)
        return Fraction(batch.grams)
    total = Fraction(0)
    for row in batch.rows:
        is_it = names(batches, row, match)
        if is_it == "is":
            if row.grams is None:
                raise KeyError(ident)
            total += row.grams
            continue
        if is_it == "may":
            raise KeyError(ident)
        for one in sources(batches, row) & sure:
            source = next(b for b in batches if b.id == one)
            inside = grams_by_paths(batches, sure, match, one, (*seen, ident))
            if row.grams is None or source.grams is None:
                raise KeyError(ident)
            total += inside * min(Fraction(1), Fraction(row.grams, source.grams))
    return total


def held(traced: Traced) -> tuple[set[str], set[str]]:
    sure = {h.batch.id for h in traced.holds if h.surely}
    return sure, {h.batch.id for h in traced.holds} - sure


def against_brute_force(seed: int) -> int:
    batches, lines = random_batches(random.Random(seed))
    graph = Graph(history_of(batches), lines)
    known = graph.known()
    for match in known:
        traced = graph.trace(match)
        sure, maybe = brute(batches, lines, match)
        assert held(traced) == (sure, maybe), f"seed {seed}, {match}"
        for one in traced.holds:
            if not one.surely:
                assert one.lot_g is None
                continue
            try:
                expected: Fraction | None = grams_by_paths(batches, sure, match, one.batch.id, ())
            except KeyError:
                expected = None
            assert one.lot_g == expected, f"seed {seed}, {match}, {one.batch.id}"
        back = {o.of for o in traced.origins} | {i for o in traced.origins for i in o.batches}
        upward = set(match.records)
        for _ in batches:
            upward |= {
                s for b in batches if b.id in upward for r in b.rows for s in sources(batches, r)
            }
        assert back <= upward, f"seed {seed}, {match}"
        rows = [r for b in batches if b.id in upward for r in b.rows]
        assert len(traced.origins) == len(rows), f"seed {seed}, {match}"
    return len(known)


def test_random_records_against_a_brute_force_closure() -> None:
    assert sum(against_brute_force(seed) for seed in range(100)) > 500


@pytest.mark.slow
def test_500_random_records_against_a_brute_force_closure() -> None:
    assert sum(against_brute_force(seed) for seed in range(500)) > 2_500


STOCK = Made("stock", "261102-1", 0, (Row("bones", "T 1", "Alder", 8000),), 10_000)
GRAVY = Made("gravy", "261103-1", 1, (Row("stock", "261102-1", "", 5000),), 4000)
PIE = Made("pie", "261104-1", 2, (Row("gravy", "261103-1", "", 1000),), 3000)


def only(graph: Graph, lot: str, **more: str) -> Traced:
    (match,) = graph.find(lot, **more)
    return graph.trace(match)


def test_a_lot_at_depth_three_with_its_weights_by_hand() -> None:
    """8 kg of bones in 10 kg of stock; half the stock, 4 kg, in the gravy; a quarter of that in the
    pie."""
    traced = only(Graph(history_of([STOCK, GRAVY, PIE])), "t1")
    found = {h.batch.id: h.lot_g for h in traced.holds}
    assert found == {STOCK.id: 8000, GRAVY.id: 4000, PIE.id: 1000}
    assert traced.used_g == 8000


def test_a_thousand_batches_of_one_another() -> None:
    """A master stock that goes on from day to day: no depth is too deep, and it ends soon."""
    chain = [Made("master", "m0", 0, (Row("bones", "T1"),))]
    chain += [Made("master", f"m{n}", 0, (Row("master", f"m{n - 1}"),)) for n in range(1, 1000)]
    traced = only(Graph(history_of(chain)), "T1")
    assert len(traced.holds) == 1000
    last = next(h for h in traced.holds if h.batch.record.lot == "m999")
    assert last.surely and last.lot_g is not None and 0 < last.lot_g < 1


def test_a_circle_is_followed_once_and_has_no_weight() -> None:
    one = Made("a", "1", 0, (Row("b", "2"), Row("x", "L")))
    two = Made("b", "2", 0, (Row("a", "1"),))
    traced = only(Graph(history_of([one, two])), "L")
    assert {h.batch.id: h.lot_g for h in traced.holds} == {"a-1": None, "b-2": None}


def test_a_split_lot_counts_both_its_lines_and_no_other_lot() -> None:
    batch = Made("a", "1", 0, (Row("x", "L1", "", 300), Row("x", "L1", "", 200), Row("x", "L2")))
    graph = Graph(history_of([batch]))
    assert only(graph, "L1").used_g == 500
    assert only(graph, "L1").holds[0].lot_g == 500
    assert only(graph, "L2").holds[0].lot_g == 100


def test_one_number_of_two_suppliers_is_two_lots() -> None:
    """Each by itself; what doesn't say whose it is may be either."""
    alder = Made("a", "1", 0, (Row("x", "L1", "Alder"),))
    birch = Made("a", "2", 0, (Row("x", "l 1", "Birch"),))
    nobody = Made("a", "3", 0, (Row("x", "L1"),))
    graph = Graph(history_of([alder, birch, nobody]))
    assert [m.supplier for m in graph.find("L1")] == ["", "Alder", "Birch"]
    by = {m.supplier: held(graph.trace(m)) for m in graph.find("L1")}
    assert by["Alder"] == ({"a-1"}, {"a-3"})
    assert by["Birch"] == ({"a-2"}, {"a-3"})
    assert by[""] == ({"a-3"}, {"a-1", "a-2"})
    assert [m.supplier for m in graph.find("L1", supplier="birch")] == ["", "Birch"]


def test_one_number_of_two_items_is_two_lots() -> None:
    batch = Made("a", "1", 0, (Row("x", "L1"), Row("y", "L1")))
    graph = Graph(history_of([batch]))
    assert [m.item for m in graph.find("L1")] == ["x", "y"]
    assert [m.item for m in graph.find("L1", item="y")] == ["y"]


def test_an_unknown_lot_is_refused_with_the_nearest() -> None:
    graph = Graph(history_of([STOCK]))
    with pytest.raises(Refused, match="No record has a lot T-1") as refused:
        graph.find("T-1")
    assert "Nearest: T 1." in refused.value.help
    with pytest.raises(Refused) as refused:
        graph.find("T 1", supplier="Birch")
    assert refused.value.code == "lot-unknown"
    with pytest.raises(Refused, match="zzz") as refused:
        Graph(history_of([])).find("zzz")
    assert "No batch is recorded yet" in refused.value.help


def test_a_number_misread_is_shown_beside_it() -> None:
    one = Made("a", "1", 0, (Row("x", "L-22O"),))
    two = Made("a", "2", 0, (Row("x", "L220"),))
    graph = Graph(history_of([one, two]))
    (match,) = graph.find("L220")
    assert [m.lot for m in graph.alike(match)] == ["L-22O"]
    traced = graph.trace(match)
    assert held(traced) == ({two.id}, {one.id})
    (why,) = [h.why for h in traced.holds if not h.surely]
    assert why == "its lot L-22O is written nearly alike"


def test_a_lot_typed_two_ways_is_one_and_a_nearly_alike_one_may_be() -> None:
    """T-4471 and `t - 4471` are one lot, t 4471 may be it; of another supplier, or T-4472, is not. A
    batch's own number copied without its hyphen may be that batch."""
    typed = ("T-4471", "t - 4471", "t 4471", "T-4472")
    batches = [Made("a", str(n), n, (Row("x", lot, "Alder"),)) for n, lot in enumerate(typed)]
    batches.append(Made("a", "9", 9, (Row("x", "t 4471", "Birch"),)))
    graph = Graph(history_of(batches))
    (match,) = graph.find("t-4471")
    assert held(graph.trace(match)) == ({"a-0", "a-1"}, {"a-2"})
    own = Made("stock", "261101-1", 0, ())
    gravy = Made("gravy", "G", 1, (Row("stock", "2611011"),))
    graph = Graph(history_of([own, gravy]))
    (match,) = graph.find("261101-1")
    assert held(graph.trace(match)) == ({own.id}, {gravy.id})


def test_batches_of_a_day_are_in_the_order_of_their_numbers() -> None:
    """Twelve batches of one day, and lots S-9 and S-10: as people count, not as text."""
    made = [Made("a", f"261103-{n}", 0, (Row("x", f"S-{n}"),)) for n in (10, 2, 1, 12, 9)]
    history = history_of(made)
    order = [f"261103-{n}" for n in (1, 2, 9, 10, 12)]
    assert [b.record.lot for b in history.batches.values()] == order
    graph = Graph(history, {"a": frozenset({"x", "y"})})
    assert [m.lot for m in graph.known() if m.item == "x"] == ["S-1", "S-2", "S-9", "S-10", "S-12"]
    unwritten = Made("b", "1", 0, (Row("y", "Y"),))
    graph = Graph(history_of([*made, unwritten]), {"a": frozenset({"y"})})
    (match,) = graph.find("Y")
    assert [h.batch.record.lot for h in graph.trace(match).holds] == [*order, "1"]


def test_a_batch_that_was_used_and_has_no_record_is_traced() -> None:
    """Gravy of a stock nobody recorded: the stock isn't known as made here, so it is a lot."""
    other = Made("stock", "261101-9", 0, (), None)
    graph = Graph(history_of([GRAVY, PIE, other]))
    traced = only(graph, "261102-1")
    assert traced.match.made_here and not traced.match.records
    assert held(traced) == ({GRAVY.id, PIE.id}, set())


def test_a_lot_that_nobody_recorded_clears_no_batch() -> None:
    """A plate of a gravy whose batch has no record may hold what gravy is made of."""
    plate = Made("plate", "P", 3, (Row("gravy", "G9", "", 100),), 400)
    gravy = Made("gravy", "G1", 1, (Row("butter", "B7", "", 50),), 400)
    lines = {"gravy": frozenset({"butter"}), "plate": frozenset({"gravy"})}
    traced = only(Graph(history_of([plate, gravy]), lines), "B7")
    assert held(traced) == ({"gravy-G1"}, {"plate-P"})
    (why,) = [h.why for h in traced.holds if not h.surely]
    assert why == "its gravy G9 has no record"


def test_what_is_in_a_formula_that_is_not_held_is_not_known() -> None:
    """Another revision than the one held, and a formula that can't be read: both may hold it."""
    soup = Made("soup", "S", 3, (Row("leek", "L1", "", 100),), 400)
    milk = Made("sauce", "M", 1, (Row("butter", "B7", "", 50),), 400)
    known = history_of([soup, milk])
    lines = {"soup": frozenset({"leek"}), "sauce": frozenset({"butter"})}
    today = known.batches["soup-S"].record.revision
    assert held(only(Graph(known, lines, {"soup": today}), "B7")) == ({"sauce-M"}, set())
    later = only(Graph(known, lines, {"soup": today + 1}), "B7")
    assert held(later) == ({"sauce-M"}, {"soup-S"})
    unread = only(Graph(known, {"sauce": lines["sauce"]}, {}, frozenset({"soup"})), "B7")
    assert held(unread) == ({"sauce-M"}, {"soup-S"})

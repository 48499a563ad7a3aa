"""The shown state: the server's snapshot with the tablet's own operations on it."""

import random

import pytest

from planning.totals import PointAmount, summarise
from planning.vocabulary import Measure, Side
from tests.browser.charting.clinic import POINT, session, unit
from tests.browser.charting.tablet import keys

pytestmark = pytest.mark.django_db(transaction=True)
FIRST, SECOND = keys(2)
SHOWN = """async ([snapshot, operations, day]) => {
    const { shown } = await import("/static/js/charting/model.js");
    const record = ({ state = "tablet", ...op }) => (
        { id: op.id, op, state, message: "", hint: null });
    return shown(snapshot, operations.map(record), day, null);
}"""


def op(kind: str, data: dict, number: int, **fields) -> dict:
    return {
        "id": f"op{number}", "session": "s", "kind": kind, "base": None, "made_at": f"t{number}",
        "sequence": number, "data": data, **fields,
    }  # fmt: skip


def point(key: str, number: int, **fields) -> dict:
    return {
        **POINT, "key": key, "number": number, "head": f"head{number}", "removed": False,
        "tapped_at": "t", "by": "", **fields,
    }  # fmt: skip


def logged(key: str, number: int, **fields) -> dict:
    return op("log", POINT | {"key": key} | fields, number)


def test_totals_are_those_of_the_planning_service(tab):
    """Forty random points of three products, removed ones among them, against planning.totals."""
    chance = random.Random(7)  # noqa: S311
    products = {11: (1, "volume"), 12: (2, "dose"), 13: (3, "volume"), 14: (1, "volume")}
    tray = [unit(pk, product=product, product_name=f"Product {product}", measure=measure)
            for pk, (product, measure) in products.items()]  # fmt: skip
    points = [
        point(
            f"p{number}", number, unit=chance.choice(list(products)),
            amount=chance.randint(1, 90), region=chance.choice(["zygomatic", "temporal", "chin"]),
            removed=chance.random() < 0.2, side=chance.choice(["left", "right", "midline"]),
        )
        for number in range(1, 41)
    ]  # fmt: skip
    waiting = [logged("new", 1, unit=12, amount=250, region="chin", side="midline")]
    totals = tab.run(SHOWN, [session("s", tray=tray, points=points), waiting, None])["totals"]
    standing = [row for row in points if not row["removed"]] + [waiting[0]["data"]]
    expected = summarise(
        PointAmount(
            product_key=products[row["unit"]][0],
            product_label=f"Product {products[row['unit']][0]}",
            measure=Measure(products[row["unit"]][1]), region=row["region"],
            region_label=row["region"], side=Side(row["side"]), unit_key=row["unit"],
            amount=row["amount"],
        )
        for row in standing
    )  # fmt: skip
    assert [
        (row["product"], row["name"], row["measure"], row["amount"], row["points"])
        for row in totals["products"]
    ] == [
        (row.product_key, row.product_label, row.measure.value, row.amount, row.points)
        for row in expected.per_product
    ]
    assert [
        (row["region"], row["product"], row["right"], row["midline"], row["left"])
        for row in totals["regions"]
    ] == [
        (row.region, row.product_key, row.right, row.midline, row.left)
        for row in expected.per_region_side
    ]


def test_an_operation_the_snapshot_holds_is_not_applied_twice(tab):
    held = point(FIRST, 1, head="op3", amount=300)
    snapshot = session("s", head="op2", points=[held], tray=[unit(11, drawn=300, wasted=50)])
    operations = [
        logged(FIRST, 1, amount=200),
        op("waste", {"unit": 11, "amount": 50, "reason": "Primed"}, 2),
        op("change", POINT | {"key": FIRST, "amount": 300}, 3),
    ]
    state = tab.run(SHOWN, [snapshot, operations, None])
    assert [row["amount"] for row in state["points"]] == [300]
    assert state["tray"][0]["left"] == 650


def test_what_is_drawn_follows_every_change_of_a_point(tab):
    tray = [unit(11), unit(12)]
    operations = [
        logged(FIRST, 1, amount=200),
        op("change", POINT | {"key": FIRST, "amount": 150, "unit": 12}, 2),
        logged(SECOND, 3, amount=100),
        op("remove", {"key": SECOND}, 4),
    ]

    def left(count: int) -> list[int]:
        shown = tab.run(SHOWN, [session("s", tray=tray), operations[:count], None])
        return [row["left"] for row in shown["tray"]]

    assert [left(count) for count in range(5)] == [
        [1000, 1000], [800, 1000], [1000, 850], [900, 850], [1000, 850],
    ]  # fmt: skip


def test_numbers_are_never_given_twice_after_a_removal(tab):
    snapshot = session("s", points=[point("a", 1), point("b", 2, removed=True)])
    state = tab.run(SHOWN, [snapshot, [logged(FIRST, 1), logged(SECOND, 2)], None])
    assert [(row["key"], row["number"]) for row in state["points"]] == [
        ("a", 1), ("b", 2), (FIRST, 3), (SECOND, 4),
    ]  # fmt: skip


@pytest.mark.parametrize("state", ["refused", "conflict"])
def test_what_a_person_must_settle_is_still_shown(tab, state):
    operations = [logged(FIRST, 1) | {"state": state}]
    shown = tab.run(SHOWN, [session("s"), operations, None])
    assert [(row["key"], row["where"]) for row in shown["points"]] == [(FIRST, "attention")]


def test_session_started_without_network_has_its_patient_and_what_was_opened(tab, clinic):
    operations = [
        op("start", {"patient": 7, "appointment": None, "jaw": "average"}, 1),
        op("open", {"unit": 12, "diluent_ul": None, "no_diluent": False, "deviation": ""}, 2),
        logged(FIRST, 3, unit=12),
    ]
    state = tab.run(SHOWN, [None, operations, clinic.day()])
    assert state["patient"]["name"] == "Ann Example"
    assert [(row["pk"], row["label"], row["left"]) for row in state["tray"]] == [
        (12, "U000012", 800)
    ]
    assert state["points"][0]["product_name"] == "HA filler 1 mL"
    assert state["head"] == "op2"


def test_marking_is_ticked_off_by_its_point_until_that_is_removed(tab):
    operations = [
        op("plan", {"key": SECOND, "view": "front", "x_dmm": 1, "y_dmm": 2}, 1),
        logged(FIRST, 2, marking=SECOND),
        op("remove", {"key": FIRST}, 3),
    ]  # fmt: skip
    ticked = [
        tab.run(SHOWN, [session("s"), operations[:count], None])["markings"][0]["point"]
        for count in (1, 2, 3)
    ]
    assert ticked == [None, FIRST, None]


def test_sixty_points_and_forty_operations_take_less_than_two_milliseconds(tab):
    """A part of the 16 ms of one frame; the median of fifty runs."""
    snapshot = session("s", points=[point(f"p{number}", number) for number in range(1, 61)])
    operations = [
        logged(f"new{number}", number)
        if number % 2
        else op("remove", {"key": f"p{number}"}, number)
        for number in range(40)
    ]  # fmt: skip
    script = """async ([snapshot, operations]) => {
        const { shown } = await import("/static/js/charting/model.js");
        const records = operations.map((op) => (
            { id: op.id, op, state: "tablet", message: "", hint: null }));
        const times = [];
        for (let run = 0; run < 50; run += 1) {
            const start = performance.now();
            shown(snapshot, records, null, null);
            times.push(performance.now() - start);
        }
        return times.sort((one, other) => one - other)[25];
    }"""
    assert tab.run(script, [snapshot, operations]) < 2


def test_overdrawn_unit_has_nothing_left_and_says_by_how_much(tab):
    state = tab.run(SHOWN, [session("s"), [logged(FIRST, 1, amount=1200)], None])
    assert [(row["left"], row["over"]) for row in state["tray"]] == [(0, 200)]


def test_anaesthesia_is_shown_before_it_is_sent_and_goes_with_its_removal(tab):
    cream = {
        "key": FIRST, "method": "topical", "product": "Cream", "lidocaine_ug_per_ml": 50_000,
        "with_epinephrine": False, "volume_ul": 2_000,
    }  # fmt: skip
    numb = op("numb", cream, 1)
    off = op("numb_off", {"key": FIRST}, 2, base="op1")
    back = op("numb_back", {"key": FIRST}, 3, base="op2")
    for waiting, removed in ([numb], False), ([numb, off], True), ([numb, off, back], False):
        state = tab.run(SHOWN, [session("s", tray=[]), waiting, None])
        (row,) = state["anaesthesia"]
        assert (row["product"], row["removed"], row["where"]) == ("Cream", removed, "storing")
        assert state["is_empty"] is removed
    old = session("s")
    del old["anaesthesia"]  # kept by the tablet before there was any
    assert tab.run(SHOWN, [old, [numb], None])["anaesthesia"][0]["product"] == "Cream"


def test_what_was_confirmed_stands_with_the_point(tab):
    asked = "Usual here: 0.2 mL; typed: 2 mL."
    waiting = [logged(FIRST, 1, confirmed_odd=asked)]
    (row,) = tab.run(SHOWN, [session("s"), waiting, None])["points"]
    assert row["confirmed_odd"] == asked

"""What of a newer list of the stock is news: what came into quarantine, of what the tablet knew."""

import copy

import pytest

AT, LATER = "2026-11-25T14:03:00Z", "2026-11-25T15:30:00Z"
NEWS = """async ([before, now, trays]) => {
    const { heldWords, newHolds } = await import("/static/js/charting/holds.js");
    return newHolds(before, now, trays).map(({ names, at, ...hold }) => {
        const words = heldWords({ names, at, ...hold }).split(" in quarantine ")[0];
        return [names.join(), at, words];
    });
}"""


def hold(what: str, at: str = AT) -> dict:
    return {"what": what, "at": at, "reason": "Maker asked."}


def stock(held: dict | None = None, opened=(), **units) -> dict:
    """One product with lot B1, of which `held` holds all and `units` ({label: hold}) some."""
    rows = [{"pk": n, "label": f"U{n}", "held": units.get(f"U{n}")} for n in range(1, 8)]
    lots = [{"number": "B1", "held": held, "units": rows}]
    return {"products": [{"pk": 1, "name": "Filler", "lots": lots}], "opened": list(opened)}


def row(held: dict | None) -> dict:
    return {"pk": 9, "label": "U9", "lot": "B9", "product": 1, "product_name": "F", "held": held}


@pytest.fixture
def news(bare_page):
    def between(before, now, trays=()) -> list:
        return bare_page.evaluate(NEWS, [copy.deepcopy(before), now, list(trays)])

    return between


def test_lot_that_was_offered_before_is_news_once(news):
    assert news(stock(), stock(hold("Lot B1"))) == [["Lot B1", AT, "Lot B1 was put"]]
    assert news(stock(hold("Lot B1")), stock(hold("Lot B1"))) == []


def test_first_list_and_a_lot_nobody_knew_are_no_news(news):
    assert news(None, stock(hold("Lot B1"))) == []
    empty = {"products": [], "opened": []}
    assert news(empty, stock(hold("Lot B1"))) == []


def test_lot_stopped_again_is_news_again(news):
    assert [at for _, at, _ in news(stock(hold("Lot B1")), stock(hold("Lot B1", LATER)))] == [LATER]


def test_all_that_one_act_holds_is_one_piece_of_news(news):
    held = {f"U{number}": hold(f"Unit U{number}") for number in range(1, 7)}
    ((names, at, words),) = news(stock(), stock(**held))
    assert (len(names.split(",")), at) == (6, AT)
    assert words == "Units U1, U2, U3, U4 and 2 more were put"


def test_unit_in_use_is_known_from_its_tray_or_as_an_open_one(news):
    now = stock(opened=[row(hold("Lot B9"))])
    assert news(stock(), now) == []
    assert news(stock(), now, trays=[row(None)]) == [["Lot B9", AT, "Lot B9 was put"]]
    assert news(stock(opened=[row(None)]), now) == [["Lot B9", AT, "Lot B9 was put"]]

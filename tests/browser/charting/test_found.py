"""What a scanned or typed code is of the tablet's stock, and what speaks for another unit."""

import copy

import pytest

from tests.scan_cases import GTIN, P

OTHER_GTIN = "09520000000011"
HELD = ["Lot STOP is in quarantine: Maker asked"]
FIND = """async ([text, stock, tray, used]) => {
    const { readScan } = await import("/static/js/scanning/elements.js");
    const { foundBy } = await import("/static/js/charting/found.js");
    const shelf = { stock, patient: { pk: 7 }, tray: new Set(tray), used: new Set(used) };
    const found = foundBy(text, readScan(text, "2026-11-25"), shelf);
    return {
        ...found, product: found.product?.name, lot: found.lot?.number, unit: found.unit?.label,
        before: found.before?.lot.number, instead: found.instead?.lot.number,
        rows: found.rows?.map(({ lot }) => lot.number), units: found.units?.length,
    };
}"""


def unit(pk: int, **fields) -> dict:
    return {"pk": pk, "label": f"U{pk:06d}", "content": 1000, "serial": "", **fields}


def lot(number: str, expires_on: str, *units: dict, against=()) -> dict:
    return {
        "number": number, "expires_on": expires_on, "against": list(against), "held": None,
        "units": list(units),
    }  # fmt: skip


def product(pk: int, name: str, gtin: str, *lots: dict) -> dict:
    return {"pk": pk, "name": name, "gtin": gtin, "lots": list(lots)}


def opened(pk: int, **fields) -> dict:
    known = {
        "product": 1, "product_name": "Filler", "lot": "LATE", "patient": 7, "drawn": 200,
        "wasted": 0, "against": [],
    }  # fmt: skip
    return unit(pk, **known | fields)


STOCK = {
    "products": [
        product(
            1, "Filler", GTIN,
            lot("SOON", "2027-01-31", unit(1), unit(2)),
            lot("LATE", "2027-11-30", unit(3, serial="S3"), unit(4, serial="S4"), unit(5)),
            lot("GONE", "2020-01-31", unit(6), against=["Lot GONE expired."]),
            lot("STOP", "2028-01-31", unit(7), against=HELD),
        ),
        product(2, "Soft", OTHER_GTIN, lot("SOON", "2027-06-30", unit(8))),
    ],
    "opened": [opened(9, serial="S9"), opened(10, patient=8), opened(11, wasted=800)],
}  # fmt: skip


@pytest.fixture
def find(bare_page):
    """`find(text, tray=..., used=...)`; `lots` takes the place of the first product's."""

    def look(text: str, *, tray=(), used=(), lots: list | None = None) -> dict:
        stock = copy.deepcopy(STOCK)
        if lots is not None:
            stock["products"][0]["lots"] = lots
        return bare_page.evaluate(FIND, [text, stock, list(tray), [*used, *tray]])

    return look


@pytest.mark.parametrize(
    ("text", "label"),
    [
        (f"{P}10SOON", "U000001"),
        (f"]d2{P}1727013110SOON", "U000001"),
        (f"(01){GTIN}(10)LATE(21)S4", "U000004"),
        # A box whose number nobody noted at the delivery may be any unit without one.
        (f"(01){GTIN}(10)LATE(21)NEW", "U000005"),
        # The clinic's own label, as on the sticker.
        ("U000003", "U000003"),
        ("u3", "U000003"),
        (" 3 ", "U000003"),
    ],
)
def test_code_or_label_finds_its_unit(find, text, label):
    assert find(text)["unit"] == label


def test_units_in_use_are_passed_over(find):
    found = find(f"{P}10SOON", used=[1])
    assert (found["unit"], found["units"]) == ("U000002", 1)


@pytest.mark.parametrize(
    ("text", "before"),
    [
        (f"{P}10LATE", "SOON"),
        ("U000003", "SOON"),
        (f"{P}10SOON", None),
        # Another product's lot of the same number has nothing to do with it.
        (f"01{OTHER_GTIN}10SOON", None),
    ],
)
def test_lot_that_expires_earlier_is_pointed_out(find, text, before):
    assert find(text)["before"] == before


def test_neither_expired_nor_held_nor_empty_lots_are_offered_instead(find):
    late = f"{P}10LATE"
    assert find(late, used=[1, 2])["before"] is None
    assert find(late, lots=[lot("LATE", "2027-11-30", unit(3)), STOCK["products"][0]["lots"][2]])[
        "before"
    ] is None  # fmt: skip


@pytest.mark.parametrize(
    ("text", "against"),
    [
        (f"{P}10STOP", HELD),
        (f"{P}10GONE", ["Lot GONE expired."]),
        ("U000010", ["Unit U000010 was opened for another patient."]),
    ],
)
def test_what_may_not_be_opened_is_named_with_what_can_be_taken_instead(find, text, against):
    found = find(text)
    assert found["against"] == against
    assert found["before"] is None
    if found["isSealed"]:
        assert found["instead"] == "SOON"


def test_unit_held_by_its_serial_number_is_refused_alone(find):
    held = unit(3, serial="S3", against=["Unit U000003 is in quarantine: Cracked"])
    lots = [lot("LATE", "2027-11-30", held, unit(4, serial="S4"), unit(5, serial="S5"))]
    assert find(f"{P}10LATE", lots=lots)["unit"] == "U000004"
    found = find(f"(01){GTIN}(10)LATE(21)S3", lots=lots)
    assert (found["unit"], found["against"]) == ("U000003", held["against"])
    assert found["instead"] == "LATE"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (f"{P}10NEVER", "No unopened unit of lot NEVER, Filler, is on this tablet."),
        ("010952000000002810SOON", "No product with the number 09520000000028"),
        # First digit 1: so many of them in one pack (GS1 General Specifications, 2.1.2.3).
        ("0119521234543210", "This is the number of an outer pack of Filler."),
        ("(10)NEVER", "No lot NEVER is in stock on this tablet."),
        (f"{P}17271130", "The code names Filler and no lot."),
        ("(10)SOON", "Lot SOON is a lot of more than one product"),
        (f"{P[:-1]}0", "The last digit of this GTIN should be"),
        ("U999999", "This tablet knows no unit of stock with the label “U999999”."),
        ("U000011", "Nothing is left in unit U000011."),
    ],
)
def test_what_is_not_there_is_said(find, text, sentence):
    found = find(text)
    assert found["unit"] is None
    assert found["text"].startswith(sentence), found["text"]


def test_code_without_a_lot_gives_the_lots_of_its_product_to_choose_from(find):
    assert find(f"{P}17271130")["rows"] == ["SOON", "LATE", "GONE", "STOP"]
    assert find(f"{P}10NEVER")["rows"] == ["SOON", "LATE", "GONE", "STOP"]
    assert find("(10)SOON")["rows"] == ["SOON", "SOON"]


def test_serial_number_that_no_unit_has_is_said(find):
    lots = [lot("LATE", "2027-11-30", unit(3, serial="S3"))]
    found = find(f"(01){GTIN}(10)LATE(21)S7", lots=lots)
    assert found["text"].startswith("No unit of lot LATE with the serial number S7 is on")


def test_unit_that_is_open_already_is_found_by_its_serial_number(find):
    found = find(
        f"(01){GTIN}(10)LATE(21)S9", lots=[lot("LATE", "2027-11-30", unit(3, serial="S3"))]
    )
    assert (found["unit"], found["isSealed"], found["against"]) == ("U000009", False, [])


def test_unit_on_the_tray_is_said_to_be_there(find):
    assert find("U000001", tray=[1])["text"] == "Unit U000001 is on the tray already."
    elsewhere = find("U000001", used=[1])["against"]
    assert elsewhere == ["Unit U000001 is on the tray of another session on this tablet."]


def test_expiry_that_is_not_the_books_is_pointed_out(find):
    warnings = find(f"{P}1728013110SOON")["warnings"]
    assert warnings[0] == (
        "The code says that it expires on 31 Jan 2028, the books say 31 Jan 2027: compare both "
        "with the box."
    )

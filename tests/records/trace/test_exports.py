import csv
import types
from datetime import UTC, datetime

from clinic.stock.enums import MovementKind
from clinic.stock.services import take_out_of_stock
from records.sessions.services.tray import put_on_tray, record_waste
from records.trace.exports import trace_as_csv, trace_as_json
from records.trace.queries import trace_rows
from tests.factories import make_patient, make_point, make_session, make_session_with_unit


def as_json(lot) -> dict:
    return trace_as_json(lot, trace_rows(lot))


def as_csv(lot) -> list[dict]:
    return list(csv.DictReader(trace_as_csv(lot, trace_rows(lot))))


def test_json_has_exactly_the_promised_shape(lot, injector):
    """The shape is that of the first issue's last section."""
    first, second = (unit.label for unit in lot.units.order_by("id")[:2])
    session = lot.units.first().points.first().session
    record_waste(
        session=session, unit=lot.units.first(), amount=125, reason="Primed", actor=injector
    )
    today = session.started_at.date().isoformat()
    ann, bea = (row.record_number for row in list(trace_rows(lot))[1:])
    point = {
        "region": "zygomatic", "side": "left", "plane": "supraperiosteal", "technique": "bolus",
        "amount": "0.2", "unit": "mL", "unit_of_stock": first,
    }  # fmt: skip

    assert as_json(lot) == {
        "lot": "LOT42",
        "gtin": "09521234543213",
        "product": "HA filler 1 mL",
        "patients": [
            {
                "record_number": ann,
                "name": "Ann Example",
                "sessions": [
                    {
                        "date": today,
                        "injector": "Ida Injector",
                        "points": [
                            point,
                            point | {"side": "right", "technique": "fanning", "amount": "0.3"},
                        ],
                    }
                ],
                "total": "0.5",
            },
            {
                "record_number": bea,
                "name": "Bea Example",
                "sessions": [
                    {
                        "date": today,
                        "injector": "Ida Injector",
                        "points": [point | {"amount": "0.5", "unit_of_stock": second}],
                    }
                ],
                "total": "0.5",
            },
        ],
        "occlusion_logs": [],
        "former_record": [],
        "stock": {"received": 4, "on_hand": 1, "opened": 2, "wasted": "0.125", "returned": 1},
    }


def test_json_of_an_unused_lot_still_has_every_key(namesake):
    answer = as_json(namesake)
    assert answer["patients"] == []
    assert answer["stock"] == {
        "received": 3, "on_hand": 3, "opened": 0, "wasted": "0", "returned": 0,
    }  # fmt: skip


def test_json_counts_returned_and_written_off_apart(lot, owner):
    unit = lot.units.in_stock().get()
    take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason="Fell", actor=owner)

    stock = as_json(lot)["stock"]
    assert (stock["received"], stock["on_hand"], stock["returned"]) == (4, 0, 1)


def test_doses_are_in_units_of_this_product(namesake, desk, injector):
    vial = namesake.units.first()
    session = make_session(injector, make_patient(desk))
    put_on_tray(session=session, unit=vial, actor=injector, diluent_ul=2500)
    make_point(session, vial, amount=250, plane="submuscular")

    patient = as_json(namesake)["patients"][0]
    point = patient["sessions"][0]["points"][0]
    assert (point["amount"], point["unit"], patient["total"]) == ("2.5", "units", "2.5")


def test_a_patient_treated_twice_appears_once_with_both_sessions(desk, injector, lot):
    """The sessions of two patients alternate in time, so grouping neighbours would not do."""
    rows = list(trace_rows(lot))
    later = rows[0]._replace(session_id=99, stored_at=datetime(2031, 1, 2, 12, tzinfo=UTC))

    patients = trace_as_json(lot, [*rows, later])["patients"]
    assert [patient["name"] for patient in patients] == ["Ann Example", "Bea Example"]
    assert [session["date"] for session in patients[0]["sessions"]][1] == "2031-01-02"
    assert patients[0]["total"] == "0.7"


def test_the_date_is_that_of_the_clinics_own_clock(lot, settings):
    """23:30 in universal time is the next day in London in summer."""
    settings.TIME_ZONE = "Europe/London"
    late = datetime(2026, 7, 1, 23, 30, tzinfo=UTC)
    rows = [row._replace(stored_at=late) for row in trace_rows(lot)][:1]

    assert trace_as_json(lot, rows)["patients"][0]["sessions"][0]["date"] == "2026-07-02"


def test_csv_has_a_header_and_a_line_for_each_point(lot):
    lines = as_csv(lot)
    ann = next(trace_rows(lot))
    assert [line["amount"] for line in lines] == ["0.2", "0.3", "0.5"]
    assert lines[0] == {
        "product": "HA filler 1 mL",
        "gtin": "09521234543213",
        "lot": "LOT42",
        "expiry": "2030-06-30",
        "record_number": ann.record_number,
        "name": "Ann Example",
        "date": ann.treated_at.date().isoformat(),
        "injector": "Ida Injector",
        "point": "1",
        "region": lines[0]["region"],
        "side": "left",
        "plane": "supraperiosteal",
        "technique": "bolus",
        "amount": "0.2",
        "unit": "mL",
        "unit_of_stock": ann.unit_label,
        "serial": "",
    }
    assert lines[0]["region"].startswith("Zygomatic region")


def test_csv_of_an_unused_lot_is_the_header(namesake):
    text = "".join(trace_as_csv(namesake, trace_rows(namesake)))
    assert text == (
        "product,gtin,lot,expiry,record_number,name,date,injector,point,region,side,plane,"
        "technique,amount,unit,unit_of_stock,serial\r\n"
    )


def test_csv_is_made_line_by_line(lot):
    rows = trace_rows(lot)
    lines = trace_as_csv(lot, rows)
    assert isinstance(lines, types.GeneratorType)
    next(lines), next(lines)
    assert len(list(rows)) == 2, "the rest was read before it was asked for"


def test_names_with_commas_quotes_and_other_scripts_survive_the_csv(desk, injector, lot):
    name = 'Zoë "Zo" O’Brien, محمد'
    unit = lot.units.in_stock().get()
    session = make_session_with_unit(injector, make_patient(desk, name), unit)
    make_point(session, unit)

    assert as_csv(lot)[-1]["name"] == name


def test_a_name_that_a_spreadsheet_would_compute_is_marked_as_text(lot):
    """Source: OWASP, CSV Injection: cells that begin with = + - @, tab or carriage return."""
    row = next(trace_rows(lot))
    for start in "=+-@\t\r":
        evil = row._replace(patient_name=f"{start}1+1", injector=f"{start}SUM(A1)")
        line = next(csv.DictReader(trace_as_csv(lot, [evil]), strict=True))
        assert line["name"] == f"'{start}1+1"
        assert line["injector"] == f"'{start}SUM(A1)"
    lot.number, lot.product.name = "-1+1", "=1+1"
    line = next(csv.DictReader(trace_as_csv(lot, [row]), strict=True))
    assert (line["lot"], line["product"]) == ("'-1+1", "'=1+1")

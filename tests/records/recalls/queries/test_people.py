"""The call list: who, how to reach them, what they were given, how far they have got."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.utils import timezone

from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Reach
from records.recalls.exports import call_list_as_csv
from records.recalls.queries import people
from records.recalls.queries.extent import extent_of
from records.recalls.queries.people import CallList, to_contact_after
from records.recalls.services.people import note_contact
from records.sessions.services.tray import put_on_tray
from tests.factories import make_patient, make_point, make_product, make_session, make_units
from tests.records.recalls.cases import make_case, make_treated, person_of, span, treat

pytestmark = pytest.mark.django_db


def call_list(case, **fields) -> CallList:
    return CallList(case, extent_of(case), **fields)


def names(rows) -> list[str]:
    return [row.contact.name for row in rows]


def told(person, owner, outcome=ContactOutcome.INFORMED, channel=Channel.PHONE) -> None:
    note_contact(person=person, channel=channel, outcome=outcome, actor=owner)


def test_a_line_says_how_to_reach_somebody_and_what_they_got(owner, injector, desk, product, units):
    ann = make_patient(
        desk, "Ann Example", phone="07700 900123", email="ann@mail.example",
        address="1 Sample Street\nLarkstone", preferred_channel=Channel.EMAIL,
    )  # fmt: skip
    treat(injector, ann, units[0], amount=200)
    treat(injector, ann, units[1], amount=350)
    case = make_case(owner, span(product))
    told(person_of(case, ann), owner, ContactOutcome.NO_ANSWER)
    [row] = call_list(case)
    who = row.contact
    assert (who.record_number, who.phone, who.email) == (
        ann.record_number, "07700 900123", "ann@mail.example",
    )  # fmt: skip
    assert (who.channel, who.address) == (Channel.EMAIL, "1 Sample Street\nLarkstone")
    assert (row.points, row.sessions, row.amounts) == (2, 2, ((product, 550),))
    assert timezone.now() - row.last_at < timedelta(minutes=1)
    assert (row.tried.attempts, row.tried.reach) == (1, Reach.TRIED)


def test_amounts_of_two_products_are_never_added(owner, injector, desk, product, units):
    toxin = make_product("Toxin 100 units", kind="toxin", content=10_000)
    vials = make_units(owner, toxin, number="T1")
    ann = make_patient(desk)
    treat(injector, ann, units[0], amount=200)
    treat(injector, ann, vials[0], amount=400, plane="intramuscular")
    case = make_case(owner, span(product), span(toxin, "T1"))
    [row] = call_list(case)
    assert (row.points, row.sessions) == (2, 2)
    assert row.amounts == ((product, 200), (toxin, 400))


def test_a_session_with_two_of_the_lots_is_one_session(owner, injector, desk, product, units):
    other = make_units(owner, product, number="LOT43")
    session = make_session(injector, make_patient(desk))
    for unit in (units[0], other[0]):
        put_on_tray(session=session, unit=unit, actor=injector)
        make_point(session, unit)
    case = make_case(owner, span(product), span(product, "LOT43"))
    [row] = call_list(case)
    assert (row.points, row.sessions, row.amounts) == (2, 1, ((product, 400),))


def test_the_list_stands_by_name_on_both_databases(owner, desk, injector, product):
    units = make_units(owner, product, quantity=5)
    make_treated(desk, injector, units, ["zoe last", "Óscar Mid", "Đặng Thị", "Ann First", "عمر"])
    case = make_case(owner, span(product))
    assert names(call_list(case)) == ["Ann First", "Đặng Thị", "عمر", "Óscar Mid", "zoe last"]


def test_parts_of_the_list(owner, case, treated):
    ann, bo = (person_of(case, patient) for patient in treated)
    told(ann, owner)
    assert names(call_list(case, reach=Reach.REACHED)) == ["Ann Example"]
    assert names(call_list(case, reach=Reach.TO_CONTACT)) == ["Bo Li"]
    assert names(call_list(case, reach=Reach.TRIED)) == []
    told(bo, owner, ContactOutcome.MESSAGE_LEFT)
    assert names(call_list(case, reach=Reach.TRIED)) == ["Bo Li"]
    assert names(call_list(case, channel=Channel.PHONE)) == ["Ann Example", "Bo Li"]
    assert names(call_list(case, channel=Channel.LETTER)) == []
    assert names(call_list(case, found_after=case.found_late_after)) == []


def test_a_list_of_any_length_takes_as_many_queries(
    owner, desk, injector, product, django_assert_num_queries
):
    units = make_units(owner, product, quantity=6)
    make_treated(desk, injector, units, [f"Patient {n}" for n in range(6)])
    case = make_case(owner, span(product))
    extent = extent_of(case)
    for count in (1, 6):
        with django_assert_num_queries(4):  # the names, the people, the attempts, the amounts
            assert len(CallList(case, extent)[:count]) == count


def test_the_list_in_parts_is_the_list(owner, case, monkeypatch):
    whole = names(call_list(case))
    monkeypatch.setattr(people, "CHUNK", 1)
    assert names(call_list(case)) == whole == ["Ann Example", "Bo Li"]


def test_who_is_called_next(owner, case, treated):
    ann, bo = (person_of(case, patient) for patient in treated)
    assert to_contact_after(ann) == bo
    told(bo, owner, ContactOutcome.NO_ANSWER)
    assert to_contact_after(ann) == bo, "tried, and not reached yet"
    assert to_contact_after(bo) == ann, "from the start again"
    told(bo, owner)
    assert to_contact_after(ann) is None


def test_the_csv_names_the_case_and_says_drill_in_each_line(owner, desk, case, drill, treated):
    told(person_of(case, treated[0]), owner)
    [ann, bo] = csv.DictReader(StringIO("".join(call_list_as_csv(call_list(case)))))
    assert (ann["case"], ann["name"], ann["state"]) == ("R0001", "Ann Example", "Reached")
    assert (ann["points"], ann["amounts"]) == ("1", "HA filler 1 mL: 0.2 mL")
    assert (ann["phone"], bo["attempts"], bo["last_attempt"]) == ("07700 900123", "0", "")
    lines = list(csv.DictReader(StringIO("".join(call_list_as_csv(call_list(drill))))))
    assert [line["case"] for line in lines] == ["DRILL D0001"] * 2


def test_a_typed_name_is_no_formula_in_a_spreadsheet(owner, desk, injector, product, units):
    patient = make_patient(desk, "=1+1 Example", address='=HYPERLINK("x")\nLarkstone')
    treat(injector, patient, units[0])
    case = make_case(owner, span(product))
    [line] = csv.DictReader(StringIO("".join(call_list_as_csv(call_list(case)))))
    assert line["name"] == "'=1+1 Example"
    assert line["address"] == '\'=HYPERLINK("x"), Larkstone'

"""Opening a case: the stop, the call list and the pull list in one act."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.quarantine.models import Quarantine
from clinic.stock.models import Lot
from records.recalls.errors import CaseClosed, RecallError
from records.recalls.models import CasePatient, CaseUnit, RecallCase
from records.recalls.services.cases import add_spans, attach_notice, expect_end
from records.recalls.services.closing import close_case
from records.sessions.errors import OpeningRefused
from records.sessions.services.points import remove_point
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    refreshed,
)
from tests.records.recalls.cases import PDF, make_case, make_treated, span, treat

pytestmark = pytest.mark.django_db


def test_opening_stops_the_lot_and_fills_both_lists(owner, injector, case, treated, units):
    assert case.number == "R0001"
    assert refreshed(units[0].lot).quarantine_reason == (
        "Recall R0001 (FSN-14): set it apart, do not use it."
    )
    assert case.quarantined_at is not None
    assert case.spans.get().quarantine == Quarantine.objects.get()
    assert [person.patient for person in case.people.all()] == treated
    assert [row.unit for row in case.units.all()] == units[2:]
    session = make_session(injector, make_patient(injector, "Cleo Next"))
    with pytest.raises(OpeningRefused, match="Recall R0001"):
        put_on_tray(session=session, unit=units[2], actor=injector)


def test_each_patient_s_trail_tells_that_they_are_on_the_list(case, treated):
    told = AuditEvent.objects.filter(action="recall.person_listed")
    assert sorted(told.values_list("patient_id", flat=True)) == [each.pk for each in treated]


def test_a_drill_stops_nothing_and_is_numbered_apart(drill, injector, units, treated):
    assert (drill.number, str(drill), drill.quarantined_at) == ("D0001", "Drill D0001", None)
    assert not Quarantine.objects.exists()
    assert drill.spans.get().quarantine is None
    assert drill.people.count() == 2
    session = make_session(injector, make_patient(injector, "Cleo Next"))
    put_on_tray(session=session, unit=units[2], actor=injector)


def test_a_lot_number_of_two_makers_is_never_taken_for_one(owner, desk, injector, product, treated):
    other = make_product("Other filler 1 mL", maker="Other Maker")
    theirs = make_units(owner, other, number="LOT42")
    make_treated(desk, injector, theirs, ["Cleo Other"])
    case = make_case(owner, span(product))
    assert [person.patient for person in case.people.all()] == treated
    assert not refreshed(theirs[0].lot).is_quarantined
    both = make_case(owner, span(product), span(other))
    assert both.people.count() == 3


@pytest.mark.parametrize("number", ["lot42", "LOT 42".replace(" ", "-"), "L0T42"])
def test_a_lot_that_only_looks_alike_is_never_reached_silently(owner, injector, product, number):
    alike = make_units(owner, product, number=number)
    treat(injector, make_patient(owner), alike[0])
    case = make_case(owner, span(product))
    assert not case.people.exists()
    assert not Lot.objects.quarantined().exists()


def test_a_lot_nobody_ever_received_is_allowed_and_stopped_beforehand(owner, product):
    case = make_case(owner, span(product, "NEVERHERE"))
    assert (case.people.count(), case.units.count()) == (0, 0)
    assert Quarantine.objects.standing().get().lot_first == "NEVERHERE"


def test_a_range_reaches_the_lots_inside(owner, desk, injector, product):
    for number in ("A099", "A100", "A150", "A199", "A200"):
        [unit] = make_units(owner, product, number=number, quantity=1)
        make_treated(desk, injector, [unit], [f"Got {number}"])
    case = make_case(owner, span(product, "A100", "A199"))
    names = case.people.values_list("patient__full_name", flat=True)
    assert list(names) == ["Got A100", "Got A150", "Got A199"]


def test_units_of_a_serial_range_and_those_without_a_number_count(owner, desk, injector, product):
    units = make_units(owner, product, quantity=4)
    for unit, serial in zip(units, ["S010", "S020", "S030", ""], strict=True):
        unit.serial = serial
        unit.save(update_fields=["serial"])
    make_treated(desk, injector, units, ["Ten", "Twenty", "Thirty", "No number"])
    case = make_case(owner, span(product, serial_first="S015", serial_last="S030"))
    names = case.people.values_list("patient__full_name", flat=True)
    assert list(names) == ["Twenty", "Thirty", "No number"]


def test_a_removed_point_affects_nobody(owner, injector, product, units, patient):
    session = make_session_with_unit(injector, patient, units[0])
    point = make_point(session, units[0])
    remove_point(point=point, actor=injector)
    case = make_case(owner, span(product))
    assert not case.people.exists()
    assert case.units.filter(unit=units[0]).exists(), "it is opened, with something left"


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [("B9", "A1", "comes before"), ("A1", "LOT-7", "built differently")],
)
def test_a_range_that_is_none_opens_nothing(owner, product, first, last, words):
    with pytest.raises(RecallError, match=words):
        make_case(owner, span(product, first, last))
    assert not RecallCase.objects.exists()
    assert not Quarantine.objects.exists()


def test_nothing_is_opened_without_a_span_twice_for_one_or_from_the_future(owner, product):
    with pytest.raises(RecallError, match="Say which product"):
        make_case(owner)
    with pytest.raises(RecallError, match="already"):
        make_case(owner, span(product), span(product, "LOT42", "LOT42"))
    with pytest.raises(RecallError, match="later than now"):
        make_case(owner, span(product), received_at=timezone.now() + timedelta(hours=1))
    assert not RecallCase.objects.exists()


def test_a_lot_added_later_is_stopped_and_its_patients_join(owner, desk, injector, case, product):
    more = make_units(owner, product, number="LOT43")
    make_treated(desk, injector, more, ["Cleo Late"])
    add_spans(case=case, spans=[span(product, "LOT43")], actor=owner)
    assert refreshed(more[0].lot).is_quarantined
    assert case.people.last().patient.full_name == "Cleo Late"
    assert case.units.filter(unit=more[1]).exists()
    with pytest.raises(RecallError, match="names HA filler 1 mL, lot LOT43 already"):
        add_spans(case=case, spans=[span(product, "LOT43")], actor=owner)


def test_the_notice_is_kept_byte_by_byte(owner, case):
    file = attach_notice(case=case, name="C:\\letters/FSN 14.pdf", content=PDF, actor=owner)
    kept = case.files.get(pk=file.pk)
    assert (bytes(kept.content), kept.content_type, kept.name) == (
        PDF, "application/pdf", "FSN 14.pdf",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "none of them"),
        (b"<html>", "none of them"),
        (b"%PDF-" + b"x" * (10 * 1024 * 1024), "larger than 10 MB"),
    ],
)
def test_a_file_of_another_kind_is_refused(owner, case, content, words):
    with pytest.raises(RecallError, match=words):
        attach_notice(case=case, name="letter.pdf", content=content, actor=owner)


def test_the_expected_end_is_said_and_taken_back(owner, case):
    day = timezone.localdate()
    assert expect_end(case=case, day=day, actor=owner).expected_end_on == day
    assert expect_end(case=case, day=None, actor=owner).expected_end_on is None


def test_opening_takes_as_many_statements_for_nine_patients_as_for_three(
    owner, desk, injector, product
):
    def statements(count: int, number: str) -> int:
        units = make_units(owner, product, number=number, quantity=count)
        make_treated(desk, injector, units, [f"Patient {n}" for n in range(count)])
        with CaptureQueriesContext(connection) as queries:
            make_case(owner, span(product, number))
        return len(queries)

    few = statements(3, "FEW1")
    assert statements(9, "MANY1") <= few + 2, "the quarantines of before are looked through"
    assert CasePatient.objects.count() == 12
    assert not CaseUnit.objects.exists()


def test_nothing_is_added_to_a_closed_case(owner, product, units):
    case = make_case(owner, span(product, "NEVERHERE"), is_drill=True)
    close_case(case=case, note="", explanations={"list": "A try"}, actor=owner)
    with pytest.raises(CaseClosed):
        add_spans(case=case, spans=[span(product)], actor=owner)
    with pytest.raises(CaseClosed):
        attach_notice(case=case, name="letter.pdf", content=PDF, actor=owner)

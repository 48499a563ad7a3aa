"""What the database itself holds about operations, markings and photographs."""

import importlib
import uuid

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from records.charting.models import Operation
from records.sessions.models import InjectionEntry, Marking, SessionPicture, TreatmentSession
from records.sessions.services.signing import sign_session
from tests.factories import make_patient, make_point, make_session
from tests.records.charting.tablet import point_data

pytestmark = pytest.mark.django_db


def refused(act) -> bool:
    """Whether the database refuses it."""
    try:
        with transaction.atomic():
            act()
    except DatabaseError:
        return True
    return False


@pytest.fixture
def picture(session, injector):
    return SessionPicture.objects.create(
        session=session, file="none.jpg", width=100, height=200, digest="0" * 64,
        sent_digest="0" * 64, taken_at=timezone.now(), added_by=injector,
    )  # fmt: skip


@pytest.fixture
def marking(session, injector):
    return Marking.objects.create(
        session=session, view="front", x_dmm=0, y_dmm=0, chart_version="1", region="glabella",
        side="midline", marked_at=timezone.now(), marked_by=injector,
    )  # fmt: skip


def test_operations_are_only_added(tablet, session, units):
    tablet.only(tablet.op("log", session, point_data(units[0])))
    row = Operation.objects.get()
    assert refused(lambda: Operation.objects.update(outcome="withdrawn"))
    assert refused(lambda: Operation.objects.all().delete())
    assert refused(lambda: Operation.objects.create(**row_values(row)))
    row.outcome = "hold"
    row.id = uuid.uuid4()
    assert refused(lambda: row.save(force_insert=True))


def row_values(row: Operation) -> dict:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


REPLACE = {
    "sqlite": "INSERT OR REPLACE INTO records_operation SELECT * FROM records_operation",
    "postgresql": "INSERT INTO records_operation SELECT * FROM records_operation "
    "ON CONFLICT (id) DO UPDATE SET outcome = 'withdrawn'",
}


def test_replacing_a_row_is_no_way_round(tablet, session, units):
    tablet.only(tablet.op("log", session, point_data(units[0])))

    def replace() -> None:
        with connection.cursor() as cursor:
            cursor.execute(REPLACE[connection.vendor])

    assert refused(replace)


def test_signed_covers_markings_and_photographs(session, units, injector, marking, picture):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    for row in (marking, picture):
        rows = type(row).objects.filter(pk=row.pk)
        assert refused(lambda rows=rows: rows.update(removed_at=timezone.now()))
        assert refused(lambda rows=rows: rows.delete())
        row.pk, row.key = None, uuid.uuid4()
        assert refused(lambda row=row: row.save(force_insert=True))


@pytest.mark.parametrize(
    "fields",
    [
        {"reach_x_dmm": 5},
        {"reach_y_dmm": 5},
        {"view": "picture"},
        {"view": "back"},
    ],
)
def test_point_has_reach_and_photograph_whole_or_not(session, units, fields):
    make_point(session, units[0])
    assert refused(lambda: InjectionEntry.objects.update(**fields))


def test_photograph_belongs_to_its_view_alone(session, units, picture):
    make_point(session, units[0])
    assert refused(lambda: InjectionEntry.objects.update(picture=picture))
    InjectionEntry.objects.update(picture=picture, view="picture")


@pytest.mark.parametrize(
    "fields",
    [
        {"x1": 5},
        {"x1": 5, "y1": 5, "x2": 9, "y2": 9},
        {"x1": 5, "y1": 5, "x2": 5, "y2": 5, "distance_dmm": 600},
        {"x1": 5, "y1": 5, "x2": 9, "y2": 9, "distance_dmm": 0},
        {"width": 0},
    ],
)
def test_scale_of_a_photograph_is_whole(picture, fields):
    assert refused(lambda: SessionPicture.objects.update(**fields))


def test_marking_lies_on_a_drawing(marking):
    assert refused(lambda: Marking.objects.update(view="picture"))


@pytest.mark.parametrize(
    "fields", [{"pupil_dmm": 64}, {"face_height_dmm": 11_140}, {"face_width_dmm": 1}]
)
def test_measures_are_those_of_a_face(session, fields):
    assert refused(lambda: TreatmentSession.objects.update(**fields))


def test_sessions_of_before_get_keys_of_their_own(injector, patient, desk):
    sessions = [make_session(injector, patient), make_session(injector, make_patient(desk, "Bo"))]
    was = {session.key for session in sessions}
    migration = importlib.import_module("records.migrations.0002_charting")
    migration.give_every_session_its_key(apps, None)
    now = set(TreatmentSession.objects.values_list("key", flat=True))
    assert len(now) == 2
    assert not now & was

"""The timeline on a patient's page: what it draws, says, and keeps from the front desk."""

from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.review_rules.models import EffectDuration
from planning.atlas.region_groups import RegionGroup
from records.timeline.queries import timeline_of
from tests.factories import make_patient
from tests.records.reviews.treatments import CHEEK, FILLER, LIP, TOXIN, sign, start, treat

pytestmark = pytest.mark.django_db
TREATED = date(2026, 3, 2)
TODAY = date(2026, 4, 1)
GLABELLA = {"x_dmm": 0, "y_dmm": -60}


def url(patient) -> str:
    return reverse("timeline-for-patient", args=[patient.pk])


def test_a_range_of_the_clinic_is_drawn_from_the_last_treatment_of_that_part(injector, patient):
    EffectDuration.objects.create(
        kind="ha_filler", group="lips", least_months=6, most_months=9, backing="clinic_policy"
    )
    treat(injector, patient, TREATED - timedelta(days=60), (FILLER, LIP))
    treat(injector, patient, TREATED, (FILLER, LIP), (FILLER, CHEEK))
    timeline = timeline_of(patient, today=TODAY)
    (effect,) = timeline.effects
    assert (effect.group, effect.treated_on) == (RegionGroup.LIPS, TREATED)
    assert effect.fading == effect.next == (date(2026, 9, 2), date(2026, 12, 2))
    assert timeline.unknown == ["Hyaluronic acid filler, midface"]
    labels = [lane.label for lane in timeline.drawing.lanes]
    assert labels == ["Sessions", "Reviews", "Hyaluronic acid filler, lips and mouth"]


def test_toxin_in_the_upper_face_has_its_published_range_and_waits_for_the_interval(
    injector, patient
):
    # 2 March 2026 + 120 days = 30 June, after the 3 months and before the 4 are over.
    ClinicPolicy.objects.create(toxin_interval_days=120)
    treat(injector, patient, TREATED, (TOXIN, GLABELLA))
    (effect,) = timeline_of(patient, today=TODAY).effects
    assert effect.group is RegionGroup.UPPER_FACE
    assert effect.fading == (date(2026, 6, 2), date(2026, 7, 2))
    assert effect.next == (date(2026, 6, 30), date(2026, 7, 2))


def test_the_interval_counts_from_the_last_toxin_anywhere(injector, patient):
    treat(injector, patient, TREATED, (TOXIN, GLABELLA))
    treat(injector, patient, date(2026, 5, 4), (TOXIN, CHEEK))
    (effect,) = timeline_of(patient, today=date(2026, 5, 5)).effects
    assert effect.next == (date(2026, 8, 2), date(2026, 8, 2))  # 4 May + 90 days
    assert effect.is_held_back


def test_the_product_s_own_months_are_drawn_where_no_range_is_known(injector, patient):
    treat(injector, patient, TREATED)
    Product.objects.update(typical_duration_months=12)
    (effect,) = timeline_of(patient, today=TODAY).effects
    assert effect.fading == (date(2027, 3, 2), date(2027, 3, 2))
    assert "product's page" in str(effect.duration.source)


def test_what_is_not_signed_and_what_is_long_gone_is_left_out(injector, patient):
    start(injector, patient, TREATED, [(FILLER, CHEEK)])
    assert timeline_of(patient, today=TODAY).drawing is None
    sign(patient.sessions.get())
    assert timeline_of(patient, today=TODAY).sessions
    assert timeline_of(patient, today=date(2028, 4, 1)).drawing is None


@time_machine.travel(TODAY)  # two weeks after the session the clinic is open
def test_the_page_says_all_of_it_in_words_with_sources(signed_in, injector, patient):
    today = timezone.localdate()
    session = treat(injector, patient, today - timedelta(days=20), (TOXIN, GLABELLA))
    page = signed_in(injector).get(url(patient)).content.decode()
    assert 'role="img"' in page
    for words in (
        "usually fades, 3 to 4 months after it",
        "Dilution guide of onabotulinumtoxinA",
        "14 days after the session (clinic policy)",
        "no promise for this patient",
        reverse("session-detail", args=[session.pk]),
    ):
        assert words in page
    event = AuditEvent.objects.get(action="read.timeline")
    assert (event.actor, event.patient_id) == (injector, patient.pk)


def test_a_patient_without_a_session_has_none(signed_in, injector, patient):
    page = signed_in(injector).get(url(patient)).content.decode()
    assert "Nothing to show yet" in page


def test_the_front_desk_does_not_see_it(signed_in, desk, injector, patient):
    assert signed_in(desk).get(url(patient)).status_code == 403
    page = reverse("patient-detail", args=[patient.pk])
    assert url(patient) not in signed_in(desk).get(page).content.decode()
    assert url(patient) in signed_in(injector).get(page).content.decode()


def test_an_unknown_patient_is_not_found(signed_in, injector):
    assert signed_in(injector).get(reverse("timeline-for-patient", args=[99999])).status_code == 404


def test_three_sessions_take_as_many_queries_as_one(injector, patient):
    ben = make_patient(injector, "Ben Example")
    treat(injector, ben, TREATED)
    for days in (0, 40, 80):
        treat(injector, patient, TREATED - timedelta(days=days), (FILLER, CHEEK), (TOXIN, GLABELLA))
    with CaptureQueriesContext(connection) as one:
        timeline_of(ben, today=TODAY)
    with CaptureQueriesContext(connection) as three:
        timeline_of(patient, today=TODAY)
    assert len(three) == len(one)

"""What was asked about a session when it was signed stays with it."""

from datetime import timedelta

import pytest

from clinic.policy.models import ClinicPolicy
from records.sessions.models import Opening, TreatmentSession
from records.sessions.queries.flags import shown_flags
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import session_tray
from records.sessions.services.signing import content_digest, sign_session
from tests.factories import (
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit(owner):
    return make_units(owner, make_product())[0]


@pytest.fixture
def session(injector, patient, unit) -> TreatmentSession:
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit, amount=1000)
    return session


def titles(session: TreatmentSession) -> list[str]:
    session = TreatmentSession.objects.select_related("patient").get(pk=session.pk)
    flags = shown_flags(session, session_points(session), session_tray(session))
    return [flag.title for flag in flags]


def test_a_policy_of_later_does_not_change_what_was_asked(session, injector):
    policy = ClinicPolicy.objects.create(filler_session_ul=500)
    before = titles(session)
    assert any("above 0.5 mL" in title for title in before)
    sign_session(session=session, remainders={}, actor=injector)
    policy.filler_session_ul = None
    policy.save()
    assert titles(session) == before
    stored = TreatmentSession.objects.get(pk=session.pk)
    assert content_digest(stored) == stored.signed_digest


def test_a_session_signed_before_flags_were_kept_is_asked_anew(session, injector):
    session.signed_flags = None
    assert shown_flags(session, session_points(session), session_tray(session))


def test_a_point_from_a_unit_past_its_time_is_flagged(session, unit):
    given = session.points.get().tapped_at
    opening = Opening.objects.filter(unit=unit)
    opening.update(use_before=given)
    assert not any("was to be used before" in title for title in titles(session))
    opening.update(use_before=given - timedelta(minutes=1))
    assert any("was to be used before" in title for title in titles(session))

"""What the record knows around a session, for the limits of the planning service."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from planning.care import CareKind, FillerFamily
from records.sessions.models import TreatmentSession
from records.sessions.queries.facts import session_facts
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import session_tray
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import start_session
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_reported_care,
    make_session,
    make_units,
)

TODAY = date(2025, 11, 25)


def at(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


@pytest.fixture
def filler(owner):
    return make_units(owner, make_product(), quantity=9)


@pytest.fixture
def toxin(owner):
    product = make_product(
        "OnabotulinumtoxinA 100", kind="toxin", content=10_000, is_single_patient=False,
        lidocaine_ug_per_ml=0,
    )  # fmt: skip
    return make_units(owner, product, number="T1", quantity=9)


def treated(injector, patient, day: date, unit, amount: int, **fields) -> TreatmentSession:
    """A signed session of that day with one point."""
    session = start_session(
        patient=patient, injector=injector, started_at=at(day), jaw="average",
        late_reason="Test of an earlier day",
    )  # fmt: skip
    put_on_tray(session=session, unit=unit, actor=injector)
    make_point(session, unit, amount=amount, **fields)
    choice = "wasted" if unit.opening.patient_id else "shared"
    return sign_session(session=session, remainders={unit.pk: choice}, actor=injector)


def facts_of(session: TreatmentSession):
    return session_facts(session, session_points(session), ClinicPolicy())


@pytest.fixture
def today_session(injector, patient):
    session = make_session(injector, patient)
    TreatmentSession.objects.filter(pk=session.pk).update(started_at=at(TODAY))
    session.refresh_from_db()
    return session


@pytest.mark.parametrize(
    ("day", "counts"),
    [
        (TODAY - timedelta(days=1), True),
        # A rolling year: 25 November of the year before is exactly one year old, so outside.
        (date(2024, 11, 26), True),
        (date(2024, 11, 25), False),
    ],
)
def test_filler_of_the_rolling_year_counts(injector, patient, filler, day, counts):
    treated(injector, patient, day, filler[0], 700)
    session = start_session(
        patient=patient, injector=injector, started_at=at(TODAY), late_reason="x", jaw="average"
    )
    assert facts_of(session).filler_ul_last_year == (700 if counts else 0)


def test_another_patients_filler_does_not_count(injector, patient, desk, filler):
    treated(injector, make_patient(desk, "Bo Li"), TODAY - timedelta(days=9), filler[0], 700)
    assert facts_of(make_session(injector, patient)).filler_ul_last_year == 0


def test_own_session_is_not_its_own_history(injector, patient, filler):
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=filler[0], actor=injector)
    make_point(session, filler[0])
    facts = facts_of(session)
    assert (facts.filler_ul_last_year, len(facts.points)) == (0, 1)


def test_last_toxin_and_toxin_of_three_months(injector, patient, toxin):
    for day, amount in [(date(2025, 8, 20), 400), (date(2025, 10, 1), 300)]:
        treated(injector, patient, day, toxin[0], amount, plane="intramuscular")
    session = start_session(
        patient=patient, injector=injector, started_at=at(TODAY), late_reason="x", jaw="average"
    )
    facts = facts_of(session)
    assert facts.last_toxin_date == date(2025, 10, 1)
    assert [row.centiunits for row in facts.toxin_last_3_months] == [300]


def test_toxin_and_filler_are_known_by_region(injector, patient, toxin, filler):
    muscle = {"plane": "intramuscular"}
    treated(injector, patient, date(2025, 9, 1), toxin[0], 400, region="glabella", **muscle)
    treated(injector, patient, date(2025, 10, 1), toxin[0], 400, region="forehead", **muscle)
    treated(injector, patient, date(2025, 10, 2), filler[0], 300)
    treated(injector, patient, date(2025, 10, 3), filler[1], 300)
    facts = facts_of(make_session(injector, patient))
    assert facts.last_toxin_by_region == {
        "glabella": date(2025, 9, 1), "forehead": date(2025, 10, 1),
    }  # fmt: skip
    (given,) = facts.earlier_fillers
    assert (given.region, given.family, given.on) == (
        "zygomatic", FillerFamily.HA, date(2025, 10, 3),
    )  # fmt: skip


def test_care_elsewhere_and_its_policy_reach_the_flags(injector, patient, filler):
    make_reported_care(injector, patient, kind="dental", day=timezone.localdate())
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=filler[0], actor=injector)
    make_point(session, filler[0])
    policy = ClinicPolicy(wait_dental_days=14)
    flags = shown_flags(session, session_points(session), session_tray(session), policy)
    (flag,) = [flag for flag in flags if flag.title.startswith("Dental work")]
    assert flag.source == "Clinic policy: 14 days after: dental work (clinic policy)"


def test_an_amount_that_was_confirmed_says_by_whom(injector, patient, toxin):
    session = make_session(injector, patient)
    put_on_tray(
        session=session, unit=toxin[0], actor=injector, diluent_ul=99_000, diluent="saline",
        confirmed_odd="Usual here for this product: 2.5 mL; typed: 99 mL.",
    )  # fmt: skip
    asked = "Usual here: 4 units; typed: 40 units."
    make_point(session, toxin[0], amount=4_000, plane="intramuscular", confirmed_odd=asked)
    flags = shown_flags(session, session_points(session), session_tray(session))
    titles = [flag.title for flag in flags]
    assert f"Point 1: {asked} Confirmed by Ida Injector." in titles
    assert any(title.endswith("typed: 99 mL. Confirmed by Ida Injector.") for title in titles)
    assert not [title for title in titles if "asked about" in title]
    assert asked in AuditEvent.objects.get(action="point.logged").data


def test_the_clinics_own_figures_are_checked(today_session):
    policy = ClinicPolicy(
        filler_ul_per_60_kg_year=20_000, toxin_interval_days=84, toxin_ceiling_centiunits=30_000,
        filler_session_ul=4_000, toxin_session_centiunits=9_000, side_difference_percent=None,
        wait_vaccine_days=14,
    )  # fmt: skip
    settings = session_facts(today_session, [], policy).settings
    assert settings.filler_ul_per_60_kg_year == 20_000
    assert settings.toxin_interval_days == 84
    assert settings.toxin_ceiling_centiunits == 30_000
    assert (settings.filler_session_ul, settings.toxin_session_centiunits) == (4_000, 9_000)
    assert settings.side_difference_percent is None
    assert settings.wait_days == {CareKind.VACCINE: 14}


def test_early_toxin_is_flagged_with_its_source(injector, patient, toxin):
    treated(injector, patient, date(2025, 10, 1), toxin[0], 300, plane="intramuscular")
    session = start_session(
        patient=patient, injector=injector, started_at=at(TODAY), late_reason="x", jaw="average"
    )
    put_on_tray(session=session, unit=toxin[0], actor=injector)
    make_point(session, toxin[0], amount=300, plane="intramuscular")
    flags = shown_flags(session, session_points(session), session_tray(session))
    early = next(flag for flag in flags if "toxin was last given" in flag.title)
    assert (early.level, early.points) == ("caution", (1,))
    assert "there on 2025-10-01, 55 days before" in early.title
    assert "90 days apart" in early.source


def test_what_the_patient_had_after_the_session_says_nothing_of_it(injector, patient):
    for day, precision in ((26, "day"), (25, "day"), (1, "month")):
        make_reported_care(injector, patient, day=date(2025, 11, day), precision=precision)
    session = start_session(
        patient=patient, injector=injector, started_at=at(TODAY), late_reason="x", jaw="average"
    )
    assert [str(care.when) for care in facts_of(session).care] == ["on 2025-11-25", "in 2025-11"]


def test_late_entry_is_a_deviation(injector, patient):
    session = start_session(
        patient=patient, injector=injector, started_at=at(date(2025, 1, 5)), jaw="average",
        late_reason="The tablet was dead",
    )  # fmt: skip
    not_settled, late = shown_flags(session, [], [])
    assert (late.level, late.text) == ("stop", "Reason given: The tablet was dead")
    assert not_settled.title == "No consent to a treatment yet"


@pytest.mark.parametrize("count", [1, 3])
def test_facts_take_the_same_queries_for_any_number_of_points(
    injector, patient, filler, django_assert_num_queries, count
):
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=filler[0], actor=injector)
    for _ in range(count):
        make_point(session, filler[0], amount=10)
    points = list(session_points(session))
    # Earlier sessions, care elsewhere, anaesthesia, the plan, the atlas.
    with django_assert_num_queries(5):
        session_facts(session, points, ClinicPolicy())


@pytest.mark.parametrize(
    ("points", "text"),
    [
        ((4,), "Point 4"),
        ((1, 2), "Points 1, 2"),
        ((1, 2, 3), "Points 1 to 3"),
        ((7, 1, 3, 2, 9, 10), "Points 1 to 3, 7, 9, 10"),
    ],
)
def test_points_of_a_flag_are_named_in_runs(points, text):
    flag = ShownFlag("note", "Note", "Title", "Text", "Source", points)
    assert flag.points_text == text

"""What was planned for a session against what was given, and what the limits say beforehand."""

import pytest
from django.urls import reverse

from clinic.atlas.services import copied, save_entry
from clinic.policy.models import ClinicPolicy
from planning.atlas.compilation import supplied
from records.plans.services.lines import save_line
from records.sessions.enums import Remainder
from records.sessions.queries.flags import shown_flags
from records.sessions.queries.plan_checks import plan_flags
from records.sessions.queries.planned import plan_and_done
from records.sessions.queries.points import session_points
from records.sessions.queries.tray import session_tray
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_line,
    make_plan,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def sizes(owner):
    """One product in two sizes; the plan names the larger, the smaller is opened."""
    large = make_product("HA filler firm 2 mL", line="HA filler firm", content=2000)
    small = make_product("HA filler firm 1 mL", line="HA filler firm")
    return large, make_units(owner, small, number="S1")[0]


@pytest.fixture
def session(injector, patient, sizes):
    large, unit = sizes
    lines = [
        make_line(large, amount=400),
        make_line(large, side="right", amount=400),
        make_line(large, region="mental", side="midline", amount=200),
    ]
    make_plan(injector, patient, None, *lines)
    session = make_session_with_unit(injector, patient, unit)
    for x_dmm, amount in ((500, 200), (480, 200), (-500, 300)):
        make_point(session, unit, x_dmm=x_dmm, amount=amount)
    make_point(session, unit, x_dmm=0, y_dmm=-500, amount=50)
    return session


def test_any_size_of_the_planned_product_counts(session):
    found = plan_and_done(session, session_points(session), session_tray(session))
    rows = [(str(row.line), row.progress.given, row.difference_text) for row in found.rows]
    assert rows == [
        ("Zygomatic region, left", 400, "none"),
        ("Zygomatic region, right", 300, "−0.1 mL"),
        ("Mental region, midline", 0, "−0.2 mL"),
    ]
    assert [point.region for point in found.unplanned] == ["forehead"]


def test_units_planned_opened_and_wasted_stand_beside_each_other(session, sizes, injector):
    """1 mL was planned, one syringe of 1 mL lay there; 0.75 was given, the rest wasted."""
    unit = sizes[1]
    sign_session(session=session, remainders={unit.pk: Remainder.WASTED}, actor=injector)
    session.refresh_from_db()
    found = plan_and_done(session, session_points(session), session_tray(session))
    small = unit.lot.product
    assert [(row.product, row.planned, row.opened, row.wasted) for row in found.units] == [
        (small, 1, 1, 250)
    ]


def test_a_session_without_a_plan_has_nothing_to_compare(injector, patient, sizes):
    session = make_session_with_unit(injector, patient, sizes[1])
    assert plan_and_done(session, [], []) is None


def test_the_record_shows_plan_and_done_side_by_side(session, signed_in, owner):
    text = signed_in(owner).get(reverse("session-detail", args=[session.pk])).content.decode()
    assert "Plan and done" in text
    assert "Given as planned" in text
    assert "Not planned" in text


def test_limits_are_asked_before_the_needle(injector, patient, owner, signed_in):
    """
    Temple: 0.5 to 0.6 mL a side is usual (common practice, no source); 64 units is the total of all
    three label areas of onabotulinumtoxinA, 20 of the glabella alone (US label highlights, 2019).
    """
    filler, toxin = (
        make_product(),
        make_product(
            "OnabotulinumtoxinA 100 units", kind="toxin", content=10_000, lidocaine_ug_per_ml=0
        ),
    )
    lines = [
        make_line(filler, region="temple", amount=900),
        make_line(toxin, region="glabella", side="midline", plane="intramuscular", amount=2_500),
    ]
    stage = make_plan(injector, patient, None, *lines).stages.get()
    flags = {flag.title: flag for flag in plan_flags(stage)}
    assert any("0.9 mL is above the usual 0.5 mL to 0.6 mL" in title for title in flags)
    assert any("25 units is above the 20 units of the label" in title for title in flags)
    address = reverse("session-checks-for-plan", args=[stage.pk])
    text = signed_in(owner).get(address).content.decode()
    assert "Temporal region, left" in text
    assert "Advice, never a verdict" in text


def test_a_plan_is_asked_about_by_its_lines_not_by_points(injector, patient):
    """0.6 mL for a cheekbone is three points of the usual 0.2 mL (common practice, no source)."""
    toxin = make_product("OnabotulinumtoxinA", kind="toxin", content=10_000, lidocaine_ug_per_ml=0)
    lines = [
        make_line(make_product()),
        make_line(toxin, region="glabella", side="midline", amount=400),
    ]
    stage = make_plan(injector, patient, None, *lines).stages.get()
    titles = [flag.title for flag in plan_flags(stage)]
    assert "Glabella, midline: toxin on the bone." in titles
    assert not any("Zygomatic" in title for title in titles)


def test_what_a_session_gave_of_the_stage_is_not_counted_beside_the_plan(session, injector, owner):
    """
    Toxin planned once is no toxin too soon after itself: while the session is under way, and after.
    """
    toxin = make_product("OnabotulinumtoxinA", kind="toxin", content=10_000, lidocaine_ug_per_ml=0)
    vial = make_units(owner, toxin, number="T1")[0]
    stage = session.plan_stage
    glabella = make_line(toxin, region="glabella", side="midline", amount=2_000)
    glabella.stage, glabella.plane = stage, "intramuscular"
    save_line(line=glabella, actor=injector)
    put_on_tray(session=session, unit=vial, actor=injector)
    before = [flag.title for flag in plan_flags(stage)]
    make_point(session, vial, x_dmm=0, y_dmm=0, plane="intramuscular", amount=2_000)
    assert [flag.title for flag in plan_flags(stage)] == before


def test_left_and_right_are_held_against_the_plan_whatever_the_pack(session):
    """0.4 mL a side was planned; 0.4 left and 0.3 right of the other size are 25 % apart."""
    ClinicPolicy.objects.create(side_difference_percent=20)
    flags = shown_flags(session, session_points(session), session_tray(session))
    [found] = [flag for flag in flags if "planned left" in flag.title]
    assert "left 0.4 mL, right 0.3 mL; planned left 0.4 mL, right 0.4 mL" in found.title


def test_the_clinics_own_atlas_is_what_a_region_is_held_against(session, owner):
    """Three lines are compared with what the owner wrote in place of the supplied amount."""
    key = "zygomatic.amount.filler"
    entry = copied(supplied()[key])
    entry.least, entry.most, entry.per = None, 150, "point"
    entry.source_title, entry.source_detail = "Our own practice", "decided in 2026"
    entry.trust = "clinic_policy"
    save_entry(entry=entry, actor=owner)
    flags = shown_flags(session, session_points(session), session_tray(session))
    assert any("0.2 mL is above the usual 0.15 mL for a point" in flag.title for flag in flags)

"""A clinic in use gets the rows it lacks when its database is brought up to date."""

from datetime import date, time
from importlib import import_module
from unittest.mock import Mock

import pytest
from django.apps import apps
from django.db import connection

from clinic.database import triggers
from clinic.policy.models import ClinicPolicy
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import quarantine_lot
from clinic.stock.models import StockMovement
from records.reviews.models import ReviewAsk, ReviewDate
from records.reviews.queries.dates import reviews_off_their_history
from records.sessions.queries.balances import unit_checks
from records.sessions.services.points import remove_point
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_review,
    make_session_with_unit,
    make_units,
)


@pytest.fixture
def without_triggers(db):
    """As while migrating."""
    triggers.drop_all(connection)
    yield
    triggers.install_all(connection)


def test_points_of_before_get_their_draws(injector, owner, without_triggers):
    (unit,) = make_units(owner, make_product(), quantity=1)
    session = make_session_with_unit(injector, make_patient(owner), unit)
    make_point(session, unit, amount=200)
    remove_point(point=make_point(session, unit, amount=100), actor=injector)
    make_point(session, unit, amount=300)

    with connection.cursor() as cursor:
        cursor.execute(import_module("records.migrations.0007_draws_of_before")._DRAWS)

    draws = StockMovement.objects.filter(kind__in=["drawn", "undrawn"]).order_by("id")
    assert list(draws.values_list("unit", "kind", "amount", "reason", "by")) == [
        (unit.pk, "drawn", 200, "Point 1", injector.pk),
        (unit.pk, "drawn", 300, "Point 3", injector.pk),
    ]


@pytest.mark.parametrize(
    ("of_messages", "then"),
    [
        ([(time(21), time(7))], (time(21), time(7))),
        ([(time(20), time(8))], (time(22), time(6))),  # nobody ever set them
        ([], (time(22), time(6))),
    ],
)
def test_quiet_hours_of_messages_become_the_clinics(db, of_messages, then):
    ClinicPolicy.objects.create(quiet_from=time(22), quiet_until=time(6))
    before = Mock()
    before.objects.values_list.return_value = of_messages
    old = Mock(get_model=lambda app, name: before if app == "records" else ClinicPolicy)

    import_module("records.migrations.0027_quiet_hours_of_before").take_over(old, None)

    policy = ClinicPolicy.objects.get()
    assert (policy.quiet_from, policy.quiet_until) == then


def test_quarantines_of_before_get_their_rows(owner):
    (unit,) = make_units(owner, make_product(), quantity=1)
    quarantine_lot(lot=unit.lot, reason="A letter of the maker", actor=owner)
    triggers.drop_all(connection)
    Quarantine.objects.all().delete()
    triggers.install_all(connection)

    import_module("clinic.migrations.0004_quarantines_of_before").give_each_its_row(apps, None)

    held = Quarantine.objects.get()
    assert (held.span, held.reason, held.placed_by) == ("lot LOT42", "A letter of the maker", owner)
    assert [check.fault for check in unit_checks()] == [""]


def test_reviews_of_before_get_a_window_and_their_first_row(injector, without_triggers):
    ClinicPolicy.objects.create(review_grace_days=10)
    review = make_review(injector, make_patient(injector), date(2026, 12, 9))
    ReviewAsk.objects.all().delete()
    ReviewDate.objects.all().delete()

    windows, history = (
        import_module(f"records.migrations.{name}")
        for name in ("0014_review_windows", "0015_review_dates_of_before")
    )
    windows.open_windows(apps, None)
    history.give_each_its_history(apps, None)

    review.refresh_from_db()
    assert (review.earliest_on, review.latest_on) == (date(2026, 12, 9), date(2026, 12, 19))
    row = review.dates.get()
    assert (row.due_on, row.latest_on, row.by, row.reason) == (
        review.due_on, review.latest_on, injector, review.rule,
    )  # fmt: skip
    assert review.asks.get().rule is None
    assert not reviews_off_their_history()

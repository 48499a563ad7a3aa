from datetime import UTC, datetime, timedelta

import pytest

from clinic.database.expressions import EpochSeconds
from clinic.hours.models import Absence


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("starts_at", "seconds"),
    [
        (datetime(1970, 1, 1, 0, 5, tzinfo=UTC), 300),
        # 30 years of 365 days and seven leap days, by hand.
        (datetime(2000, 1, 1, tzinfo=UTC), 946_684_800),
        (datetime(2040, 2, 29, 23, 55, tzinfo=UTC), 2_214_172_500),
    ],
)
def test_the_database_counts_the_seconds_of_a_moment(injector, starts_at, seconds):
    Absence.objects.create(
        person=injector, starts_at=starts_at, ends_at=starts_at + timedelta(hours=1)
    )
    assert seconds == int(starts_at.timestamp())
    assert Absence.objects.values_list(EpochSeconds("starts_at"), flat=True).get() == seconds

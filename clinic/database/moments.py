"""Times of the clinic's clock as moments in UTC, as they are stored."""

from datetime import UTC, date, datetime, time

from django.utils import timezone


def moment_at(day: date, clock: time = time.min) -> datetime:
    """
    When the clinic's clock shows `clock` on `day`.

    The hour that comes twice in autumn is its first coming. One that is left out in spring is as
    long after midnight as it would have been.
    """
    local = datetime.combine(day, clock, tzinfo=timezone.get_current_timezone())
    return local.astimezone(UTC)

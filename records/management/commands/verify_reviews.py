"""Whether any signed session lacks the review it asked for."""

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from records.reviews.models import Review
from records.reviews.queries.dates import reviews_off_their_history, sessions_without_review


class Command(BaseCommand):
    help = (
        "Checks that every signed session in which something was given has a review, and that each "
        "review has the dates its history ends with."
    )

    def handle(self, *args, **options) -> None:
        problems = [
            f"session {session.pk} of {timezone.localdate(session.started_at)}, patient "
            f"{session.patient.record_number}: no review"
            for session in sessions_without_review()
        ]
        problems += [
            f"review {review.pk}: its dates are not those of its history"
            for review in reviews_off_their_history()
        ]
        if problems:
            raise CommandError("\n".join(problems))
        count = Review.objects.count()
        self.stdout.write(
            f"no signed session lacks its review, {count} reviews agree with their history"
        )

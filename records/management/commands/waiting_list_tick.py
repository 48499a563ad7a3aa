"""`manage.py waiting_list_tick`"""

from django.core.management.base import BaseCommand

from records.waiting_list.services.offers import expire_offers


class Command(BaseCommand):
    help = (
        "End the offers of the waiting list that nobody answered in time, and offer their times to "
        "the next in order. May be run at any time, and twice at once."
    )

    def handle(self, **options):
        self.stdout.write(f"Offers that ended: {expire_offers()}.")

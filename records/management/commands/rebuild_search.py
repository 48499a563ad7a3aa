"""Makes the search keys of all patients anew: after a new version of `anyascii`, or a restore."""

from django.core.management.base import BaseCommand

from records.patients.services import rebuild_search_keys


class Command(BaseCommand):
    help = "Make the keys anew that patients are found by. Changes nothing else; run it any time."

    def handle(self, *args, **options):
        differed = rebuild_search_keys()
        self.stdout.write(f"{differed} patients had keys that differed.")

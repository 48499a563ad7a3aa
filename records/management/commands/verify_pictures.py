"""Checks that every photograph has its file, and tidies files that belong to none."""

from django.core.management.base import BaseCommand, CommandError

from clinic.pictures.storage import private_pictures
from records.photographs.files import loose_files, picture_checks


class Command(BaseCommand):
    help = (
        "Compare every photograph with its file in var/pictures. Prints how many were checked and "
        "how many files belong to none (exit 0), or the first photograph that does not fit "
        "(exit 1). Changes nothing without --tidy."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--tidy",
            action="store_true",
            help="Delete the files that belong to no photograph and are older than a day. Not "
            "while the database is an older copy than the files.",
        )

    def handle(self, *args, tidy: bool, **options):
        count, loose = self._check_pictures(), loose_files()
        if tidy:
            for name in loose:
                private_pictures().delete(name)
        done = "deleted" if tidy else "left where they are"
        self.stdout.write(f"{count} photographs have their files, {len(loose)} loose files {done}")

    def _check_pictures(self) -> int:
        count = 0
        for check in picture_checks():
            if check.fault:
                raise CommandError(
                    f"photograph {check.name}: {check.fault}. {count} before it fit.", returncode=1
                )
            count += 1
        return count

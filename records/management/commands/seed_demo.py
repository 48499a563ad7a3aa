"""`manage.py seed_demo`: the invented clinic, for trying the tool."""

from datetime import date

from django.core.management.base import BaseCommand
from django.utils import timezone

from clinic.staff.models import User
from records.demo.clinic import PASSWORD
from records.demo.seed import seed

LOGINS = {"desk": "front desk", "injector": "injector", "owner": "practice owner"}


class Command(BaseCommand):
    help = "Fill an empty database with the invented clinic; run again it changes nothing."

    def add_arguments(self, parser):
        parser.add_argument(
            "--today", type=date.fromisoformat, help="the day the demo is set in (YYYY-MM-DD)"
        )

    def handle(self, *, today: date | None, **options):
        if seed(today or timezone.localdate()):
            self.stdout.write("The invented clinic is ready: people, products and names made up.")
        demo_people = User.objects.filter(username__in=LOGINS, is_active=True)
        if not demo_people.filter(username="desk").exists():
            self.stdout.write("This database holds another clinic; nothing was changed.")
            return
        self.stdout.write("Sign in as:")
        for username, role in LOGINS.items():
            self.stdout.write(f"  {role:<15} {username:<9} password {PASSWORD}")

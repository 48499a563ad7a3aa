"""Checks that every unit of stock balances and that no signed session has changed."""

from django.core.management.base import BaseCommand, CommandError

from records.sessions.models import TreatmentSession
from records.sessions.queries.balances import unit_checks
from records.sessions.services.signing import content_digest


class Command(BaseCommand):
    help = (
        "Compare every unit of stock with its points and the ledger, and every signed session "
        "with the digest it was signed with. Prints how many were checked (exit 0), or the first "
        "that does not fit (exit 1). Changes nothing."
    )

    def handle(self, *args, **options):
        units, sessions = self._check_units(), self._check_sessions()
        self.stdout.write(f"{units} units balance, {sessions} signed sessions unchanged")

    def _check_units(self) -> int:
        count = 0
        for check in unit_checks():
            if check.fault:
                raise CommandError(
                    f"unit {check.label} does not balance: {check.fault} (in base units). "
                    f"{count} units before it balance.",
                    returncode=1,
                )
            count += 1
        return count

    def _check_sessions(self) -> int:
        count = 0
        signed = TreatmentSession.objects.signed().select_related("patient").order_by("id")
        for session in signed.iterator(chunk_size=500):
            if content_digest(session) != session.signed_digest:
                raise CommandError(
                    f"session {session.pk} of {session.patient.record_number} is not as it was "
                    f"signed. {count} signed sessions before it are unchanged.",
                    returncode=1,
                )
            count += 1
        return count

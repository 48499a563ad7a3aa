"""Checks that every unit of stock balances, and that nothing signed or closed has changed."""

from django.core.management.base import BaseCommand, CommandError

from records.recalls.models import RecallCase
from records.recalls.services.closing import content_digest as case_digest
from records.sessions.models import TreatmentSession
from records.sessions.queries.balances import unit_checks
from records.sessions.services.signing import content_digest


class Command(BaseCommand):
    help = (
        "Compare every unit of stock with its points and the ledger, every signed session with "
        "the digest it was signed with, and every closed recall case with the one it was closed "
        "with. Prints how many were checked (exit 0), or the first that does not fit (exit 1). "
        "Changes nothing."
    )

    def handle(self, *args, **options):
        units, sessions, cases = self._check_units(), self._check_sessions(), self._check_cases()
        self.stdout.write(
            f"{units} units balance, {sessions} signed sessions unchanged, "
            f"{cases} closed recall cases unchanged"
        )

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

    def _check_cases(self) -> int:
        closed = RecallCase.objects.filter(closed_at__isnull=False).order_by("pk")
        for count, case in enumerate(closed):
            if case_digest(case) != case.closed_digest:
                raise CommandError(
                    f"{case} is not as it was closed. {count} closed cases before it are "
                    "unchanged.",
                    returncode=1,
                )
        return len(closed)

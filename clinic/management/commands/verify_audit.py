"""Checks the audit trail from the first row to the last."""

from django.core.management.base import BaseCommand, CommandError

from clinic.audit.queries import digest_at, verify_chain


class Command(BaseCommand):
    help = (
        "Check the audit trail. Prints how many events there are and the last digest (exit 0), or "
        "the first broken row (exit 1)."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--kept",
            metavar="N:DIGEST",
            help="A count and digest printed by an earlier run and kept elsewhere. The chain must "
            "still hold them: a trail cut short or written anew from some row on is found by this "
            "alone.",
        )

    def handle(self, *args, kept=None, **options):
        position, digest = self._parsed(kept) if kept else (None, None)
        verdict = verify_chain()
        if not verdict.intact:
            raise CommandError(
                f"broken at row {verdict.broken_at}: {verdict.reason}. "
                f"{verdict.checked:,} rows before it are intact.",
                returncode=1,
            )
        if position is not None and digest_at(position) != digest:
            raise CommandError(
                f"broken at row {position} or before it: the chain no longer holds the digest "
                "that was kept.",
                returncode=1,
            )
        self.stdout.write(f"intact: {verdict.checked} events, head digest {verdict.digest}")
        self.stdout.write(f"Keep this elsewhere, for --kept: {verdict.checked}:{verdict.digest}")

    def _parsed(self, kept: str) -> tuple[int, str]:
        position, _, digest = kept.partition(":")
        if not position.isdecimal() or len(digest) != 64:
            raise CommandError("--kept takes N:DIGEST, the count and the 64 digits of its digest.")
        return int(position), digest

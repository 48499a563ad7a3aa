"""Checks the audit trail from the first row to the last, and against heads kept elsewhere."""

from argparse import ArgumentTypeError, FileType
from datetime import date

from django.core.management.base import BaseCommand, CommandError

from clinic.audit.queries import digest_at
from clinic.audit_heads.queries import KeptHead, Proof, heads_in, own_heads_say, prove

DIGITS = frozenset("0123456789abcdef")


def _digest(text: str) -> str:
    """As it is printed, in eights, or in one piece."""
    digest = "".join(text.split()).lower()
    if len(digest) != 64 or not DIGITS.issuperset(digest):
        raise ArgumentTypeError("the 64 digits of a head, 0-9 and a-f")
    return digest


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError("a day as 2026-12-31") from error


class Command(BaseCommand):
    help = (
        "Check the audit trail. Prints how many events there are and the last digest (exit 0), or "
        "the first broken row (exit 1). With heads that were printed or mailed: whether today's "
        "chain goes on from them, or between which entries it breaks."
    )

    def add_arguments(self, parser):
        parser.add_argument(
            "--kept",
            metavar="N:DIGEST",
            help="A count and digest printed by an earlier run and kept elsewhere. The chain must "
            "still hold them: a trail cut short or written anew from some row on is found by this "
            "alone.",
        )
        parser.add_argument(
            "--head", metavar="DIGEST", type=_digest, action="append", default=[],
            help="The digest of a head that was printed or mailed; again for several.",
        )  # fmt: skip
        parser.add_argument(
            "--on", metavar="DAY", type=_day, action="append", default=[],
            help="The day on which it was (2026-12-31); one for each --head.",
        )  # fmt: skip
        parser.add_argument(
            "--heads", metavar="FILE", type=FileType("r", encoding="utf-8"),
            help="A text with lines of DAY ENTRIES DIGEST, such as the saved e-mails.",
        )  # fmt: skip

    def handle(self, *args, kept=None, head=(), on=(), heads=None, **options):
        position, digest = self._parsed(kept) if kept else (None, None)
        proof = prove(self._asked(head, on, heads))
        if not proof.verdict.intact:
            self._tell_heads(proof)
            verdict = proof.verdict
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
        self._tell_heads(proof)
        if not proof.holds:
            raise CommandError(
                "the trail was rewritten: each row follows from the one before, but the chain does "
                f"not go on from what was kept. {proof.where} {own_heads_say()}",
                returncode=1,
            )
        verdict = proof.verdict
        self.stdout.write(f"intact: {verdict.checked} events, head digest {verdict.digest}")
        self.stdout.write(f"Keep this elsewhere, for --kept: {verdict.checked}:{verdict.digest}")

    def _tell_heads(self, proof: Proof) -> None:
        for one in proof.heads:
            if one.problem:
                self.stdout.write(f"{one.head} does NOT stand: {one.problem}.")
            else:
                after = proof.verdict.checked - (one.position or 0)
                self.stdout.write(
                    f"{one.head} stands: it is entry {one.position:,}, and {after:,} follow it."
                )

    def _asked(self, digests, days, file) -> list[KeptHead]:
        if len(digests) != len(days):
            raise CommandError("Give one --on for each --head.")
        asked = [KeptHead(day, digest) for day, digest in zip(days, digests, strict=True)]
        if file is not None:
            with file:
                found = heads_in(file)
            if not found:
                raise CommandError("The file holds no line of DAY ENTRIES DIGEST.")
            asked += found
        return asked

    def _parsed(self, kept: str) -> tuple[int, str]:
        position, _, digest = kept.partition(":")
        if not position.isdecimal() or len(digest) != 64:
            raise CommandError("--kept takes N:DIGEST, the count and the 64 digits of its digest.")
        return int(position), digest

"""Writes the letters of a mailing, or sends its e-mails, without a browser."""

from django.core.management.base import BaseCommand, CommandError, CommandParser

from records.mailings.errors import MailingError, MailServerDown
from records.mailings.models import Mailing
from records.mailings.queries import Progress
from records.mailings.services.steps import write_next


class Command(BaseCommand):
    help = (
        "Carry out a mailing to its end, with a line for each step (exit 0). It can be stopped and "
        "run again at any time: nothing is written or sent twice. Exit 1 if e-mails failed or are "
        "unclear; a person decides about them on the mailing's page."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("id", type=int, help="the number in the address of the mailing's page")

    def handle(self, *args, id: int, **options) -> None:
        mailing = Mailing.objects.filter(pk=id).first()
        if mailing is None:
            raise CommandError(f"There is no mailing {id}. Its number is in its page's address.")
        self.stdout.write(f"{mailing}{' (rehearsal)' if mailing.is_rehearsal else ''}")
        stands = self._step(mailing)
        while not stands.is_at_end:
            stands = self._step(mailing)
        self.stdout.write(_summary(stands))
        if stands.failed or stands.unclear:
            raise CommandError("Decide on the mailing's page about those that need it.")

    def _step(self, mailing: Mailing) -> Progress:
        try:
            stands = write_next(mailing=mailing, actor=None)
        except (MailServerDown, MailingError) as error:
            raise CommandError(f"{error} Run it again to go on.") from error
        self.stdout.write(f"  {stands.settled} of {stands.to_do}", ending="\n")
        self.stdout.flush()
        return stands


def _summary(stands: Progress) -> str:
    counts = {
        "written": stands.written, "sent": stands.sent, "failed": stands.failed,
        "unclear": stands.unclear, "without an address": stands.left_out,
    }  # fmt: skip
    return ", ".join(f"{count} {word}" for word, count in counts.items() if count)

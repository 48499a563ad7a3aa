"""What the demo's patients are given and asked after a treatment, and one who is worried."""

from clinic.policy.queries import current_policy
from planning.warning_signs import WarningSign
from records.aftercare.enums import Feeling
from records.aftercare.models import CheckIn
from records.aftercare.services.checking_in import answer_check_in, ask_due
from records.aftercare.services.sheets import show_sheet
from records.reminders.enums import MessageState
from records.reminders.services.sending import claim, settle_sending


def ask_patients() -> None:
    """As `records.demo.messages.tell_patients`: nothing is handed over."""
    ask_due()
    clinic = current_policy()
    while message := claim(clinic):
        settle_sending(message, MessageState.SENT)


def answer_questions() -> None:
    """Of those who were asked, one is worried and the others are well; each had the sheet."""
    asked = CheckIn.objects.filter(message__state=MessageState.SENT).select_related("session")
    for number, check_in in enumerate(asked.order_by("pk")):
        session = check_in.session
        show_sheet(session=session, actor=session.injector)
        if number:
            answer_check_in(check_in=check_in, feeling=Feeling.WELL)
        else:
            answer_check_in(
                check_in=check_in, feeling=Feeling.WORRIED, signs=[WarningSign.LUMP],
                note="A small lump on the left, it was not there yesterday evening",
            )  # fmt: skip

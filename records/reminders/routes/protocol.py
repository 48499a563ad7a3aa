"""
What a back end for text messages must be (docs/sms.md).

`CLINIC_SMS` names the class; it is made once, without arguments, and asked by several processes. It
reads its own settings from the environment and raises `ImproperlyConfigured` for a missing one.
"""

from typing import Protocol, runtime_checkable


@runtime_checkable
class TextMessageRoute(Protocol):
    """A way to hand over text messages, one by one."""

    def send(self, *, to: str, text: str, reference: str) -> None:
        """
        Hand over one message.

        Args:
            to: the number as E.164 has it, such as +447700900123.
            text: the words; longer ones are sent in several parts (`planning.text_messages`).
            reference: 32 letters and digits, the same for each try of the same message. Where the
                provider takes a key against doubles, this is it.

        Raises:
            records.reminders.errors.NotNow: not taken for the moment; it certainly did not go.
            records.reminders.errors.Refused: will never be taken, as for a number that is none.
            records.reminders.errors.NobodyKnows: the line broke in between. Any other error is
                taken for this one.

        Both the message and the error's text are kept with the patient, and never logged. An
        error's text says what a person at the front desk can do with.
        """

    def was_sent(self, reference: str) -> bool | None:
        """
        Whether the message of this reference was taken by the provider: True or False if the
        provider can be asked, else None. Asked after the worker was killed while it sent. A
        message is sent again only after a certain False.
        """

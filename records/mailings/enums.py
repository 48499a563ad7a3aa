from planning.vocabulary import Term


class MailingChannel(Term):
    LETTER = "letter", "Letters"
    EMAIL = "email", "E-mails"


class MailingState(Term):
    """
    Where one patient's letter or e-mail is.

    An e-mail is marked as being sent before it leaves, so that none is sent twice: one whose
    sending was cut off in between stays so until a person decides.
    """

    WAITING = "waiting", "Waiting"
    SENDING = "sending", "Being sent"
    WRITTEN = "written", "Written"
    SENT = "sent", "Sent"
    FAILED = "failed", "Failed"
    LEFT_OUT = "left_out", "Left out"

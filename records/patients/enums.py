from planning.vocabulary import Term


class Sex(Term):
    """As the patient states it."""

    FEMALE = "female", "Female"
    MALE = "male", "Male"
    OTHER = "other", "Other"
    NOT_STATED = "not_stated", "Not stated"


class Channel(Term):
    """How the patient prefers to be reached."""

    PHONE = "phone", "Phone"
    SMS = "sms", "Text message"
    EMAIL = "email", "E-mail"
    LETTER = "letter", "Letter"


class AlertKind(Term):
    """What an alert is about. "None known" says that allergies were asked for and denied."""

    ALLERGY = "allergy", "Allergy"
    MEDICAL = "medical", "Medical"
    ACCOUNT = "account", "Account"
    OTHER = "other", "Other"
    NONE_KNOWN = "none_known", "No known allergies"


class AlertLevel(Term):
    """How loudly an alert speaks; it advises and never decides."""

    STOP = "stop", "Stop and ask"
    CAUTION = "caution", "Caution"
    NOTE = "note", "Note"

    @property
    def is_loud(self) -> bool:
        return self is not AlertLevel.NOTE

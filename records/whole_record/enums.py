from planning.vocabulary import Term


class Purpose(Term):
    """What a whole record is handed out for."""

    PATIENT = "patient", "The patient asked for it"
    CLINICIAN = "clinician", "Somebody else treats the patient"
    LEGAL = "legal", "A court, an authority or an insurer asks for it"
    CLINIC = "clinic", "The clinic’s own files"


class State(Term):
    """How far the making of a whole record has come."""

    WAITING = "waiting", "Being made"
    MADE = "made", "Ready"
    FAILED = "failed", "Could not be made"

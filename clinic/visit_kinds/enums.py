from planning.vocabulary import Term


class AppointmentKind(Term):
    CONSULTATION = "consultation", "Consultation"
    TREATMENT = "treatment", "Treatment"
    REVIEW = "review", "Review"
    TOP_UP = "top_up", "Top-up"
    COMPLICATION_CHECK = "complication_check", "Complication check"
    CALL = "call", "Call"

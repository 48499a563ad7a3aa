from planning.vocabulary import Term


class AppointmentKind(Term):
    CONSULTATION = "consultation", "Consultation"
    TREATMENT = "treatment", "Treatment"
    REVIEW = "review", "Review"
    TOP_UP = "top_up", "Top-up"


class AppointmentState(Term):
    BOOKED = "booked", "Booked"
    ARRIVED = "arrived", "Arrived"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"
    DID_NOT_ATTEND = "did_not_attend", "Did not attend"

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

    @property
    def takes_place(self) -> bool:
        """Whether an appointment in this state holds its time."""
        return self not in (AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND)

    @property
    def is_final(self) -> bool:
        """Nothing follows on this state."""
        return self in (AppointmentState.CANCELLED, AppointmentState.DONE)

    @property
    def badge(self) -> str:
        """Which badge of static/css/badges.css shows it."""
        return "cancelled" if self is AppointmentState.DID_NOT_ATTEND else self.value

from planning.vocabulary import Term


class AppointmentState(Term):
    """
    What became of a booked time.

    "Offered" is a time kept for somebody on the waiting list until they answer.
    """

    OFFERED = "offered", "Offered"
    BOOKED = "booked", "Booked"
    ARRIVED = "arrived", "Arrived"
    IN_ROOM = "in_room", "In the room"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"
    DID_NOT_ATTEND = "did_not_attend", "Did not attend"

    @property
    def takes_place(self) -> bool:
        """Whether an appointment in this state holds its time."""
        return self not in (AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND)

    @property
    def is_agreed(self) -> bool:
        """Somebody has agreed to come, or came; a time that is only offered holds, and is not."""
        return self.takes_place and self is not AppointmentState.OFFERED

    @property
    def is_to_come(self) -> bool:
        """The visit is still ahead or under way."""
        return self in (AppointmentState.BOOKED, AppointmentState.ARRIVED, AppointmentState.IN_ROOM)

    @property
    def is_here(self) -> bool:
        """The patient is in the house."""
        return self in (AppointmentState.ARRIVED, AppointmentState.IN_ROOM)

    @property
    def is_final(self) -> bool:
        """Nothing follows on this state."""
        return self in (AppointmentState.CANCELLED, AppointmentState.DONE)

    @property
    def badge(self) -> str:
        """Which badge of static/css/badges.css shows it."""
        return _BADGES.get(self, self.value)


_BADGES = {
    AppointmentState.DID_NOT_ATTEND: "cancelled",
    AppointmentState.IN_ROOM: "in-room",
}

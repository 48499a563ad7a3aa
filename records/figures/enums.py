from planning.vocabulary import Term


class GroupBy(Term):
    """By what the visits are told apart."""

    PRACTITIONER = "practitioner", "Practitioner"
    KIND = "kind", "Kind of visit"
    SITE = "site", "Site"
    ROOM = "room", "Room"

    @property
    def has_hours(self) -> bool:
        """Whether working hours belong to each; a kind or a room has none."""
        return self in (GroupBy.PRACTITIONER, GroupBy.SITE)

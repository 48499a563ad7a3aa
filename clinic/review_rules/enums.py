from planning.review_dates import Roll
from planning.sources import Confidence
from planning.vocabulary import Term


class Rolling(Term):
    """Where a review moves that falls on a closed day; one key for each `Roll`."""

    FOLLOWING = "following", "To the next open day"
    PRECEDING = "preceding", "To the open day before"
    MODIFIED_FOLLOWING = "modified_following", "To the next open day of the same month"

    @property
    def roll(self) -> Roll:
        return Roll[self.name]


# How a rule or a figure of the clinic may be known, as it is stored.
BACKINGS = (Confidence.CLINIC_POLICY, Confidence.COMMON_PRACTICE, Confidence.PUBLISHED)

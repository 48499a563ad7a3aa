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


class Backing(Term):
    """How a rule or a figure of the clinic is known."""

    CLINIC_POLICY = "clinic_policy", "Clinic policy"
    COMMON_PRACTICE = "common_practice", "Common practice, no source"
    PUBLISHED = "published", "Published source"

    @property
    def confidence(self) -> Confidence:
        return Confidence[self.name]

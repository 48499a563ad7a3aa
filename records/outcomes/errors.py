"""Why a review record is refused; each message is a sentence for the page."""


class OutcomeError(Exception):
    """The review record cannot be written so."""


class ReviewExcused(OutcomeError):
    """The review was closed as not needed, so nobody was seen."""


class WhyAgainMissing(OutcomeError):
    """The review has a record already, and nothing says why there is another."""


class CarriedAlready(OutcomeError):
    """The top-up of this record is in a plan already."""

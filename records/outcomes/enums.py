"""The words of review records."""

from planning.vocabulary import Term


class PatientAnswer(Term):
    """How the patient's own answers came in."""

    TABLET = "tablet", "By the patient, on the tablet"
    ASKED = "asked", "Asked by the injector"
    NONE = "none", "Not asked"


class OutcomeBy(Term):
    """What outcomes are added up by."""

    REGION = "region", "Region"
    PRODUCT = "product", "Product"
    INJECTOR = "injector", "Injector"

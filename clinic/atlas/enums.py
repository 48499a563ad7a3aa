from planning.sources import Confidence
from planning.vocabulary import Term


class Trust(Term):
    """How the clinic knows a value: the confidences of `planning.sources` as they are stored."""

    CLINIC_POLICY = "clinic_policy", "Clinic policy"
    PUBLISHED = "published", "Published source"
    COMMON_PRACTICE = "common_practice", "Common practice, no source"
    SECOND_HAND = "second_hand", "Read second-hand, not in the document itself"
    MEMORY = "memory", "From memory, not checked"

    @property
    def confidence(self) -> Confidence:
        return Confidence[self.name]

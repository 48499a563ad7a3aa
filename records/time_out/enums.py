from planning.vocabulary import Term


class Item(Term):
    """What is said aloud before the first point, in this order."""

    IDENTITY = "identity", "Name and date of birth, said by the patient"
    ALLERGIES = "allergies", "Allergies and alerts read out"
    CONSENT = "consent", "Consent given for what is done today"
    PHOTOGRAPHS = "photographs", "Photographs taken"
    UNITS = "units", "Units opened: product, lot and expiry"
    KIT = "kit", "Emergency kit here and in date"

    @property
    def short(self) -> str:
        """Within a sentence."""
        return _SHORT[self]


_SHORT = {
    Item.IDENTITY: "identity",
    Item.ALLERGIES: "allergies",
    Item.CONSENT: "consent",
    Item.PHOTOGRAPHS: "photographs",
    Item.UNITS: "units",
    Item.KIT: "emergency kit",
}

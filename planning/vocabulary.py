"""
The words of an injection entry: one spelling for screen, database, note and export.

The values are stored and exported, so a value never changes once a record uses it; the labels may.
Every word here is a `Term`: a `str` whose value is the key, with `.label` for people.

>>> Plane.DEEP_FAT.label
'Deep fat'
>>> Plane("deep_fat") is Plane.DEEP_FAT
True
>>> Side.LEFT.opposite.label
'Right'
"""

from __future__ import annotations

from enum import StrEnum
from typing import Self


class Term(StrEnum):
    """A stored key with the label people read."""

    label: str

    # The default is for the type checker alone, which takes a look-up, Plane("deep_fat"), for this.
    def __new__(cls, key: str, label: str = "") -> Self:
        term = str.__new__(cls, key)
        term._value_ = key
        term.label = label
        return term

    @classmethod
    def choices(cls) -> list[tuple[str, str]]:
        """(key, label) pairs in the order of the enum, as form fields want them."""
        return [(term.value, term.label) for term in cls]


class View(Term):
    """
    Which drawing of the chart, or the patient's own photograph, which has no drawing.

    A side view is named after the patient's side it shows.
    """

    FRONT = "front", "Front"
    RIGHT = "right", "Right side"
    LEFT = "left", "Left side"
    NECK = "neck", "Neck"
    HANDS = "hands", "Hands"
    PICTURE = "picture", "Photograph"

    @property
    def is_drawn(self) -> bool:
        """Whether the chart has a drawing for it."""
        return self is not View.PICTURE

    @property
    def opposite(self) -> View:
        """The view that shows the other side; all but the side views show both."""
        return {View.RIGHT: View.LEFT, View.LEFT: View.RIGHT}.get(self, self)


class Side(Term):
    """The patient's own side, never the viewer's."""

    LEFT = "left", "Left"
    RIGHT = "right", "Right"
    MIDLINE = "midline", "Midline"

    @property
    def opposite(self) -> Side:
        return {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT, Side.MIDLINE: Side.MIDLINE}[self]


class Jaw(Term):
    """Width of the jaw in the drawing. It chooses an outline and grades nobody."""

    NARROWER = "narrower", "Narrower jaw"
    AVERAGE = "average", "Average jaw"
    BROADER = "broader", "Broader jaw"


class Plane(Term):
    """Depth at which the product is placed, from the skin inwards."""

    INTRADERMAL = "intradermal", "Intradermal"
    SUBCUTANEOUS = "subcutaneous", "Subcutaneous"
    INTRAMUSCULAR = "intramuscular", "Intramuscular"
    SUBMUSCULAR = "submuscular", "Submuscular"
    DEEP_FAT = "deep_fat", "Deep fat"
    SUBMUCOSAL = "submucosal", "Submucosal"
    SUPRAPERIOSTEAL = "supraperiosteal", "Supraperiosteal"

    @property
    def layer(self) -> int | None:
        """
        The facial layer this plane lies in: 1 skin, 2 subcutaneous, 3 musculo-aponeurotic (SMAS),
        4 spaces, ligaments and deep fat, 5 on the periosteum. None for the submucosal plane, which
        is reached from the mucosal side.

        Source: five basic layers of the face (Mendelson and Wong, read as a chapter extract).
        """
        return _LAYERS.get(self)


_LAYERS: dict[Plane, int] = {
    Plane.INTRADERMAL: 1,
    Plane.SUBCUTANEOUS: 2,
    Plane.INTRAMUSCULAR: 3,
    Plane.SUBMUSCULAR: 4,
    Plane.DEEP_FAT: 4,
    Plane.SUPRAPERIOSTEAL: 5,
}


class Technique(Term):
    """How the product is laid down."""

    BOLUS = "bolus", "Bolus"
    LINEAR_RETROGRADE = "linear_retrograde", "Linear retrograde"
    LINEAR_ANTEROGRADE = "linear_anterograde", "Linear anterograde"
    FANNING = "fanning", "Fanning"
    CROSS_HATCHING = "cross_hatching", "Cross-hatching"
    SERIAL_PUNCTURE = "serial_puncture", "Serial puncture"
    MICRO_DROPLET = "micro_droplet", "Micro-droplet"


class Instrument(Term):
    NEEDLE = "needle", "Needle"
    CANNULA = "cannula", "Cannula"


class Aspiration(Term):
    """Whether blood was looked for before injecting, and whether any came."""

    NOT_DONE = "not_done", "Not done"
    NEGATIVE = "negative", "Done, negative"
    POSITIVE = "positive", "Done, positive"


class AnaesthesiaMethod(Term):
    """How an anaesthetic was given that is no part of what was injected for the treatment."""

    TOPICAL = "topical", "On the skin"
    INFILTRATION = "infiltration", "Infiltration"
    BLOCK = "block", "Nerve block"


class Diluent(Term):
    """
    What a powder is made up with.

    Source: product information of onabotulinumtoxinA for preservative-free sodium chloride; the
    others are common practice, no source.
    """

    SALINE = "saline", "Sodium chloride 0.9 %"
    PRESERVED_SALINE = "preserved_saline", "Sodium chloride 0.9 %, preserved"
    WATER = "water", "Water for injections"
    OTHER = "other", "Another diluent"


class Measure(Term):
    """What a product's amount is: a volume in microlitres or a dose in hundredths of a unit."""

    VOLUME = "volume", "Volume"
    DOSE = "dose", "Dose"


class ProductKind(Term):
    HA_FILLER = "ha_filler", "Hyaluronic acid filler"
    OTHER_FILLER = "other_filler", "Other filler"
    TOXIN = "toxin", "Toxin"
    HYALURONIDASE = "hyaluronidase", "Hyaluronidase"
    ANAESTHETIC = "anaesthetic", "Anaesthetic"
    EMERGENCY = "emergency", "Emergency medicine"

    @property
    def measure(self) -> Measure:
        """Toxin and hyaluronidase are counted in units, everything else in volume."""
        if self in (ProductKind.TOXIN, ProductKind.HYALURONIDASE):
            return Measure.DOSE
        return Measure.VOLUME

"""How an opened unit was made up, as session, note and the unit's own page say it."""

from dataclasses import dataclass

from clinic.stock.models import UnitOfStock
from planning.amounts import format_amount
from planning.dilution import centiunits_per_tenth_ml
from planning.vocabulary import Diluent, Measure, ProductKind
from records.sessions.models import Opening


@dataclass(frozen=True)
class MadeUp:
    """`unit` is one that was opened; with lot, product, opening and opener loaded no query."""

    unit: UnitOfStock

    @property
    def opening(self) -> Opening:
        return self.unit.opening

    @property
    def is_toxin(self) -> bool:
        return self.unit.lot.product.kind == ProductKind.TOXIN

    @property
    def is_shared(self) -> bool:
        return self.opening.patient_id is None

    @property
    def says_more(self) -> bool:
        """Whether it has more to tell than a syringe: shared, or made up, or with hours to keep."""
        opening = self.opening
        return self.is_shared or bool(opening.diluent_ul or opening.use_before) or self.is_toxin

    @property
    def with_what(self) -> str:
        """ "2.5 mL sodium chloride 0.9 %", or "2.5 mL diluent"; empty where it is not recorded."""
        opening = self.opening
        if not opening.diluent_ul:
            return ""
        name = Diluent(opening.diluent).label if opening.diluent else "diluent"
        volume = format_amount(opening.diluent_ul, Measure.VOLUME, no_break=True)
        return f"{volume} {name[0].lower()}{name[1:]}"

    @property
    def strength(self) -> str:
        """ "4 units": what 0.1 mL of a made-up vial holds; empty where that is not known."""
        diluent_ul = self.opening.diluent_ul
        if not diluent_ul or self.unit.measure != Measure.DOSE:
            return ""
        exact = centiunits_per_tenth_ml(self.unit.content, diluent_ul)
        about = "" if exact.denominator == 1 else "about "
        return about + format_amount(round(exact), Measure.DOSE, no_break=True)

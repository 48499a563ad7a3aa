"""How an opened unit was made up, as session, note and the unit's own page say it."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.utils import timezone

from clinic.stock.models import UnitOfStock
from planning.amounts import format_amount, plain_number
from planning.dilution import Drawn, Vial
from planning.dilution_table import common_doses
from planning.vocabulary import Diluent, Measure, ProductKind
from records.sessions.models import Opening

FINE_MARKING_UL = 10
"""A line every 0.01 mL."""


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
    def vial(self) -> Vial | None:
        """Its content in its diluent; None where that is not known."""
        diluent_ul = self.opening.diluent_ul
        if not diluent_ul or self.unit.measure != Measure.DOSE:
            return None
        return Vial(self.unit.content, diluent_ul)

    @property
    def asked_of_dilution(self) -> str:
        """As the address of the dilution page asks for this vial; empty where it is not known."""
        vial = self.vial
        if vial is None:
            return ""
        content = plain_number(vial.content, Measure.DOSE)
        return urlencode(
            {"content": content, "diluent": plain_number(vial.diluent_ul, Measure.VOLUME)}
        )

    @property
    def doses(self) -> tuple[tuple[int, Drawn], ...]:
        """What to draw for common doses that are left in it, to 0.01 mL."""
        if self.vial is None:
            return ()
        left = self.unit.remaining
        return tuple(row for row in common_doses(self.vial, FINE_MARKING_UL) if row[0] <= left)

    @property
    def since(self) -> str:
        """ "3 hours 20 minutes ago": the time since it was opened or made up."""
        minutes = max(0, int((timezone.now() - self.opening.opened_at).total_seconds()) // 60)
        if minutes >= 48 * 60:
            return f"{minutes // 1440} days ago"
        hours, rest = divmod(minutes, 60)
        parts = [f"{hours} hour{'' if hours == 1 else 's'}"] if hours else []
        if rest or not hours:
            parts.append(f"{rest} minute{'' if rest == 1 else 's'}")
        return f"{' '.join(parts)} ago"

    @property
    def strength(self) -> str:
        """ "4 units": what 0.1 mL of a made-up vial holds; empty where that is not known."""
        if self.vial is None:
            return ""
        exact = self.vial.per_tenth_ml
        about = "" if exact.denominator == 1 else "about "
        return about + format_amount(round(exact), Measure.DOSE, no_break=True)

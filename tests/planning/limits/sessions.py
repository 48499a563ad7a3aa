"""Sessions in one line each, for the checks of `planning.limits`."""

from dataclasses import replace
from datetime import date

from planning.atlas.regions import Region
from planning.flags import (
    OFFERED_FILLER_UL_PER_60_KG_YEAR,
    Flag,
    LimitSettings,
    SessionFacts,
    SessionPoint,
)
from planning.limits import session_flags
from planning.vocabulary import Plane, ProductKind, Side

TODAY = date(2026, 11, 25)
OFFERED = LimitSettings(filler_ul_per_60_kg_year=OFFERED_FILLER_UL_PER_60_KG_YEAR)
ONABOTULINUM = "OnabotulinumtoxinA, 100 units"


def point(
    kind: ProductKind,
    amount: int,
    region: Region,
    *,
    number: int = 1,
    side: Side = Side.LEFT,
    product: str = "",
    plane: Plane | None = None,
    lidocaine_ug_per_ml: int = 0,
    with_epinephrine: bool = False,
) -> SessionPoint:
    return SessionPoint(
        product_key=product or kind.value,
        product_label=product or kind.label,
        measure=kind.measure,
        region=region,
        region_label=region.label,
        side=side,
        unit_key=1,
        amount=amount,
        number=number,
        kind=kind,
        plane=plane,
        substance=product,
        lidocaine_ug_per_ml=lidocaine_ug_per_ml,
        with_epinephrine=with_epinephrine,
    )


def filler(amount: int = 100, region: Region = Region.ZYGOMATIC, **more: object) -> SessionPoint:
    return point(ProductKind.HA_FILLER, amount, region, **more)  # type: ignore[arg-type]


def toxin(amount: int = 400, region: Region = Region.GLABELLA, **more: object) -> SessionPoint:
    more.setdefault("product", ONABOTULINUM)
    return point(ProductKind.TOXIN, amount, region, **more)  # type: ignore[arg-type]


def facts(*points: SessionPoint, **more: object) -> SessionFacts:
    """A session of an adult of 60 kg at a clinic that took the yearly figure on offer."""
    settled = {"age_years": 40, "weight_g": 60_000, "settings": OFFERED} | more
    return SessionFacts(today=TODAY, points=points, **settled)  # type: ignore[arg-type]


def codes(session: SessionFacts) -> list[str]:
    return [flag.code for flag in session_flags(session)]


def by_clinic(**figures: object) -> LimitSettings:
    """The clinic's own figures, beside the yearly one that it took."""
    return replace(OFFERED, **figures)  # type: ignore[arg-type]


def only(session: SessionFacts) -> Flag:
    (flag,) = session_flags(session)
    return flag

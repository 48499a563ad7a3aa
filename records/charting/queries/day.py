"""What an injector's tablet keeps for a day without network."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.products.models import Product
from clinic.stock.models import UnitOfStock
from planning.plausibility import usual_of
from planning.vocabulary import Measure, ProductKind
from records.appointments.models import Appointment, start_of
from records.charting.queries.before import gates_json, kit_json, on_record_json
from records.charting.queries.occlusions import OCCLUSION_LINES, protocol_json
from records.charting.queries.people import last_of_patients, patients_json
from records.charting.queries.plans import plans_of_patients
from records.charting.queries.snapshot import snapshots
from records.charting.queries.units import held_json, opening_json, stock_seal, unit_json
from records.patients.models import Patient
from records.sessions.models import Anaesthesia, InjectionEntry, Opening, TreatmentSession
from records.sessions.queries.tray import (
    hours_against,
    lot_against,
    opened_units,
    sealed_units,
    unit_against,
)

# Offered above the keys until the clinic has points of its own; common practice, no source.
STEPS = {
    Measure.VOLUME: [50, 100, 150, 200, 300, 500],
    Measure.DOSE: [100, 200, 250, 400, 500, 1000],
}
MOST_STEPS = 6
_OF_SEALED = ("lot", "label", "content", "serial", "quarantined_at", "quarantine_reason")
# Of each product the last points that were given; looked for among the clinic's last ones, so that
# a product nobody uses does not cost a look at every point there is.
RECENT_OF_PRODUCT, RECENT = 200, 3_000


def day_patients(user, today: date) -> list[Patient]:
    """Whom `user` sees today, and whose sessions of theirs are still to be signed."""
    booked = Appointment.objects.agreed().on(today).filter(practitioner=user)
    in_work = day_sessions(user, today)
    return list(
        Patient.objects.filter(
            Q(pk__in=booked.values("patient")) | Q(pk__in=in_work.order_by().values("patient"))
        )
    )


def day_sessions(user, today: date) -> QuerySet[TreatmentSession]:
    """The user's unsigned sessions, and those signed today."""
    own = TreatmentSession.objects.standing().filter(injector=user)
    return (
        own.filter(Q(signed_at__isnull=True) | Q(signed_at__gte=start_of(today)))
        .select_related("patient")
        .prefetch_related("anaesthesia", OCCLUSION_LINES)
        .order_by("started_at", "id")
    )


def not_read_today(user, patients: Iterable[int], today: date) -> set[int]:
    """Those of `patients` whose day `user` has not fetched yet, so that the trail has each once."""
    patients = set(patients)
    read = AuditEvent.objects.filter(
        actor=user, action="read.day", patient_id__in=patients, at__gte=start_of(today)
    )
    return patients - set(read.values_list("patient_id", flat=True))


def day_json(user, patients: list[Patient], today: date) -> dict:
    """The day as the tablet keeps it; the same number of queries however much there is."""
    policy = current_policy()
    people, last = patients_json(patients, today), last_of_patients(row.pk for row in patients)
    plans = plans_of_patients(people)
    now = timezone.now()
    to_settle = gates_json(patients, policy, now)
    on_record = on_record_json(patients, policy, now)
    return {
        "now": now,
        "user": {"id": user.pk, "name": str(user)},
        "clinic": policy.name,
        "lock_minutes": policy.tablet_lock_minutes,
        "patients": [
            told
            | {"last": last.get(pk), "plan": plans.get(pk), "sessions_url": told["url"]}
            | {"gates": to_settle[pk], "on_record": on_record[pk]}
            for pk, told in people.items()
        ],
        "kit": kit_json(policy, today),
        "asks_time_out": policy.asks_time_out,
        "appointments": _appointments(user, today),
        "sessions": _sessions(user, today, policy, people),
        "stock": _stock(list(people), today),
        "anaesthetics": recent_anaesthetics(),
        "protocol": protocol_json(),
    }


def _sessions(user, today: date, policy: ClinicPolicy, people: dict[int, dict]) -> list[dict]:
    found = snapshots(day_sessions(user, today), user, policy=policy, people=people)
    return list(found.values())


def recent_anaesthetics() -> list[dict]:
    """
    What is offered to be touched: anaesthetics noted lately, then those the clinic keeps as
    products, each once. Two queries.
    """
    columns = ("product", "lidocaine_ug_per_ml", "with_epinephrine", "method")
    noted = Anaesthesia.objects.standing().order_by("-id").values(*columns)[:RECENT_OF_PRODUCT]
    kept = Product.objects.filter(kind=ProductKind.ANAESTHETIC, is_active=True).order_by("name")
    rows = [*noted, *kept.values("lidocaine_ug_per_ml", product=F("name"))[:MOST_STEPS]]
    offered: dict[str, dict] = {}
    for row in rows:
        offered.setdefault(row["product"], {"with_epinephrine": False, "method": "", **row})
    return list(offered.values())[:MOST_STEPS]


def _appointments(user, today: date) -> list[dict]:
    booked = Appointment.objects.agreed().on(today).filter(practitioner=user)
    shown = booked.only("patient_id", "starts_at", "kind", "state")
    return [
        {
            "pk": row.pk,
            "patient": row.patient_id,
            "starts_at": row.starts_at,
            "kind": row.kind,
            "kind_label": row.get_kind_display(),
            "state": row.state,
            "state_label": row.get_state_display(),
        }
        for row in shown.order_by("starts_at", "id")
    ]


def _stock(patients: list[int], today: date) -> dict:
    opened = list(opened_units(patients))
    return {
        "seal": stock_seal(today),
        "products": _products(today, opened),
        "opened": [_opened(unit, today) for unit in opened],
    }


def _opened(unit: UnitOfStock, today: date) -> dict:
    passed = hours_against(unit, unit.opening, timezone.now())
    against = [*unit_against(unit, today), *passed]
    told = unit_json(unit, against) | opening_json(unit.opening)
    return told | {"patient": unit.opening.patient_id}


def _products(today: date, opened: list[UnitOfStock]) -> list[dict]:
    """
    What is in stock, by product and lot, first expired first, and the products of which only open
    units are left, for their common amounts: five queries.
    """
    given, (volumes, diluents) = _given_amounts(), _made_up_with()
    products: dict[int, dict] = {}

    def told_of(product: Product) -> dict:
        if product.pk not in products:
            products[product.pk] = _product(
                product,
                given.get(product.pk, Counter()),
                volumes.get(product.pk, Counter()),
                diluents.get(product.pk, Counter()),
            )
        return products[product.pk]

    for unit in sealed_units().only(*_OF_SEALED):
        lot = told_of(unit.lot.product)["lots"].setdefault(
            unit.lot_id,
            {
                "number": unit.lot.number,
                "expires_on": unit.lot.expires_on,
                "against": lot_against(unit.lot, today),
                "held": held_json(unit.lot),
                "units": [],
            },
        )
        lot["units"].append(_sealed(unit, today))
    for unit in opened:
        told_of(unit.lot.product)
    return [told | {"lots": list(told["lots"].values())} for told in products.values()]


def _sealed(unit: UnitOfStock, today: date) -> dict:
    """`against` and `held` only where they are not its lot's: stopped by its own number."""
    told = {"pk": unit.pk, "label": unit.label, "content": unit.content, "serial": unit.serial}
    if unit.quarantined_at is not None:
        told |= {"against": unit_against(unit, today), "held": held_json(unit)}
    return told


def _product(
    product: Product, used: Counter[int], volumes: Counter[int], diluents: Counter[str]
) -> dict:
    kind = ProductKind(product.kind)
    return {
        "pk": product.pk,
        "name": product.name,
        "gtin": product.gtin or "",
        "kind": kind,
        "kind_label": kind.label,
        "measure": kind.measure,
        "lidocaine": product.lidocaine_text if product.lidocaine_ug_per_ml else "",
        "single_patient": product.is_single_patient,
        "asks_diluent": kind is ProductKind.TOXIN,
        "steps": amount_steps(used, kind.measure),
        "usual": usual_of(list(used.elements())),
        "usual_diluent_ul": usual_of(list(volumes.elements())),
        # None but the clinic's own: a volume nobody used here would be medical advice.
        "diluents": sorted(_most_used(volumes)),
        "diluent": next(iter(_most_used(diluents)), ""),
        "lots": {},
    }


def _given_amounts() -> dict[int, Counter[int]]:
    """How often each amount was given in the last points of each product: one query."""
    recent = InjectionEntry.objects.standing().order_by("-id")
    return _counted(recent.values_list("unit__lot__product", "amount")[:RECENT])


def _made_up_with() -> tuple[dict[int, Counter[int]], dict[int, Counter[str]]]:
    """How often the last units of each product were made up with how much, and what: one query."""
    made_up = Opening.objects.filter(diluent_ul__isnull=False).order_by("-pk")
    rows = list(made_up.values_list("unit__lot__product", "diluent_ul", "diluent")[:RECENT])
    return (
        _counted((product, volume) for product, volume, _ in rows),
        _counted((product, diluent) for product, _, diluent in rows if diluent),
    )


def _counted(values: Iterable[tuple[int, Any]]) -> dict[int, Counter]:
    """By product, how often each of its first RECENT_OF_PRODUCT values came."""
    used: dict[int, list] = defaultdict(list)
    for product, value in values:
        used[product].append(value)
    return {product: Counter(found[:RECENT_OF_PRODUCT]) for product, found in used.items()}


def _most_used(used: Counter) -> list:
    """Of those used equally often the smaller: the choice must not depend on the order read."""
    return sorted(used, key=lambda value: (-used[value], value))[:MOST_STEPS]


def amount_steps(used: Counter[int], measure: Measure) -> list[int]:
    """At most six amounts to offer, ascending: the ones used most, then common ones."""
    often = _most_used(used)
    common = [amount for amount in STEPS[measure] if amount not in often]
    return sorted([*often, *common][:MOST_STEPS])

"""One patient of whom the record holds something of every kind."""

import uuid
from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.models import ClinicPolicy
from planning.atlas.regions import Region
from planning.consents import ConsentKind, Outcome
from planning.imports.columns import Kind
from planning.outcomes import Improvement, TopUp
from planning.standard_views import Shot
from planning.vocabulary import ProductKind
from records.adverse_events.models import AdverseEvent
from records.aftercare.models import AftercareSheet
from records.aftercare.services.sheets import show_sheet
from records.consents.models import Consent
from records.consents.papers import keep_paper
from records.consents.services import Talk, note_not_given
from records.gates.enums import How
from records.gates.registry import Gate
from records.gates.services import Decision, note_decision
from records.outcomes.enums import PatientAnswer
from records.outcomes.models import ReviewRecord
from records.patients.enums import AlertLevel
from records.patients.models import Patient
from records.screening.services.histories import check_history
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.tray import put_on_tray
from records.time_out.enums import Item
from records.time_out.services import Answer, note_time_out
from tests.factories import (
    make_alert,
    make_anaesthetic,
    make_appointment,
    make_assessment,
    make_consent,
    make_event,
    make_import,
    make_message,
    make_patient,
    make_photograph,
    make_plan,
    make_point,
    make_product,
    make_reported_care,
    make_review_record,
    make_session,
    make_units,
    refreshed,
)
from tests.records.screening.histories import YES, make_history

NAME = "Zoë Example-Nowak"


@dataclass
class Rich:
    """The patient, the signed session, and what lies around it."""

    patient: Patient
    session: TreatmentSession
    consent: Consent


def make_rich_patient(owner, injector, desk) -> Rich:
    """Treated today with filler and toxin; nothing came after the signature yet."""
    ClinicPolicy.objects.create(name="Larkstone Face Clinic", emergency_contact="020 7946 0199")
    patient = make_patient(
        desk, NAME, phone="07700 900123", email="zoe@example.org", address="4 Example Lane"
    )
    filler = make_product("HA filler 1 mL", maker="Lumbrook Biomaterials")
    toxin = make_product(
        "Toxin 100 units", kind=ProductKind.TOXIN, content=10_000, lidocaine_ug_per_ml=0,
        is_single_patient=False, hours_after_opening=24,
    )  # fmt: skip
    units = [
        make_units(owner, filler, number="LOT42")[0], make_units(owner, toxin, number="T88120")[0]
    ]  # fmt: skip
    make_alert(desk, patient, "Allergic to lidocaine")
    check_history(form=make_history(injector, patient, pregnancy=YES), note="", actor=injector)
    consents = [
        make_consent(injector, patient, kind, questions="Asked how long it lasts.")
        for kind in (ConsentKind.FILLER, ConsentKind.TOXIN, ConsentKind.PHOTOGRAPHS)
    ]
    note_not_given(
        patient=patient, kind=ConsentKind.TEACHING, outcome=Outcome.REFUSED,
        reason="Wants no picture shown", actor=injector,
        talk=Talk(timezone.now(), told_alternatives=True, told_costs=True, has_capacity=True),
    )  # fmt: skip
    keep_paper(consent=consents[0], actor=injector)
    make_reported_care(injector, patient)
    make_assessment(injector, patient, note="Left cheek flatter.")
    tomorrow = timezone.localdate() + timedelta(days=1)
    make_message(make_appointment(desk, patient, injector, f"{tomorrow} 10:00"), state="sent")
    make_plan(injector, patient, filler)
    session = _signed(injector, patient, *units)
    return Rich(patient, session, consents[0])


def _signed(injector, patient: Patient, filler, toxin) -> TreatmentSession:
    session = make_session(injector, patient)
    make_photograph(injector, patient, session=session, taken_at=timezone.now())
    make_photograph(
        injector, patient, session=session, taken_at=timezone.now(), shot=Shot.of("front:frown")
    )  # fmt: skip
    stop = Gate("consent-toxin", AlertLevel.STOP, "No time to think.", "Wait.", "Clinic policy")
    answers = [Answer(item, is_confirmed=True) for item in Item if item is not Item.KIT]
    kit = "Oxygen: look at it.\n1 item there."
    answers.append(Answer(Item.KIT, is_confirmed=False, note="Next room", facts=kit))
    with acting(injector) as trail:
        note_decision(
            session=session, decision=Decision(stop, How.GO_ON, "Seen last week elsewhere"),
            by=injector, at=timezone.now(), trail=trail,
        )  # fmt: skip
        note_time_out(
            session=session, key=uuid.uuid4(), answers=answers, at=timezone.now(), by=injector,
            trail=trail,
        )  # fmt: skip
    put_on_tray(session=session, unit=filler, actor=injector)
    put_on_tray(session=session, unit=toxin, actor=injector, diluent_ul=2500, diluent="saline")
    make_point(session, filler)
    make_point(session, toxin, x_dmm=0, y_dmm=-80, amount=400, plane="intramuscular",
               gauge=30, length_mm=None)  # fmt: skip
    make_anaesthetic(session)
    remainders = {filler.pk: Remainder.WASTED, toxin.pk: Remainder.SHARED}
    return sign_session(session=refreshed(session), remainders=remainders, actor=injector)


def live_on(rich: Rich, injector) -> tuple[AftercareSheet, ReviewRecord, AdverseEvent]:
    """What comes after the signature: a sheet, a review, an adverse event and an addendum."""
    sheet = show_sheet(session=rich.session, actor=injector)
    seen = make_review_record(
        injector, rich.session.reviews.order_by("due_on").first(), seen_on=timezone.localdate(),
        seen="Soft, slightly swollen.", top_up=TopUp.WAIT, patient_answer=PatientAnswer.ASKED,
        by_injector={Region.ZYGOMATIC: Improvement.MUCH},
        by_patient={Region.ZYGOMATIC: Improvement.IMPROVED}, satisfaction=8,
    )  # fmt: skip
    event = make_event(
        injector, rich.patient, session=rich.session, onset_on=timezone.localdate(),
        signs="A bruise of 2 cm.",
    )  # fmt: skip
    make_import(
        injector,
        f"Record number,Date,Product\n{rich.patient.record_number},2019-03-05,Filler of before\n",
        Kind.TREATMENTS,
    )
    add_addendum(
        session=rich.session, reason="Forgotten", text="Ice was given.", actor=injector
    )  # fmt: skip
    return sheet, seen, event

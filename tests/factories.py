"""A few people and things with fixed names, built in one place and in one line each."""

import uuid
from datetime import UTC, date, datetime, time, timedelta

from django.utils import timezone
from django.utils.timezone import get_current_timezone, localdate

from clinic.atlas.models import AtlasEntry
from clinic.atlas.services import save_entry
from clinic.emergency_kit.models import EmergencyItem
from clinic.hours.models import Absence, WorkingTime
from clinic.places.enums import PlaceKind
from clinic.places.models import Place
from clinic.policy.models import Closure
from clinic.policy.services import add_closure
from clinic.products.models import Product
from clinic.protocols.models import Protocol
from clinic.protocols.services import save_protocol
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import place_quarantine
from clinic.receiving.models import Receipt
from clinic.receiving.services import DeliveryLine, receive_lot, receive_once
from clinic.review_rules.models import ReviewRule
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from clinic.stock.models import UnitOfStock
from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import Region
from planning.consents import ConsentKind
from planning.occlusion_protocol import Step
from planning.outcomes import TopUp
from planning.sources import Confidence
from planning.standard_views import Shot
from planning.unusual_access import Question
from planning.vocabulary import Jaw, ProductKind
from records.adverse_events.enums import Grade
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import record_event
from records.aftercare.models import CheckIn
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from records.assessments.models import Assessment
from records.assessments.services import record_assessment
from records.consents.models import Consent
from records.consents.queries import text_in_force
from records.consents.services import Signing, Talk, take_consent
from records.elsewhere.models import ReportedCare
from records.elsewhere.services import report_care
from records.mailings.models import LetterBatch, Mailing, MailTemplate
from records.mailings.services.starting import start_mailing
from records.occlusions.models import Occlusion, OcclusionEntry
from records.occlusions.services import Clocks, note_entry, open_log
from records.outcomes.enums import PatientAnswer
from records.outcomes.models import ReviewRecord
from records.outcomes.services.recording import Seen, record_review
from records.patients.models import Alert, Patient
from records.patients.services import add_alert, save_patient
from records.photographs.enums import PictureSource, Use
from records.photographs.models import Photograph
from records.photographs.services.keeping import keep_photograph
from records.plans.models import Plan, PlanLine
from records.plans.services.plans import start_plan
from records.record_access.models import AccessFinding
from records.reminders.enums import MessageKind
from records.reminders.models import Message
from records.reminders.services.writing import new_message
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.sessions.models import Anaesthesia, InjectionEntry, SessionPicture, TreatmentSession
from records.sessions.services.anaesthesia import Anaesthetic, note_anaesthesia
from records.sessions.services.pictures import keep_picture
from records.sessions.services.placing import PointDetails
from records.sessions.services.points import log_point
from records.sessions.services.sittings import start_session
from records.sessions.services.tray import put_on_tray
from records.waiting_list.models import FreedTime, Offer, WaitingEntry
from records.waiting_list.services.entries import add_entry
from tests.records.sessions.pictures import encoded

PASSWORD = "a long enough test password"


def make_user(username: str, **roles: bool) -> User:
    names = {"desk": "Dora Desk", "injector": "Ida Injector", "owner": "Olga Owner"}
    return User.objects.create_user(
        username=username,
        password=PASSWORD,
        full_name=names.get(username, username.title()),
        **(roles or {f"is_{ROLE_OF[username]}": True}),
    )


ROLE_OF = {"desk": "front_desk", "injector": "injector", "owner": "owner"}


def make_patient(actor, full_name: str = "Ann Example", **fields) -> Patient:
    fields.setdefault("birth_date", date(1980, 5, 17))
    return save_patient(patient=Patient(full_name=full_name, **fields), actor=actor)


def make_closure(actor, **fields) -> Closure:
    fields = {
        "starts_on": date(2030, 12, 24), "ends_on": date(2031, 1, 1), "reason": "Holidays",
        **fields,
    }  # fmt: skip
    return add_closure(closure=Closure(**fields), actor=actor)


def make_alert(actor, patient: Patient, text: str = "Lidocaine", **fields) -> Alert:
    fields = {"kind": "allergy", "level": "stop", **fields}
    return add_alert(patient=patient, text=text, actor=actor, **fields)


def make_product(name: str = "HA filler 1 mL", **fields) -> Product:
    fields = {
        "maker": "Example Maker", "kind": ProductKind.HA_FILLER, "content": 1000,
        "lidocaine_ug_per_ml": 3000, **fields,
    }  # fmt: skip
    return Product.objects.create(name=name, **fields)


def make_emergency_item(name: str = "Hyaluronidase", **fields) -> EmergencyItem:
    """1,500 units of any hyaluronidase at every site."""
    fields = {"product_kind": ProductKind.HYALURONIDASE, "minimum": 150_000, **fields}
    return EmergencyItem.objects.create(name=name, **fields)


def make_place(name: str = "Cupboard", **fields) -> Place:
    """At a site that is named, "Riverside" else."""
    site, _ = Site.objects.get_or_create(name=fields.pop("site", "Riverside"))
    return Place.objects.create(site=site, name=name, **fields)


def make_fridge(name: str = "Fridge", **fields) -> Place:
    """Kept at 2 to 8 °C."""
    fields = {"kind": PlaceKind.FRIDGE, "lowest_tenths": 20, "highest_tenths": 80, **fields}
    return make_place(name, **fields)


def make_room(name: str = "Room 1", *, site: str = "Larkstone") -> Room:
    place, _ = Site.objects.get_or_create(name=site)
    return Room.objects.create(site=place, name=name)


def make_working_time(person: User, site: Site, **fields) -> WorkingTime:
    """Mondays from nine to five."""
    fields = {
        "weekday": 1, "starts": time(9), "ends": time(17), "from_on": date(2026, 1, 1), **fields,
    }  # fmt: skip
    return WorkingTime.objects.create(person=person, site=site, **fields)


def make_absence(**fields) -> Absence:
    """Two days of leave in 2031; name a person or a room."""
    fields = {
        "starts_at": datetime(2031, 2, 3, tzinfo=UTC), "ends_at": datetime(2031, 2, 5, tzinfo=UTC),
        **fields,
    }  # fmt: skip
    return Absence.objects.create(**fields)


def make_units(
    actor,
    product: Product,
    *,
    number: str = "LOT42",
    quantity: int = 2,
    expires_on=date(2030, 6, 30),
    **fields,
) -> list[UnitOfStock]:
    return receive_lot(
        product=product, number=number, expires_on=expires_on, quantity=quantity, actor=actor,
        **fields,
    )  # fmt: skip


def make_receipt(owner, product: Product, *, number: str = "Q13", **fields) -> Receipt:
    """Two units of one lot, received by a form."""
    fields = {"expires_on": date(2030, 6, 30), "quantity": 2, **fields}
    line = DeliveryLine(product=product, number=number, **fields)
    return receive_once(key=uuid.uuid4().hex, lines=[line], actor=owner)[0]


def make_quarantine(
    owner, product: Product, reason: str = "Maker's letter", **fields
) -> Quarantine:
    """Of the whole product, unless `fields` name lots or serial numbers."""
    quarantine = Quarantine(product=product, reason=reason, **fields)
    return place_quarantine(quarantine=quarantine, actor=owner)


def make_atlas_entry(owner, **fields) -> AtlasEntry:
    """The clinic's usual filler in the nose, which comes without one: 0.05 to 0.1 mL a point."""
    fields = {
        "region": "nasal", "kind": "amount", "use": "filler", "least": 50, "most": 100,
        "per": "point", "source_title": "Clinic policy", "source_detail": "Team of May 2026",
        "trust": Confidence.CLINIC_POLICY, **fields,
    }  # fmt: skip
    return save_entry(entry=AtlasEntry(**fields), actor=owner)


def make_assessment(
    injector, patient: Patient, *grades: RegionGrade, note: str = "", **fields
) -> Assessment:
    """Of the cheekbones, 2 right and 3 left, where no grades are given."""
    cheeks = RegionGrade(Region.ZYGOMATIC, Scale.VOLUME, right=2, left=3)
    return record_assessment(
        patient=patient, grades=grades or [cheeks], note=note, actor=injector,
        key=fields.get("key") or uuid.uuid4(),
    )  # fmt: skip


def make_session(injector, patient: Patient, **fields) -> TreatmentSession:
    return start_session(patient=patient, injector=injector, jaw=Jaw.AVERAGE, **fields)


def point_details(unit: UnitOfStock, **fields) -> PointDetails:
    """A bolus on the patient's left cheekbone."""
    fields = {
        "view": "front", "x_dmm": 500, "y_dmm": 330, "plane": "supraperiosteal",
        "technique": "bolus", "instrument": "needle", "aspiration": "negative", "amount": 200,
        "gauge": 27, "length_mm": 13, **fields,
    }  # fmt: skip
    return PointDetails(unit_id=unit.pk, **fields)


def make_point(
    session: TreatmentSession, unit: UnitOfStock, *, key: uuid.UUID | None = None, **fields
) -> InjectionEntry:
    return log_point(
        session=session,
        key=key or uuid.uuid4(),
        details=point_details(unit, **fields),
        tapped_at=datetime(2026, 11, 25, 10, 0, tzinfo=UTC),
        actor=session.injector,
    )


def make_session_with_unit(injector, patient: Patient, unit: UnitOfStock) -> TreatmentSession:
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=unit, actor=injector)
    return session


def make_picture(session: TreatmentSession, **fields) -> SessionPicture:
    """A drawing kept as a photograph, 800 x 600."""
    fields = {
        "key": uuid.uuid4(), "sent": encoded(), "actor": session.injector,
        "taken_at": datetime(2026, 11, 25, 10, 0, tzinfo=UTC), **fields,
    }  # fmt: skip
    return keep_picture(session=session, **fields)


def make_photograph(actor, patient: Patient, **fields) -> Photograph:
    """A drawing kept as the front view at rest, 800 x 600, for the record and for teaching."""
    fields = {
        "key": uuid.uuid4(), "sent": encoded(), "shot": Shot.of("front:rest"),
        "source": PictureSource.UPLOAD, "uses": {Use.RECORD: None, Use.TEACHING: None},
        "taken_at": datetime(2026, 11, 25, 10, 0, tzinfo=UTC), **fields,
    }  # fmt: skip
    return keep_photograph(patient=patient, actor=actor, **fields)


def make_anaesthetic(session: TreatmentSession, **fields) -> Anaesthesia:
    """A block with 1.8 mL of lidocaine 2 % and epinephrine."""
    fields = {
        "method": "block", "product": "Lidocaine 2 %", "volume_ul": 1_800,
        "lidocaine_ug_per_ml": 20_000, "with_epinephrine": True, **fields,
    }  # fmt: skip
    return note_anaesthesia(
        session=session, key=uuid.uuid4(), given=Anaesthetic(**fields),
        given_at=datetime(2026, 11, 25, 9, 50, tzinfo=UTC), actor=session.injector,
    )  # fmt: skip


def make_event(actor, patient: Patient, **fields) -> AdverseEvent:
    """A mild, open one, first seen on 20 November 2026."""
    fields = {
        "onset_on": date(2026, 11, 20), "grade": Grade.MILD, "signs": "A firm lump, not red.",
        **fields,
    }  # fmt: skip
    return record_event(event=AdverseEvent(patient=patient, **fields), actor=actor)


def make_check_in(session: TreatmentSession, **fields) -> CheckIn:
    """The question of the day after, sent just now."""
    now = timezone.now()
    message = new_message(
        key=f"check_in:{session.pk}", kind=MessageKind.CHECK_IN, patient_id=session.patient_id,
        due_at=now, until=now + timedelta(days=1),
    )  # fmt: skip
    told = {"state": "sent", "at": now, "route": "sms", "recipient": "+447700900123"}
    for name, value in {**told, **fields}.items():
        setattr(message, name, value)
    message.save()
    return CheckIn.objects.create(session=session, message=message)


def make_protocol(owner, *steps: Step, **fields) -> Protocol:
    """The next version, with one step where none is named."""
    seen = Protocol.objects.count()
    step = Step("Stop", "Leave the needle.", "Clinic policy")
    return save_protocol(protocol=Protocol(**fields), steps=steps or [step], seen=seen, actor=owner)


def make_occlusion(session: TreatmentSession, **fields) -> Occlusion:
    """Opened now by whoever injects."""
    return open_log(
        session=session, key=uuid.uuid4(), clocks=clocks_of(session, **fields), protocol=None,
        actor=session.injector,
    )  # fmt: skip


def make_occlusion_line(
    log: Occlusion, *, what: str, minutes_on: int = 0, **said
) -> OcclusionEntry:
    """A line so many minutes after the log was opened."""
    at = log.at + timedelta(minutes=minutes_on)
    return note_entry(
        occlusion=log, key=uuid.uuid4(), said={"what": what, **said},
        clocks=clocks_of(log.session, at=at), actor=log.session.injector,
    )  # fmt: skip


def clocks_of(session: TreatmentSession, at: datetime | None = None) -> Clocks:
    moment = at or timezone.now()
    return Clocks(at=moment, tablet_at=moment, by=session.injector)


def make_reported_care(actor, patient: Patient, **fields) -> ReportedCare:
    """A vaccine of 20 November 2026."""
    fields = {"kind": "vaccine", "day": date(2026, 11, 20), **fields}
    return report_care(care=ReportedCare(patient=patient, **fields), actor=actor)


SIGNATURE = "[[[20,120],[140,60],[260,130],[380,70]]]"


def make_consent(
    injector, patient: Patient, kind: ConsentKind = ConsentKind.FILLER, **talk
) -> Consent:
    """Given now to the text in force, all ticked and signed."""
    text = text_in_force(kind)
    talk = {
        "discussed_at": timezone.now(), "told_alternatives": True, "told_costs": True,
        "has_capacity": True, "capacity_note": "Said the risks back", **talk,
    }  # fmt: skip
    return take_consent(
        patient=patient, kind=kind, version=text.version,
        ticked=range(1, len(text.wording.risks) + 1), talk=Talk(**talk),
        signing=Signing(patient.full_name, SIGNATURE), actor=injector,
    )  # fmt: skip


def consented(injector, patient: Patient, *kinds: ConsentKind) -> Patient:
    """The patient, who agreed to these kinds just now, or to filler where none is named."""
    for kind in kinds or (ConsentKind.FILLER,):
        make_consent(injector, patient, kind)
    return patient


def refreshed(instance):
    instance.refresh_from_db()
    return instance


def make_appointment(
    actor, patient: Patient, practitioner, starts_at: str, **fields
) -> Appointment:
    """Booked for "2026-12-01 10:00" by the clinic's clock."""
    start = datetime.fromisoformat(starts_at).replace(tzinfo=get_current_timezone())
    fields = {"kind": "consultation", "minutes": 30, **fields}
    appointment = Appointment(
        patient=patient, practitioner=practitioner, starts_at=start.astimezone(UTC), **fields
    )
    return book(appointment=appointment, actor=actor)


def make_waiting_entry(actor, patient: Patient, **fields) -> WaitingEntry:
    """Waits for a treatment from today on."""
    fields = {"kind": "treatment", "first_on": localdate(), **fields}
    return add_entry(entry=WaitingEntry(patient=patient, **fields), actor=actor)


def make_waiting_offer(actor, entry: WaitingEntry, practitioner) -> Offer:
    """Of ten o'clock in ten days, held for two hours from now."""
    now = datetime.now(UTC)
    start = datetime.combine(localdate() + timedelta(days=10), time(10), get_current_timezone())
    visit = {"practitioner": practitioner, "starts_at": start.astimezone(UTC), "minutes": 30}
    held = Appointment.objects.create(
        patient=entry.patient, kind=entry.kind, state="offered",
        held_until=now + timedelta(hours=2), **visit,
    )  # fmt: skip
    freed = FreedTime.objects.create(appointment=held, freed_at=now, freed_by=actor, **visit)
    return Offer.objects.create(
        entry=entry, freed=freed, appointment=held, offered_at=now, offered_by=actor
    )


def make_review(injector, patient: Patient, due_on: date, **fields) -> Review:
    """The open review of a signed session two weeks before; it suits for a week."""
    treated = datetime.combine(due_on, time(10), tzinfo=UTC) - timedelta(days=14)
    session = TreatmentSession.objects.create(
        patient=patient, injector=injector, started_at=treated, signed_at=treated,
        signed_by=injector, signed_name=injector.full_name,
    )  # fmt: skip
    fields = {
        "earliest_on": due_on, "latest_on": due_on + timedelta(days=7),
        "rule": "14 days after the session (clinic policy)", **fields,
    }  # fmt: skip
    review = Review.objects.create(patient=patient, session=session, due_on=due_on, **fields)
    ReviewAsk.objects.create(review=review, session=session)
    ReviewDate.objects.create(
        review=review, earliest_on=review.earliest_on, due_on=due_on, latest_on=review.latest_on,
        cause="scheduled", reason=review.rule, at=treated, by=injector,
    )  # fmt: skip
    return review


def make_review_record(injector, review: Review, **fields) -> ReviewRecord:
    """Seen on the day it was due: nothing to see, no event, no top-up, nobody judged a region."""
    fields = {
        "seen_on": review.due_on, "seen": "Even, soft, no lump.", "has_event": False,
        "top_up": TopUp.NONE, "patient_answer": PatientAnswer.NONE, "by_injector": {}, **fields,
    }  # fmt: skip
    key = fields.pop("key", None) or uuid.uuid4()
    return record_review(review=review, what=Seen(**fields), key=key, actor=injector)


def make_rule(label: str = "First look", **fields) -> ReviewRule:
    """Two weeks after any treatment with filler, in use."""
    fields = {"kind": ProductKind.HA_FILLER, "count": 2, "unit": "week", **fields}
    return ReviewRule.objects.create(label=label, **fields)


def make_template(name: str = "Call us", **fields) -> MailTemplate:
    fields = {
        "subject": "Please call us",
        "body": "Dear {name},\n\nplease call {clinic}.",
        **fields,
    }
    return MailTemplate.objects.create(name=name, **fields)


def make_mailing(actor, patients, *, words: dict | None = None, **fields) -> Mailing:
    """Letters to these patients, started and not yet written."""
    fields = {
        "channel": "letter", "purpose": "Recall R000001", "subject": "Please call us",
        "body": "Dear {name},\n\nplease call us.", **fields,
    }  # fmt: skip
    people = [(patient, words or {}) for patient in patients]
    return start_mailing(people=people, actor=actor, **fields)


def make_message(appointment: Appointment, **fields) -> Message:
    """A confirmation of which nobody knows whether it went."""
    message = new_message(
        key=f"confirmation:{appointment.pk}", kind=MessageKind.CONFIRMATION,
        patient_id=appointment.patient_id, due_at=timezone.now(), until=appointment.starts_at,
        appointment=appointment,
    )  # fmt: skip
    told = {
        "state": "unsure", "route": "sms", "recipient": "+447700900123", "at": timezone.now(),
        "text": "Our clinic: you are booked. To confirm or change: {link}",
        "problem": "The line broke.",
    }  # fmt: skip
    for name, value in {**told, **fields}.items():
        setattr(message, name, value)
    message.save()
    return message


def make_letter_file(mailing: Mailing) -> LetterBatch:
    """A file of letters without the second that printing one takes."""
    return LetterBatch.objects.create(
        mailing=mailing, number=1, letters=1, pdf=b"%PDF", digest="0" * 64,
        written_at=mailing.started_at,
    )  # fmt: skip


def make_access_finding(person: User, patient: Patient, **fields) -> AccessFinding:
    """The person opened the record yesterday, and nobody knows yet why."""
    at = timezone.now() - timedelta(days=1)
    fields = {
        "question": Question.NO_REASON, "day": localdate(at), "key": f"test:{patient.pk}:{at}",
        "reason": "No visit, session, review or task of this patient within 14 days of that day. "
        "Opened at 10:00.",
        "count": 1, "entries": 1, "records": [patient.pk], "first_entry": 1, "last_entry": 1,
        "begins_at": at, "ends_at": at, "found_at": timezone.now(), **fields,
    }  # fmt: skip
    return AccessFinding.objects.create(person=person, patient=patient, **fields)


def make_line(product: Product, **fields) -> PlanLine:
    """A planned 0.6 mL (or 6 units) for the left cheekbone; not saved, and of no stage."""
    fields = {
        "region": "zygomatic", "side": "left", "plane": "supraperiosteal", "technique": "bolus",
        "instrument": "needle", "amount": 600, **fields,
    }  # fmt: skip
    return PlanLine(product=product, **fields)


def make_plan(
    injector, patient: Patient, product: Product, *lines: PlanLine, title: str = "Cheeks"
) -> Plan:
    """An open plan of one stage with these lines, or the left cheekbone and the chin."""
    chosen = list(lines) or [
        make_line(product),
        make_line(product, region="mental", side="midline", amount=200),
    ]
    return start_plan(patient=patient, title=title, actor=injector, lines=chosen)

"""A patient about whom the clinic knows one thing of every kind, the odd ones included."""

import uuid
from datetime import UTC, date, datetime
from types import SimpleNamespace

from django.utils import timezone

from clinic.audit.services import acting
from clinic.products.models import Product
from clinic.staff.models import User
from planning.consents import ConsentKind, Outcome
from planning.outcomes import Improvement, TopUp
from planning.screening import Given, Said
from planning.vocabulary import ProductKind
from planning.warning_signs import WarningSign
from records.adverse_events.enums import Causality, Grade, Seriousness
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import record_event
from records.aftercare.enums import Feeling
from records.aftercare.models import AftercareSheet
from records.aftercare.queries import Content, Section
from records.aftercare.services.checking_in import answer_check_in
from records.comparisons.models import ComparisonSheet
from records.consents.models import Consent, ConsentPaper
from records.consents.services import Talk, note_not_given, withdraw_consent
from records.elsewhere.services import withdraw_care
from records.gates.models import GateDecision
from records.notes.models import ChartNote
from records.occlusions.models import HandoverSheet
from records.outcomes.enums import PatientAnswer
from records.patients.models import Patient
from records.patients.services import end_alert
from records.photographs.enums import Use
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import withdraw_use
from records.plans.models import PlanSummary
from records.screening.enums import Way
from records.screening.services.histories import begin_history, check_history
from records.sessions.enums import Remainder
from records.sessions.models import TreatmentSession
from records.sessions.services.anaesthesia import remove_anaesthesia
from records.sessions.services.points import change_point, remove_point
from records.sessions.services.signing import add_addendum, sign_session
from records.sessions.services.sittings import set_aside_session
from records.sessions.services.tray import put_on_tray
from records.time_out.enums import Item
from records.time_out.services import Answer, note_time_out
from tests.factories import (
    make_alert,
    make_anaesthetic,
    make_appointment,
    make_assessment,
    make_check_in,
    make_consent,
    make_event,
    make_occlusion,
    make_occlusion_line,
    make_patient,
    make_photograph,
    make_picture,
    make_plan,
    make_point,
    make_product,
    make_reported_care,
    make_review,
    make_review_record,
    make_room,
    make_session,
    make_units,
    make_user,
    make_waiting_entry,
    make_waiting_offer,
    point_details,
    refreshed,
)
from tests.records.screening.histories import make_history

GTIN = "09521234543213"
PDF = b"%PDF-1.7 what was printed"


def make_team() -> SimpleNamespace:
    """Under names of their own, beside the people of single tests."""
    people = {
        "desk": make_user("her-desk", is_front_desk=True),
        "injector": make_user("her-injector", is_injector=True),
        "owner": make_user("her-owner", is_owner=True),
    }
    User.objects.filter(pk=people["injector"].pk).update(registration_number="GMC 1234567")
    people["injector"].refresh_from_db()
    return SimpleNamespace(**people)


def make_rich_patient(team: SimpleNamespace) -> Patient:
    patient = make_patient(
        team.desk, "Zoë Żółkiewska-O’Hara", known_as="Zo", sex="female", phone="+447700900123",
        email="zoe@example.org", address="1 Mill Lane\nLarkstone", weight_g=62_500,
        agrees_to_email=True,
    )  # fmt: skip
    _alerts(patient, team)
    visit = _visits(patient, team)
    _asked(patient, team)
    _consents(patient, team)
    signed = make_treated(patient, team, visit)
    _around(signed, team)
    _elsewhere(patient, team)
    _photographs(patient, signed, team)
    _planned(patient, team)
    set_aside_session(session=make_session(team.injector, patient), actor=team.injector)
    _occluded(patient, team)
    _events(patient, signed, team)
    return patient


def _alerts(patient, team) -> None:
    make_alert(team.desk, patient, "No known allergies", kind="none_known", level="note")
    make_alert(team.desk, patient)
    make_alert(team.desk, patient, "Takes a blood thinner", kind="medical", level="caution")
    paid = make_alert(team.desk, patient, "Owes for the last visit", kind="account", level="note")
    end_alert(alert=paid, reason="Paid", actor=team.desk)


def _visits(patient, team):
    room = make_room()
    make_appointment(team.desk, patient, team.injector, "2026-12-02 10:00", room=room)
    gone = make_appointment(team.desk, patient, team.injector, "2026-12-03 10:00", kind="call")
    gone.state, gone.cancel_reason = "cancelled", "Is abroad"
    gone.save()
    seen = make_appointment(team.desk, patient, team.injector, "2026-11-20 10:00", kind="review")
    seen.state = "done"
    seen.save()
    make_waiting_offer(team.desk, make_waiting_entry(team.desk, patient), team.injector)
    return make_appointment(team.desk, patient, team.injector, "2026-11-25 09:30", kind="treatment")


def _asked(patient, team) -> None:
    told = Given(Said.YES, "In 2019")
    history = make_history(team.injector, patient, cold_sores=told, pregnant=Given(Said.UNSURE))
    check_history(form=history, note="Read with her", actor=team.injector)
    begin_history(patient=patient, way=Way.STAFF, actor=team.injector)
    begin_history(patient=patient, way=Way.TABLET, actor=team.injector)


def _consents(patient, team) -> None:
    filler = make_consent(team.injector, patient, questions="Will it hurt? A little.")
    _paper(filler)
    withdraw_consent(consent=filler, reason="Changed her mind", actor=team.injector)
    _paper(refreshed(filler))
    make_consent(team.injector, patient)
    make_consent(team.injector, patient, ConsentKind.PHOTOGRAPHS)
    talk = Talk(
        discussed_at=timezone.now(), told_alternatives=True, told_costs=False, has_capacity=None
    )  # fmt: skip
    note_not_given(
        patient=patient, kind=ConsentKind.TOXIN, outcome=Outcome.REFUSED, reason="Wants to think",
        talk=talk, actor=team.injector,
    )  # fmt: skip


def _paper(consent: Consent) -> None:
    ConsentPaper.objects.create(
        consent=consent, shows_withdrawal=consent.is_withdrawn, pdf=PDF, digest="a" * 64,
        made_at=timezone.now(),
    )  # fmt: skip


def make_shelf(team) -> SimpleNamespace:
    """A syringe with a code, one without, a vial of toxin, one of hyaluronidase, an anaesthetic."""
    products = {
        "filler": make_product(gtin=GTIN),
        "plain": make_product("Filler without a code", kind=ProductKind.OTHER_FILLER),
        "toxin": make_product("Toxin 100", kind=ProductKind.TOXIN, content=10_000,
                              lidocaine_ug_per_ml=0, gtin="09521234543220"),
        "melt": make_product("Hyaluronidase 1500", kind=ProductKind.HYALURONIDASE,
                             content=150_000, lidocaine_ug_per_ml=0),
        "numb": make_product("Lidocaine 1 %", kind=ProductKind.ANAESTHETIC, content=2_000,
                             lidocaine_ug_per_ml=10_000),
    }  # fmt: skip
    units = {
        name: make_units(team.owner, product, number=f"LOT-{name}", quantity=1)[0]
        for name, product in products.items()
    }
    return SimpleNamespace(**units)


def make_treated(patient, team, visit=None) -> TreatmentSession:
    """Points of every product, one of them removed and one changed; signed, with two addenda."""
    shelf = make_shelf(team)
    session = make_session(team.injector, patient, appointment=visit)
    for unit in (shelf.filler, shelf.plain, shelf.melt, shelf.numb):
        put_on_tray(session=session, unit=unit, actor=team.injector)
    put_on_tray(session=session, unit=shelf.toxin, diluent="saline", diluent_ul=2_500,
                actor=team.injector)  # fmt: skip
    _points(session, shelf, team)
    make_anaesthetic(session)
    make_anaesthetic(session, method="topical", product="Cream 5 %", lidocaine_ug_per_ml=50_000)
    make_anaesthetic(session, method="topical", product="Cold spray", lidocaine_ug_per_ml=0,
                     with_epinephrine=False)  # fmt: skip
    wrong = make_anaesthetic(session, method="infiltration", lidocaine_ug_per_ml=0)
    remove_anaesthesia(anaesthesia=wrong, actor=team.injector)
    make_picture(session)
    with acting(team.injector) as trail:
        answers = [Answer(Item.IDENTITY, True), Answer(Item.PHOTOGRAPHS, False, "None wanted")]
        note_time_out(session=session, key=uuid.uuid4(), answers=answers, at=timezone.now(),
                      by=team.injector, trail=trail)  # fmt: skip
    GateDecision.objects.create(
        patient=patient, session=session, gate="consent", title="No consent", how="go_on",
        can_be_decided=True, reason="Given aloud", decided_by=team.injector,
        decided_at=timezone.now(),
    )  # fmt: skip
    rest = {row.unit_id: Remainder.WASTED for row in session.tray.all()}
    signed = sign_session(session=session, remainders=rest, actor=team.injector)
    first = signed.points.first()
    add_addendum(session=signed, reason="Asked", text="She felt well.", actor=team.injector)
    add_addendum(session=signed, reason="Slip", text="It was the right side.", point=first,
                 actor=team.injector)  # fmt: skip
    for addenda in (0, 2):
        ChartNote.objects.create(session=signed, addenda=addenda, pdf=PDF, digest="b" * 64,
                                 made_at=timezone.now())  # fmt: skip
    return signed


def _points(session: TreatmentSession, shelf: SimpleNamespace, team) -> None:
    make_point(session, shelf.filler)
    make_point(session, shelf.filler, amount=125, x_dmm=-500, deviation="Patient asked for more")
    wrong = make_point(session, shelf.filler, amount=300)
    remove_point(point=wrong, actor=team.injector)
    slip = make_point(session, shelf.plain, amount=100, region="mental", side="midline")
    details = point_details(shelf.plain, amount=150, region="mental", side="midline")
    change_point(point=slip, details=details, actor=team.injector)
    make_point(session, shelf.toxin, amount=400, plane="intramuscular")
    make_point(session, shelf.toxin, amount=250, plane="intramuscular", x_dmm=-500)
    make_point(session, shelf.melt, amount=15_000)
    make_point(session, shelf.numb, amount=500, plane="subcutaneous")


def _around(signed: TreatmentSession, team) -> None:
    """What comes after a treatment: sheets, the question of the day after, its review."""
    sections = (Section("filler", "After filler", 0, ("Rest.",), ("Pain",), ("As taught",)),)
    told = {
        "session": signed, "content": Content("999", "", sections, ()).as_json(),
        "given_at": timezone.now(), "given_by": team.injector,
    }  # fmt: skip
    AftercareSheet.objects.create(way="printed", pdf=PDF, digest="c" * 64, **told)
    AftercareSheet.objects.create(way="shown", reference="r", token_digest="d" * 64, **told)
    answer_check_in(
        check_in=make_check_in(signed), feeling=Feeling.WORRIED, signs=[WarningSign.LUMP],
        note="A small lump",
    )  # fmt: skip
    review = make_review(team.injector, signed.patient, date(2026, 11, 24))
    graded = {
        "by_injector": {"zygomatic": Improvement.MUCH},
        "by_patient": {"zygomatic": Improvement.IMPROVED},
        "patient_answer": PatientAnswer.ASKED, "satisfaction": 8, "top_up": TopUp.WAIT,
    }  # fmt: skip
    make_review_record(team.injector, review, **graded)
    make_review_record(team.injector, review, why_again="Other side", **graded)
    make_assessment(team.injector, signed.patient, note="Thin skin")


def _elsewhere(patient, team) -> None:
    had = [
        {"kind": "vaccine"},
        {"kind": "vaccine", "day": None, "precision": "unknown"},
        {"kind": "toxin", "precision": "month", "day": date(2026, 3, 1), "centiunits": 4_000},
        {"kind": "filler", "precision": "year", "day": date(2020, 1, 1), "family": "permanent",
         "region": "upper_lip"},
        {"kind": "surgery", "day": None, "precision": "unknown", "note": "As a child"},
    ]  # fmt: skip
    care = [make_reported_care(team.injector, patient, **fields) for fields in had]
    withdraw_care(care=care[-1], reason="Her sister", actor=team.injector)


def _photographs(patient, signed, team) -> None:
    shown = make_photograph(team.injector, patient, session=signed)
    withdraw_use(photograph=shown, use=Use.TEACHING, actor=team.injector)
    ComparisonSheet.objects.create(first=shown, side="left", use=Use.RECORD, pdf=PDF,
                                   digest="9" * 64, made_at=timezone.now(),
                                   made_by=team.injector)  # fmt: skip
    other = make_photograph(team.injector, patient, uses={Use.RECORD: date(2030, 1, 1)})
    take_out_photograph(photograph=other, reason="Another patient", actor=team.injector)


def _planned(patient, team) -> None:
    toxin = make_product("Toxin for plans", kind=ProductKind.TOXIN, content=10_000)
    plan = make_plan(team.injector, patient, toxin)
    PlanSummary.objects.create(
        plan=plan, number=1, pdf=PDF, digest="e" * 64, total=18_000, currency="EUR",
        issued_at=plan.made_at, issued_by=team.injector,
    )  # fmt: skip


def _occluded(patient, team) -> None:
    """An unsigned session with a log that ended in nothing yet, and one opened by mistake."""
    product = make_product("Filler of the occlusion")
    unit = make_units(team.owner, product, number="OCC", quantity=1)[0]
    session = make_session(team.injector, patient)
    put_on_tray(session=session, unit=unit, actor=team.injector)
    make_point(session, unit)
    log = make_occlusion(session)
    melt = Product.objects.get(name="Hyaluronidase 1500")
    vial = make_units(team.owner, melt, number="HY-2", quantity=1)[0]
    lines = [
        {"what": "refill", "refill_tenths": 45, "other_tenths": 20},
        {"what": "pain", "pain": 7},
        {"what": "signs", "signs": ["pallor"]},
        {"what": "dose", "dose_centiunits": 50_000, "diluent_ul": 1_000, "unit": vial.pk,
         "region": "zygomatic", "side": "left"},
        {"what": "dose", "dose_centiunits": 25_050, "lot": "LENT-1"},
        {"what": "massage"},
        {"what": "call", "whom": "Eye department", "text": "On their way"},
    ]  # fmt: skip
    for minutes, line in enumerate(lines, start=1):
        make_occlusion_line(log, minutes_on=minutes, **line)
    HandoverSheet.objects.create(occlusion=log, entries=7, pdf=PDF, digest="f" * 64,
                                 made_at=timezone.now())  # fmt: skip
    mistaken = make_occlusion(session)
    make_occlusion_line(mistaken, what="dose", dose_centiunits=100)
    make_occlusion_line(mistaken, what="discarded")


def _events(patient, signed, team) -> None:
    """By points, by lot, by product, by sitting alone, and with nothing that is suspected."""
    points = list(signed.points.filter(removed_at=None))
    unit = points[0].unit
    wide = AdverseEvent(
        patient=patient, session=signed, lot=unit.lot, unit=unit, region="zygomatic", side="left",
        onset_on=date(2026, 11, 28), grade=Grade.SEVERE, signs="Pale, cold skin.",
        seriousness=Seriousness.IMPORTANT, causality=Causality.PROBABLE, actions="Dissolved.",
    )  # fmt: skip
    record_event(event=wide, points=points[:4], actor=team.injector)
    make_event(team.injector, patient, lot=points[3].unit.lot, causality=Causality.POSSIBLE)
    make_event(team.injector, patient, product=points[0].unit.lot.product)
    make_event(team.injector, patient, session=signed)
    make_event(team.injector, patient, causality=Causality.UNASSESSABLE)


def clock() -> datetime:
    """The afternoon of the treatment; London has no summer time then."""
    return datetime(2026, 11, 25, 15, 0, tzinfo=UTC)

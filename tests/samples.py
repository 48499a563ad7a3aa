"""One of each thing that an address can name, and the addresses of `tests.access_table`."""

import uuid
from datetime import date
from types import SimpleNamespace

from django.urls import get_resolver, reverse
from django.urls.resolvers import URLPattern
from django.utils import timezone

from clinic.access.enums import Role
from clinic.audit_heads.services import write_head
from clinic.background.presence import note_seen
from clinic.counts.enums import CountScope
from clinic.counts.models import CountedExtra
from clinic.counts.services.counting import save_extra, start_count
from clinic.fridges.services import log_reading
from clinic.products.models import Product
from clinic.review_rules.models import EffectDuration
from clinic.staff.models import User
from planning.outcomes import TopUp
from planning.vocabulary import ProductKind
from planning.warning_signs import WarningSign
from records.aftercare.enums import Feeling
from records.aftercare.models import AftercareSheet
from records.aftercare.queries import Content
from records.aftercare.services.checking_in import answer_check_in
from records.calendars.services.feeds import make_feed
from records.charting.queries.reference import reference_seal
from records.comparisons.models import ComparisonSheet
from records.occlusions.models import Occlusion
from records.patients.models import Patient
from records.plans.models import PlanSummary
from records.plans.services.plans import add_stage
from records.plans.services.templates import save_as_template
from records.recalls.models import CaseCheck
from records.recalls.services.checks import draw_checks
from records.reminders.enums import AnswerKind
from records.reminders.services.answering import answer_by
from records.reminders.tokens import digest_of, token_of
from records.reviews.services.acts import mark_done
from records.screening.enums import Way
from records.screening.models import ScreeningRule
from records.screening.services.histories import begin_history
from records.screening.services.links import make_link
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import sign_session
from records.whole_record.enums import Purpose
from records.whole_record.models import WholeRecord
from tests.access_table import TABLE
from tests.factories import (
    make_absence,
    make_access_finding,
    make_alert,
    make_anaesthetic,
    make_appointment,
    make_assessment,
    make_atlas_entry,
    make_check_in,
    make_closure,
    make_consent,
    make_emergency_item,
    make_event,
    make_fridge,
    make_letter_file,
    make_mailing,
    make_message,
    make_occlusion,
    make_occlusion_line,
    make_patient,
    make_photograph,
    make_picture,
    make_plan,
    make_point,
    make_product,
    make_protocol,
    make_quarantine,
    make_receipt,
    make_reported_care,
    make_review,
    make_review_record,
    make_room,
    make_rule,
    make_session,
    make_session_with_unit,
    make_template,
    make_units,
    make_user,
    make_waiting_entry,
    make_waiting_offer,
    make_working_time,
)
from tests.records.recalls.cases import PDF, make_case, span, treat
from tests.records.screening.histories import YES, make_history


def _all_routes(patterns) -> list[URLPattern]:
    found = []
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            found.append(pattern)
        else:
            found.extend(_all_routes(pattern.url_patterns))
    return found


ROUTES = _all_routes(get_resolver().url_patterns)


def make_people() -> dict[Role, User]:
    """One member of staff per role."""
    return {
        Role.FRONT_DESK: make_user("desk"),
        Role.INJECTOR: make_user("injector"),
        Role.OWNER: make_user("owner"),
    }


def make_samples(
    people: dict[Role, User],
    *,
    patient_name: str = "Ann Example",
    product_name: str = "HA filler 1 mL",
    place_name: str = "Fridge",
) -> dict:
    """The things that the arguments in `tests.access_table` name."""
    note_seen()
    injector, owner = people[Role.INJECTOR], people[Role.OWNER]
    patient = make_patient(people[Role.FRONT_DESK], patient_name)
    product = make_product(product_name, gtin="09521234543213")
    unit, spare = make_units(owner, product, quantity=2)
    stopped = make_product(f"{product_name}, stopped")
    make_units(owner, stopped, number="Q12")
    receipt = make_receipt(owner, stopped)
    session = make_session_with_unit(injector, patient, unit)
    point = make_point(session, unit)
    appointment = make_appointment(injector, patient, injector, "2026-12-01 10:00")
    review = make_review(injector, patient, date(2026, 12, 1))
    closed_review = make_review(injector, patient, date(2026, 11, 24))
    mark_done(review=closed_review, actor=injector)
    # Of somebody else: a patient has one unsigned session at most.
    newcomer = make_patient(people[Role.FRONT_DESK], f"{patient_name} Newcomer")
    # A lot of its own: the others go on being used.
    recalled, *_ = make_units(owner, product, number="LOT7", quantity=2)
    affected = make_patient(injector, f"{patient_name} Affected")
    treat(injector, affected, recalled)
    recall = make_case(owner, span(product, "LOT7"), file=("letter.pdf", PDF))
    draw_checks(case=recall, actor=owner)
    mailing = make_mailing(owner, [patient])
    message = make_message(appointment)
    signed = sign_session(session=make_session(injector, newcomer), remainders={}, actor=injector)
    waiting = make_waiting_entry(people[Role.FRONT_DESK], patient)
    photograph = make_photograph(injector, patient)
    later_photograph = make_photograph(injector, patient)
    offer = make_waiting_offer(people[Role.FRONT_DESK], waiting, injector)
    return {
        "patient": patient,
        "photograph": photograph,
        "whole_record": _handed_out(injector, patient),
        "later_photograph": later_photograph,
        "treated": SimpleNamespace(side="right"),
        "comparison_sheet": ComparisonSheet.objects.create(
            first=photograph,
            second=later_photograph,
            use="record",
            pdf=PDF,
            digest="0" * 64,
            made_at=timezone.now(),
            made_by=injector,
        ),
        "photograph_use": photograph.uses.first(),
        "waiting_entry": waiting,
        "waiting_offer": offer,
        "freed_time": offer.freed,
        "newcomer": newcomer,
        "appointment": appointment,
        "calendar": SimpleNamespace(secret=make_feed(person=injector, actor=injector)),
        "review": review,
        "closed_review": closed_review,
        "review_record": make_review_record(injector, closed_review, top_up=TopUp.TOP_UP),
        "reported_care": make_reported_care(injector, patient),
        "alert": make_alert(people[Role.FRONT_DESK], patient),
        "consent": make_consent(injector, patient),
        "product": product,
        "unit": unit,
        "spare": spare,
        "lot": unit.lot,
        "receipt": receipt,
        "quarantine": make_quarantine(owner, stopped, lot_first="Q10", lot_last="Q20"),
        "session": session,
        "signed": signed,
        "point": point,
        "picture": make_picture(session),
        "anaesthetic": make_anaesthetic(session),
        **_planned(injector, newcomer, product),
        "reference": SimpleNamespace(seal=reference_seal()),
        "message": message,
        "answer": answer_by(message=message, kind=AnswerKind.CHANGE, note="Later, please"),
        "link": SimpleNamespace(token=token_of(message.reference)),
        "wording": SimpleNamespace(kind="confirmation", route="sms"),
        "mailing": mailing,
        "letter_file": make_letter_file(mailing),
        "failed_item": mailing.items.get(),
        "mail_template": make_template(),
        "user": injector,
        "closure": make_closure(owner),
        **_diary_set_up(injector),
        "review_rule": make_rule(),
        "emergency_item": make_emergency_item(),
        "audit_head": write_head(timezone.now()),
        "access_finding": make_access_finding(injector, patient),
        "duration": EffectDuration.objects.create(
            kind=ProductKind.HA_FILLER, least_months=6, most_months=12
        ),
        "occlusion": _logged(session),
        "protocol": make_protocol(owner),
        "event": make_event(injector, patient, lot=unit.lot),
        "recall": recall,
        "check": CaseCheck.objects.get(),
        "notice": recall.files.get(),
        "person": recall.people.get(),
        "pulled": recall.units.first(),
        "found_event": make_event(owner, affected),
        "assessment": make_assessment(injector, patient),
        "atlas_entry": make_atlas_entry(owner),
        "supplied": SimpleNamespace(key="temple.amount.filler"),
        **_at_the_shelf(injector, product, place_name),
        **_asked(injector, patient, newcomer, affected),
        **_aftercare(injector, session),
    }


def _aftercare(injector: User, session: TreatmentSession) -> dict:
    """Two sheets of a session, the question of the day after, and a worry."""
    content = Content("020 7946 0123", "", (), ()).as_json()
    told = {"session": session, "content": content, "given_at": timezone.now()}
    told |= {"given_by": injector}
    printed = AftercareSheet.objects.create(way="printed", pdf=PDF, digest="0" * 64, **told)
    reference = uuid.uuid4().hex
    token = token_of(reference)
    shown = AftercareSheet.objects.create(
        way="shown", reference=reference, token_digest=digest_of(token), **told
    )
    check_in = make_check_in(session)
    worry = answer_check_in(
        check_in=check_in, feeling=Feeling.WORRIED, signs=[WarningSign.LUMP], note="A small lump"
    )
    return {
        "sheet": shown,
        "sheet_link": SimpleNamespace(token=token),
        "printed_sheet": printed,
        "check_in_link": SimpleNamespace(token=token_of(check_in.message.reference)),
        "worry": worry,
        "advice": SimpleNamespace(kind="filler"),
    }


def _asked(injector: User, patient: Patient, newcomer: Patient, affected: Patient) -> dict:
    """Medical histories: one that was given, and one that waits in each way."""
    history = make_history(injector, patient, cold_sores=YES)
    link = make_link(patient=patient, actor=injector)
    return {
        "history": history,
        "waiting_history": begin_history(patient=newcomer, way=Way.STAFF, actor=injector),
        "tablet_history": begin_history(patient=affected, way=Way.TABLET, actor=injector),
        "history_link": SimpleNamespace(pk=link.pk, token=token_of(link.reference)),
        "screening_rule": ScreeningRule.objects.first(),
    }


def _handed_out(injector: User, patient: Patient) -> WholeRecord:
    """A whole record that was made."""
    now = timezone.now()
    return WholeRecord.objects.create(
        patient=patient, purpose=Purpose.PATIENT, recipient="Ann Example", asked_at=now,
        asked_by=injector, made_at=now, pdf=PDF, digest="0" * 64,
    )  # fmt: skip


def _logged(session: TreatmentSession) -> Occlusion:
    """Put aside: one that runs would cover the charting screen."""
    log = make_occlusion(session)
    make_occlusion_line(log, what="refill", refill_tenths=40, other_tenths=20)
    make_occlusion_line(log, what="discarded")
    return log


def _planned(injector: User, patient: Patient, product: Product) -> dict:
    """An open plan of two stages, its template, and what the patient was given in writing."""
    plan = make_plan(injector, patient, product)
    last = add_stage(plan=plan, weeks_after=2, actor=injector)
    summary = PlanSummary.objects.create(
        plan=plan, number=1, pdf=PDF, digest="0" * 64, total=18_000, currency="EUR",
        issued_at=plan.made_at, issued_by=injector,
    )  # fmt: skip
    template = save_as_template(plan=plan, name=f"Of {product}", actor=injector)
    return {
        "plan": plan,
        "plan_stage": last,
        "plan_line": plan.stages.get(number=1).lines.first(),
        "plan_summary": summary,
        "plan_template": template,
        "template_line": template.lines.first(),
    }


def _diary_set_up(injector: User) -> dict:
    """A room, hours that begin after everything else here, and leave after those."""
    room = make_room()
    time = make_working_time(injector, room.site, from_on=date(2031, 1, 1))
    return {"room": room, "working_time": time, "absence": make_absence(person=injector)}


def _at_the_shelf(injector: User, product: Product, place_name: str) -> dict:
    """A fridge with a unit in it and a reading out of range, and a count of it under way."""
    fridge = make_fridge(place_name)
    make_units(injector, product, number="COLD7", quantity=1, place=fridge)
    reading = log_reading(
        place=fridge, temperature=93, done="Door closed, maker asked", actor=injector
    )
    count = start_count(scope=CountScope.PLACE, place=fridge, actor=injector)
    extra = CountedExtra(
        count=count, product=product, number="EXTRA1", quantity=1, expires_on=date(2030, 6, 30)
    )
    save_extra(extra=extra, actor=injector)
    return {"fridge": fridge, "reading": reading, "count": count, "extra": extra}


def address(name: str, samples: dict) -> str:
    """Where the route of this name leads, with its sample arguments."""
    kwargs = {}
    for argument, path in TABLE[name].args.items():
        sample, attribute = path.split(".")
        kwargs[argument] = getattr(samples[sample], attribute)
    return reverse(name, kwargs=kwargs)

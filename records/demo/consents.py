"""The demo's consents: talked about two weeks before, and taken where none is in force."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import partial

from django.utils import timezone

from clinic.staff.models import User
from planning.consents import kinds_for
from planning.vocabulary import ProductKind
from records.consents.queries import standings, text_in_force
from records.consents.services import Signing, Talk, take_consent
from records.demo.clinic import at
from records.demo.desk import TODAYS_PATIENTS
from records.demo.story import Story
from records.gates.services import Decision, decide
from records.patients.models import Patient
from records.plans.queries.plans import kinds_planned
from records.sessions.queries.gates import gates_of

TALKED_DAYS_BEFORE = 14
# By their place in today's list; both were never treated here.
NOT_ASKED, STILL_THINKING = 16, 18
_BOTH = frozenset({ProductKind.HA_FILLER, ProductKind.TOXIN})
_STROKES = "[[[18,110],[70,40],[120,125],[175,60]],[[190,105],[260,80],[330,118],[395,72]]]"


def agree(
    patient: Patient, kinds: Iterable[ProductKind], injector: User, discussed_at: datetime
) -> None:
    """Consents to these kinds of product and to those planned, where they are not given yet."""
    now = timezone.now()
    held = standings(patient, now)
    planned = kinds_planned([patient.pk], timezone.localdate(now)).get(patient.pk, frozenset())
    for kind in kinds_for(planned.union(kinds)):
        if held[kind].is_given:
            continue
        text = text_in_force(kind)
        take_consent(
            patient=patient,
            kind=kind,
            version=text.version,
            ticked=range(1, len(text.wording.risks) + 1),
            talk=Talk(
                discussed_at=discussed_at,
                told_alternatives=True,
                told_costs=True,
                has_capacity=True,
                capacity_note="Said in own words what is done and what can go wrong",
            ),
            signing=Signing(patient.full_name, _STROKES),
            actor=injector,
        )


def decided(patient: Patient) -> list[Decision]:
    """About what stops a treatment now: the history is known, and the injector goes on."""
    stops = [gate for gate in gates_of(patient, timezone.now()) if gate.is_stop]
    reason = "Talked over with the patient: cannula, small amounts, hyaluronidase at hand"
    return decide(stops, reason=reason, is_done=False)


def plan_consents(story: Story) -> None:
    """Of who comes today: one still has time to think, one was not asked, all others agreed."""
    for number in range(TODAYS_PATIENTS):
        if number != NOT_ASKED:
            day = story.today - timedelta(days=3 if number == STILL_THINKING else 2)
            act = partial(_agree_for_today, story, number, day)
            story.diary.note(at(day, 15, 2 * number), act)


def _agree_for_today(story: Story, number: int, day: date) -> None:
    patient, injector = story.patients[number - TODAYS_PATIENTS], story.clinic.injectors[number % 2]
    if number == STILL_THINKING:
        agree(patient, {ProductKind.HA_FILLER}, injector, at(day, 14, 30))
    else:
        agree(patient, _BOTH, injector, at(day - timedelta(days=TALKED_DAYS_BEFORE), 15))

"""The demo's recalls: a drill that is done, and a maker's letter that is being worked through."""

from datetime import timedelta
from functools import partial

from django.utils import timezone

from clinic.stock.enums import MovementKind
from records.demo.clinic import fixture
from records.demo.story import Story
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome
from records.recalls.models import CasePatient, CaseSpan, RecallCase
from records.recalls.services.cases import open_case
from records.recalls.services.closing import close_case
from records.recalls.services.lists import complete_list
from records.recalls.services.people import note_contact
from records.recalls.services.pulling import let_go, note_not_found, set_apart

DRILLED = {"product": "firm", "number": "7741"}
# What comes of one call after another.
CALLS = [
    (Channel.PHONE, ContactOutcome.INFORMED, "Feels well; knows whom to ring."),
    (Channel.PHONE, ContactOutcome.NO_ANSWER, ""),
    (Channel.PHONE, ContactOutcome.INFORMED, "Asks for an appointment."),
    (Channel.PHONE, ContactOutcome.MESSAGE_LEFT, "Asked to ring back."),
    (Channel.EMAIL, ContactOutcome.SENT, ""),
]


def run_drill(story: Story) -> None:
    """Begun by the owner two minutes ago on a lot that two products share the number of."""
    now = timezone.now()
    case = _open(
        story,
        DRILLED,
        RecallCase(
            is_drill=True,
            reference="Yearly drill",
            text="A drill, as if the maker had recalled lot 7741 of the 1 mL syringe today.",
            received_at=now - timedelta(minutes=2),
        ),
    )
    owner = story.clinic.staff["owner"]

    def tick() -> None:
        units = case.units.values_list("pk", flat=True)
        set_apart(case=case, units=list(units), actor=owner)

    def close() -> None:
        note = "The list stood in good time. Next time the pull list is printed first."
        close_case(case=case, note=note, explanations={}, actor=owner)

    story.diary.note(now + timedelta(minutes=12), partial(complete_list, case=case, actor=owner))
    story.diary.note(now + timedelta(minutes=26), tick)
    story.diary.note(now + timedelta(minutes=33), close)


def receive_notice(story: Story) -> None:
    """A letter names a lot; a quarter of an hour later the case is open, and people are called."""
    now = timezone.now()
    row = next(row for row in fixture("clinic")["lots"] if "recall" in row)
    said = row["recall"]
    case = _open(
        story,
        row,
        RecallCase(
            reference=said["reference"],
            recall_class=said["class"],
            text=said["text"],
            received_at=now - timedelta(minutes=15),
            expected_end_on=story.today + timedelta(days=9),
        ),
    )
    owner, note = story.clinic.staff["owner"], story.diary.note
    note(now + timedelta(minutes=22), partial(complete_list, case=case, actor=owner))
    note(now + timedelta(hours=17), partial(_pull, case, owner))
    note(now + timedelta(days=2), partial(_return_some, case, owner))
    # One in three is still to be called.
    people = [person for n, person in enumerate(case.people.order_by("pk")) if n % 3 != 2]
    for number, person in enumerate(people):
        call = CALLS[number % len(CALLS)]
        note(now + timedelta(hours=18, minutes=6 * number), partial(_call, person, call, owner))


def _open(story: Story, row: dict, case: RecallCase) -> RecallCase:
    product = story.clinic.products[row["product"]]
    case.maker, case.notice_on = product.maker, timezone.localdate(case.received_at)
    span = CaseSpan(product=product, lot_first=row["number"])
    return open_case(case=case, spans=[span], actor=story.clinic.staff["owner"])


def _pull(case: RecallCase, owner) -> None:
    """The next morning: all are found but one, and a few are left for the afternoon."""
    units = list(case.units.order_by("pk").values_list("pk", flat=True))
    if units:
        note_not_found(
            case=case, unit=units[-1], looked_in="Cupboard, both rooms, the returns box",
            actor=owner,
        )  # fmt: skip
    set_apart(case=case, units=units[: len(units) * 2 // 3], actor=owner)


def _return_some(case: RecallCase, owner) -> None:
    apart = case.units.filter(pulled_at__isnull=False).still_here().order_by("pk")
    sealed = apart.filter(unit__state="in_stock").values_list("pk", flat=True)
    if units := list(sealed[:4]):
        let_go(
            case=case, units=units, kind=MovementKind.RETURNED, witness="Marlies Okonjo",
            reason="Parcel to the maker", actor=owner,
        )  # fmt: skip


def _call(person: CasePatient, call: tuple[Channel, ContactOutcome, str], owner) -> None:
    channel, outcome, note = call
    note_contact(person=person, channel=channel, outcome=outcome, note=note, actor=owner)

"""Closing: what is open is explained, and from then on nothing changes."""

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from records.mailings.models import Mailing
from records.patients.enums import Channel
from records.recalls.enums import CheckResult, ContactOutcome
from records.recalls.errors import CaseClosed, StillOpen
from records.recalls.models import CaseCheck, CaseContact, CaseMailing
from records.recalls.queries.closing import open_things
from records.recalls.queries.extent import extent_of
from records.recalls.services.closing import close_case, content_digest
from records.recalls.services.lists import complete_list
from records.recalls.services.people import attach_event, note_contact
from records.recalls.services.pulling import let_go, note_not_found, set_apart
from tests.factories import make_event, make_product, make_units, refreshed
from tests.records.recalls.cases import make_case, person_of, span

pytestmark = pytest.mark.django_db


def titles(case) -> list[str]:
    return [thing.title for thing in open_things(case, extent_of(case))]


def keys(case) -> list[str]:
    return [thing.key for thing in open_things(case, extent_of(case))]


def explained(case) -> dict[str, str]:
    return dict.fromkeys(keys(case), "Because")


def work_through(case, owner) -> None:
    """Everybody told, every unit returned, every patient checked."""
    complete_list(case=case, actor=owner)
    for person in case.people.all():
        note_contact(
            person=person, channel=Channel.PHONE, outcome=ContactOutcome.INFORMED, actor=owner
        )
        CaseCheck.objects.create(
            person=person, position=person.pk, result=CheckResult.EFFECTIVE, at=timezone.now(),
            by=owner,
        )  # fmt: skip
    rows = list(case.units.values_list("pk", flat=True))
    set_apart(case=case, units=rows, actor=owner)
    let_go(
        case=case, units=rows, kind=MovementKind.RETURNED, witness="Dora Desk", reason="Sent",
        actor=owner,
    )  # fmt: skip


def test_a_case_worked_through_closes_without_a_word(owner, case):
    work_through(case, owner)
    assert titles(refreshed(case)) == []
    owner.registration_number = "Register 9"
    closed = close_case(case=case, note="", explanations={}, actor=owner)
    assert (closed.closed_name, closed.closing_note) == ("Olga Owner, Register 9", "")
    assert refreshed(closed).closed_digest == content_digest(refreshed(closed))
    assert AuditEvent.objects.filter(action="recall.closed").get().actor == owner


def test_everything_that_is_open_is_named_in_the_order_of_the_work(owner, case, treated, product):
    make_units(owner, make_product("Other filler 1 mL"), number="LOT42")
    first, *_ = case.units.values_list("pk", flat=True)
    note_not_found(case=case, unit=first, looked_in="Fridge", actor=owner)
    attach_event(case=case, event=make_event(owner, treated[0]), actor=owner)
    mailing = Mailing.objects.create(
        channel="letter", purpose="Recall", subject="A", body="B", started_at=timezone.now(),
        started_by=owner,
    )  # fmt: skip
    CaseMailing.objects.create(case=case, mailing=mailing)
    assert titles(case) == [
        "The call list was not called complete",
        "2 units are neither set apart nor looked for",
        "1 unit was not where it should be",
        "Lots that may be meant as well: LOT42 of Other filler 1 mL",
        "2 of 2 patients not reached",
        "Effectiveness check: 0 of 2 checked",
        "1 mailing is not finished",
        "1 adverse event found in the case is still open",
    ]


def test_what_is_open_is_explained_or_the_case_stays_open(owner, case):
    complete_list(case=case, actor=owner)
    with pytest.raises(StillOpen, match="2 of 2 patients not reached") as refusal:
        close_case(case=case, note="Done", explanations={"to_pull": "Lost"}, actor=owner)
    assert [thing.key for thing in refusal.value.things] == ["people", "checks"]
    assert refreshed(case).is_open
    said = {"to_pull": "Lost in the move", "people": "Both abroad", "checks": "Nobody to ask"}
    close_case(case=case, note="Done", explanations=said, actor=owner)
    assert refreshed(case).closing_note.splitlines() == [
        "Done",
        "3 units are neither set apart nor looked for: Lost in the move",
        "2 of 2 patients not reached: Both abroad",
        "Effectiveness check: 0 of 2 checked: Nobody to ask",
    ]


def test_a_drill_is_done_with_its_lists(owner, drill):
    assert keys(drill) == ["list", "to_pull"]
    complete_list(case=drill, actor=owner)
    rows = list(drill.units.values_list("pk", flat=True))
    set_apart(case=drill, units=rows, actor=owner)
    closed = close_case(case=drill, note="In 14 minutes", explanations={}, actor=owner)
    assert refreshed(closed).closing_note == "In 14 minutes"


def test_closed_once_and_for_good(owner, case, treated):
    close_case(case=case, note="", explanations=explained(case), actor=owner)
    with pytest.raises(CaseClosed, match="R0001 is closed and never changes"):
        close_case(case=case, note="", explanations={}, actor=owner)
    with pytest.raises(CaseClosed):
        note_contact(
            person=person_of(case, treated[0]), channel=Channel.PHONE,
            outcome=ContactOutcome.INFORMED, actor=owner,
        )  # fmt: skip
    for act in (
        lambda: complete_list(case=case, actor=owner),
        lambda: set_apart(case=case, units=[], actor=owner),
    ):
        with pytest.raises(CaseClosed):
            act()
    assert not CaseContact.objects.exists()


def test_the_digest_covers_what_was_done(owner, case, product, treated):
    before = content_digest(case)
    note_contact(
        person=person_of(case, treated[0]), channel=Channel.EMAIL, outcome=ContactOutcome.SENT,
        actor=owner,
    )  # fmt: skip
    told = content_digest(case)
    set_apart(case=case, units=case.units.values_list("pk", flat=True)[:1], actor=owner)
    assert len({before, told, content_digest(case)}) == 3
    other = make_case(owner, span(product, "LOT9"))
    assert content_digest(other) != before

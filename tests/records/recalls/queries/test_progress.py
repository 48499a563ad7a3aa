"""
Where a case stands. The seven figures: FDA, "Product Recalls" guidance, March 2020, what a status
report counts; the shares of levels A to E: 21 CFR 7.42(b)(3), read second-hand.
"""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clinic.stock.enums import MovementKind
from clinic.stock.services import discard_remainder, lock_unit, move_unit, take_out_of_stock
from records.patients.enums import Channel
from records.recalls.enums import CheckResult, ContactOutcome
from records.recalls.models import CaseCheck, RecallCase
from records.recalls.queries.cases import case_rows, open_recalls
from records.recalls.queries.extent import extent_of
from records.recalls.queries.progress import laps_of, progress_of, status_of, unit_figures
from records.recalls.services.closing import close_case
from records.recalls.services.lists import complete_list
from records.recalls.services.people import note_contact
from records.recalls.services.pulling import let_go, set_apart
from tests.factories import make_patient, make_session_with_unit, make_units, refreshed
from tests.records.recalls.cases import make_case, make_treated, person_of, span

pytestmark = pytest.mark.django_db


def told(case, patient, outcome: ContactOutcome, channel: Channel, owner, **fields) -> None:
    note_contact(
        person=person_of(case, patient), channel=channel, outcome=outcome, actor=owner, **fields
    )


def status(case):
    return status_of(case, extent_of(case), progress_of(case))


def test_who_was_notified_when_and_how(owner, case, treated):
    ann, bo = treated
    told(case, ann, ContactOutcome.SENT, Channel.LETTER, owner)
    told(case, ann, ContactOutcome.INFORMED, Channel.PHONE, owner)
    told(case, bo, ContactOutcome.SENT, Channel.LETTER, owner)
    now = status(case)
    today = timezone.localdate()
    assert (now.people, now.notified, now.responded, now.not_responded) == (2, 2, 1, 1)
    assert [(by.channel, by.people, by.first_on, by.last_on) for by in now.by_channel] == [
        (Channel.PHONE, 1, today, today),
        (Channel.LETTER, 2, today, today),
    ]


@pytest.mark.parametrize(
    ("outcomes", "notified"),
    [
        ([], 0),
        ([(Channel.PHONE, ContactOutcome.NO_ANSWER)], 0),
        ([(Channel.PHONE, ContactOutcome.MESSAGE_LEFT)], 1),
        ([(Channel.LETTER, ContactOutcome.SENT), (Channel.LETTER, ContactOutcome.CAME_BACK)], 0),
        ([(Channel.LETTER, ContactOutcome.SENT), (Channel.EMAIL, ContactOutcome.CAME_BACK)], 1),
        (
            [
                (Channel.LETTER, ContactOutcome.SENT),
                (Channel.LETTER, ContactOutcome.CAME_BACK),
                (Channel.LETTER, ContactOutcome.SENT),
            ],
            1,
        ),
        # They were told, whatever became of the number afterwards.
        (
            [
                (Channel.PHONE, ContactOutcome.INFORMED),
                (Channel.PHONE, ContactOutcome.WRONG_DETAILS),
            ],
            1,
        ),
    ],
)
def test_what_came_back_did_not_notify(owner, case, treated, outcomes, notified):
    for channel, outcome in outcomes:
        told(case, treated[0], outcome, channel, owner)
    assert status(case).notified == notified


def test_every_unit_stands_in_one_figure(owner, desk, injector, product):
    units = make_units(owner, product, quantity=8)
    make_treated(desk, injector, units[:1], ["Used Up"])
    make_session_with_unit(injector, make_patient(desk, "Half Way"), units[1])
    take_out_of_stock(unit=units[2], kind=MovementKind.RETURNED, reason="x", actor=owner)
    take_out_of_stock(unit=units[3], kind=MovementKind.WRITTEN_OFF, reason="x", actor=owner)
    move_unit(lock_unit(units[4].pk), MovementKind.MISSING, amount=1000, actor=owner, reason="x")
    case = make_case(owner, span(product))
    rows = list(case.units.order_by("pk").values_list("pk", flat=True))
    set_apart(case=case, units=rows[:2], actor=owner)
    figures = unit_figures(case, extent_of(case))
    assert (figures.here, figures.apart, figures.used_up) == (2, 2, 1)
    assert (figures.returned, figures.written_off, figures.missing) == (1, 1, 1)
    assert (figures.received, figures.accounted_for) == (8, 5)
    discard_remainder(unit=units[1], reason="x", actor=owner)
    figures = unit_figures(case, extent_of(case))
    assert (figures.apart, figures.used_up, figures.accounted_for) == (1, 2, 5)


def test_what_was_left_in_an_opened_unit_and_destroyed_counts_as_destroyed(
    owner, desk, injector, product, units
):
    make_session_with_unit(injector, make_patient(desk), units[0])
    case = make_case(owner, span(product))
    row = case.units.get(unit=units[0])
    set_apart(case=case, units=[row.pk], actor=owner)
    let_go(
        case=case, units=[row.pk], kind=MovementKind.WRITTEN_OFF, witness="Dora Desk", reason="",
        actor=owner,
    )  # fmt: skip
    figures = unit_figures(case, extent_of(case))
    assert (figures.used_up, figures.written_off, figures.here, figures.received) == (0, 1, 4, 5)


@pytest.mark.parametrize(
    ("level", "percent", "target"), [("A", None, 2), ("B", 50, 1), ("C", None, 1), ("E", None, 0)]
)
def test_checks_are_counted_against_the_level(owner, product, treated, level, percent, target):
    case = make_case(owner, span(product), level=level, level_percent=percent)
    person = case.people.first()
    CaseCheck.objects.create(
        person=person, position=1, result=CheckResult.NOT_EFFECTIVE, at=timezone.now(), by=owner
    )
    checks = status(case).checks
    assert (checks.target, checks.checked, checks.effective) == (target, 1, 0)


def test_nobody_is_checked_in_a_drill(drill):
    assert status(drill).checks.target == 0


def test_the_stopwatch_stops_step_by_step(owner, case, treated):
    now = case.received_at + timedelta(hours=2)

    def running() -> list[bool]:
        stored = refreshed(case)
        return [lap.is_running for lap in laps_of(stored, progress_of(stored), now)]

    assert running() == [False, True, True]
    complete_list(case=case, actor=owner)
    assert running() == [False, False, True]
    told(case, treated[0], ContactOutcome.INFORMED, Channel.PHONE, owner)
    assert running() == [False, False, True]
    at = case.received_at + timedelta(minutes=3)
    told(case, treated[1], ContactOutcome.INFORMED, Channel.PHONE, owner, at=at)
    assert running() == [False, False, False]


def test_everybody_is_reached_when_the_last_one_is_for_the_first_time(owner, case, treated):
    for minutes, patient in ((2, treated[0]), (5, treated[1]), (9, treated[0])):
        at = case.received_at + timedelta(minutes=minutes)
        told(case, patient, ContactOutcome.INFORMED, Channel.PHONE, owner, at=at)
    laps = laps_of(case, progress_of(case), timezone.now())
    assert laps[-1].words == "5 min 0 s"


def test_a_case_that_reached_nobody_is_done_with_its_list(owner, product):
    case = make_case(owner, span(product, "NEVERHERE"))
    assert laps_of(case, progress_of(case), timezone.now())[-1].is_running
    case = complete_list(case=case, actor=owner)
    assert not laps_of(case, progress_of(case), timezone.now())[-1].is_running


def test_all_cases_take_as_many_queries_as_one(owner, case, drill, product):
    def statements(cases) -> int:
        with CaptureQueriesContext(connection) as queries:
            case_rows(cases, timezone.now())
        return len(queries)

    assert statements([case, drill]) == statements([case])
    [first, second] = case_rows([case, drill], timezone.now())
    assert (first.progress.people, first.units, first.units_here) == (2, 3, 3)
    assert [span.numbers for span in second.spans] == ["lot LOT42"]


def test_the_start_page_shows_open_recalls_and_no_drills(owner, case, drill):
    assert [(each, str(progress)) for each, progress in open_recalls()] == [
        (case, "0 of 2 reached")
    ]
    things = dict.fromkeys(("list", "to_pull", "people", "checks"), "Because")
    close_case(case=case, note="", explanations=things, actor=owner)
    assert open_recalls() == []
    assert RecallCase.objects.count() == 2

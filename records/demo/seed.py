"""Filling an empty database with the invented clinic."""

import random
from datetime import date, timedelta
from functools import partial

from django.db import connection, transaction

from clinic.staff.models import User
from records.demo.aftercare import answer_questions, ask_patients
from records.demo.assessments import plan_assessments
from records.demo.atlas import write_atlas
from records.demo.clinic import at, build_clinic, fixture, receive, settle_stock
from records.demo.clock import clock_at
from records.demo.consents import plan_consents
from records.demo.desk import register, todays_list
from records.demo.diary import Diary
from records.demo.histories import plan_histories
from records.demo.mailings import write_templates
from records.demo.messages import tell_patients, turn_on
from records.demo.occlusions import write_protocol
from records.demo.plans import note_plans
from records.demo.premises import furnish
from records.demo.recalls import receive_notice, run_drill
from records.demo.shelves import plan_shelves
from records.demo.story import Story
from records.demo.treatments import plan_treatments
from records.demo.visits import plan_consultations
from records.demo.waiting import plan_waiting

SESSIONS = 200
# In days before today. Treatments go back 480 days and are booked a week ahead.
OPENING, FIRST_PATIENT, FIRST_BOOKING, DRILL, MESSAGES, LATELY = 590, 560, 495, 62, 45, 5


def seed(today: date, sessions: int = SESSIONS) -> bool:
    """
    Write the demo clinic as of `today`, the same for the same day.

    Args:
        sessions: how many treatment sessions its past holds.

    Returns:
        False when somebody is on the staff already: then nothing is changed.
    """
    if User.objects.exists():
        return False
    rng = random.Random(20261125)  # noqa: S311 (the same clinic each time, no secret)
    with transaction.atomic():
        with clock_at(at(_ago(today, OPENING), 9)):
            clinic = build_clinic(today)
            furnish(clinic, today, since=_ago(today, OPENING))
            write_templates(clinic)
            write_atlas(clinic)
            write_protocol(clinic)
        story = Story(today, clinic, Diary(), rng)
        _note_all(story, sessions)
        story.diary.carry_out()
        _count_rows()
    return True


def _note_all(story: Story, sessions: int) -> None:
    """What is known from the start; treatments note what follows from them."""
    note, today, clinic = story.diary.note, story.today, story.clinic
    for row in fixture("clinic")["lots"]:
        note(at(_ago(today, row["received_days_ago"]), 9), partial(receive, clinic, row, today))
    for number in range(len(fixture("patients"))):
        note(at(_ago(today, FIRST_PATIENT - number), 9), partial(register, story, number))
    note(at(_ago(today, FIRST_BOOKING), 12), partial(plan_treatments, story, sessions))
    note(at(_ago(today, DRILL), 13, 1), _count_rows)
    note(at(_ago(today, DRILL), 13, 2), partial(run_drill, story))
    note(at(_ago(today, MESSAGES), 9), partial(turn_on, story))
    note(at(_ago(today, LATELY), 16, 20), partial(receive_notice, story))
    note(at(_ago(today, LATELY), 17), partial(settle_stock, clinic, today))
    plan_assessments(story)
    plan_histories(story)
    plan_consents(story)
    plan_shelves(story)
    note_plans(story)
    plan_consultations(story)
    plan_waiting(story)
    note(at(_ago(today, 1), 12), ask_patients)
    note(at(today, 7), partial(todays_list, story))
    note(at(today, 8, 10), partial(tell_patients, story))
    note(at(today, 8, 20), answer_questions)


def _count_rows() -> None:
    """
    PostgreSQL plans by statistics, which nobody collects of rows in a transaction that is open: a
    recall joins all tables, and would take minutes over the demo's few rows.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def _ago(today: date, days: int) -> date:
    return today - timedelta(days=days)

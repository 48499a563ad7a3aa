"""Filling an empty database with the invented clinic."""

import random
from datetime import date, timedelta

from django.db import transaction

from clinic.staff.models import User
from records.demo.clinic import at, build_clinic, receive_lots, settle_stock
from records.demo.clock import clock_at
from records.demo.desk import follow_up, register_patients, todays_list
from records.demo.treatments import Slot, add_some_addenda, slots, treat

SESSIONS = 200


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
        with clock_at(at(today - timedelta(days=530), 9)):
            clinic = build_clinic(today)
        receive_lots(clinic, today)
        patients = register_patients(clinic, today, rng)
        signed = [
            treat(clinic, slot, rng) for slot in slots(clinic, patients, today, sessions - 1, rng)
        ]
        add_some_addenda(signed, rng)
        settle_stock(clinic, today)
        follow_up(clinic, today, rng)
        todays_list(clinic, patients, today)
        unsigned = Slot(patients[0], clinic.staff["injector"], at(today - timedelta(days=1), 18))
        treat(clinic, unsigned, rng, sign=False)
    return True

"""The invented clinic of a chaos run: one injector, a few patients, a cupboard full of syringes."""

import time
from datetime import date

from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine, place_quarantine
from clinic.receiving.services import receive_lot
from clinic.staff.models import User
from clinic.stock.models import Lot
from records.sessions.errors import SessionError
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import remainder_choices, sign_session
from tests.factories import make_appointment, make_patient, make_product, make_user

PATIENTS = 8
LOTS, UNITS_A_LOT = 6, 40
# The first units of a lot, which the tablets reach for.
UNITS_STOPPED = 2
MOST_QUARANTINES = 2


def seed() -> User:
    """Fill the empty, migrated database; returns the injector."""
    desk, injector = make_user("desk"), make_user("injector")
    make_user("owner")
    for number in range(1, PATIENTS + 1):
        birth_date = date(1970 + number, 3, number)
        patient = make_patient(desk, f"Patient Number{number}", birth_date=birth_date)
        make_appointment(desk, patient, injector, f"{timezone.localdate()} {8 + number:02}:00")
    filler = make_product("HA filler 1 mL")
    soft = make_product("HA filler soft 1 mL", lidocaine_ug_per_ml=0)
    for number in range(LOTS):
        product = (filler, soft)[number % 2]
        receive_lot(
            product=product, number=f"CHAOS{number}", expires_on=date(2030, 6, 30), actor=injector,
            quantity=UNITS_A_LOT, serials=[serial(unit) for unit in range(UNITS_A_LOT)],
        )  # fmt: skip
    return injector


def turn_quarantine(turn: float, share: float) -> str:
    """
    The owner lifts what is in quarantine, or places one: of a lot, or of a few serial numbers of
    one; `turn` and `share` (0 to 1) choose which.
    """
    owner = User.objects.get(username="owner")
    standing = list(Quarantine.objects.standing().order_by("id"))
    if standing and (turn < 0.6 or len(standing) == MOST_QUARANTINES):
        lifted = standing[int(share * len(standing))]
        lift_quarantine(quarantine=lifted, reason="Cleared by the maker", actor=owner)
        return f"{lifted.span} released"
    lots = list(Lot.objects.select_related("product").order_by("id"))
    lot = lots[int(share * len(lots))]
    placed = Quarantine(
        product=lot.product, lot_first=lot.number, lot_last=lot.number, reason="Maker's notice"
    )
    if turn > 0.8:
        placed.serial_first, placed.serial_last = serial(0), serial(UNITS_STOPPED - 1)
    place_quarantine(quarantine=placed, actor=owner)
    return f"{placed.span} in quarantine"


def serial(number: int) -> str:
    return f"S{number:04}"


def sign_at_the_desk(share: float) -> str:
    """The injector signs one of the unsigned sessions on a page of the server's."""
    unsigned = list(TreatmentSession.objects.unsigned().order_by("id"))
    if len(unsigned) < 2:
        return ""
    session = unsigned[int(share * len(unsigned))]
    remainders = {
        row.unit_id: remainder_choices(row)[0]
        for row in session.tray.select_related("unit__opening", "unit__lot__product")
    }
    try:
        sign_session(session=session, remainders=remainders, actor=session.injector)
    except SessionError as problem:  # something was drawn in this very moment
        return str(problem)
    return f"session {session.key} signed at the desk"


def new_cookie(user: User) -> dict:
    """A sign-in of this person, as the cookie that carries it (for a day, so that it is kept)."""
    client = Client()
    client.force_login(user)
    morsel = client.cookies[settings.SESSION_COOKIE_NAME]
    expires = int(time.time()) + settings.SESSION_COOKIE_AGE
    return {"name": settings.SESSION_COOKIE_NAME, "value": morsel.value, "expires": expires}


def end_sign_in(cookie: dict) -> None:
    """The server forgets this sign-in; the browser does not know."""
    Session.objects.filter(session_key=cookie["value"]).delete()

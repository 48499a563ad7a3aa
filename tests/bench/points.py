"""
Points a second through the real endpoint, to a bare view that inserts one row (bare.py).

One gunicorn server, one database, one client at a time, taking turns. The real endpoint checks
session, token, permission and the operation's id, and writes the audit trail; an answer comes after
the commit on both. The goal of 60 % of the bare view's points a second is 1 / 0.6 times its seconds
at most.
"""

import http.client
import json
import os
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.test import Client
from django.utils import timezone

from planning.atlas.measurements import CHART_VERSION
from planning.vocabulary import ProductKind
from records.sessions.models import TreatmentSession
from tests.bench.bare import BareRow
from tests.bench.building import scaled
from tests.bench.results import Result, compared, interleaved
from tests.chaos.server import Server
from tests.factories import (
    make_patient,
    make_product,
    make_session_with_unit,
    make_units,
    make_user,
)

ROUNDS = scaled(30, 2)
AT_ONCE = 20
GOAL = round(1 / 0.6, 2)
# Sessions stay as small as real ones: each act of a round takes the next session of its own.
POINTS_A_SESSION = 2 * AT_ONCE
ACTS = ("alone", "together", "bare", "shown")
TOKEN = "b" * 32
SIZES = {"default": 0}
AMOUNT, ENOUGH = 1, 1000


def build(_count: int) -> None:
    """Sessions enough for every round, each with one open syringe, and the bare view's table."""
    with connection.schema_editor() as editor:
        editor.create_model(BareRow)
    injector = make_user("injector")
    product = make_product(content=ENOUGH, kind=ProductKind.HA_FILLER)
    sessions = len(ACTS) * ((ROUNDS + 2) * AT_ONCE // POINTS_A_SESSION + 1)
    units = make_units(injector, product, quantity=sessions)
    for number, unit in enumerate(units):
        make_session_with_unit(injector, make_patient(injector, f"Bench Patient{number}"), unit)


def measure() -> Iterator[Result]:
    """The lines of the table."""
    with served() as port:
        clients = {name: Sender(port, lane) for lane, name in enumerate(ACTS)}
        seconds = interleaved(
            ROUNDS,
            alone=clients["alone"].one_by_one,
            bare=clients["bare"].bare,
            together=clients["together"].together,
            shown=clients["shown"].one_by_one_and_shown,
        )
    told = f"{AT_ONCE} points"
    yield compared(
        f"{told}, one a request, to the bare view", seconds["alone"], seconds["bare"], goal=GOAL
    )
    yield compared(
        f"{told} in one request, to {AT_ONCE} requests", seconds["together"], seconds["alone"]
    )
    yield compared(f"{told} in one request, to the bare view", seconds["together"], seconds["bare"])
    yield compared(
        f"{told}, one a request, the whole session in each answer, to the bare view",
        seconds["shown"],
        seconds["bare"],
    )


@contextmanager
def served() -> Iterator[int]:
    """The port of a server process on the database of the settings."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.served"
    with tempfile.TemporaryDirectory(prefix="clinic-bench-") as folder:
        server = Server(Path(folder))
        server.start()
        try:
            server.wait()
            yield server.port
        finally:
            server.kill()


class Sender:
    """A tablet in sessions of its own, on one connection; `lane` tells it from the others."""

    def __init__(self, port: int, lane: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.device, self.taken, self.sequence = str(uuid.uuid4()), count(), count(1)
        self.sessions = list(
            TreatmentSession.objects.order_by("id").prefetch_related("tray")[lane :: len(ACTS)]
        )
        self.injector = self.sessions[0].injector
        client = Client()
        client.force_login(self.injector)
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        self.headers = {
            "Content-Type": "application/json",
            "Accept": "application/json",
            "Cookie": f"{cookie.key}={cookie.value}; {settings.CSRF_COOKIE_NAME}={TOKEN}",
            "X-CSRFToken": TOKEN,
        }

    def connect(self) -> None:
        """
        Anew for each act, on the next request: the server ends a connection that is idle for two
        seconds, and while the others have their turns this one is.
        """
        self.connection.close()

    def one_by_one(self) -> None:
        self.connect()
        for _ in range(AT_ONCE):
            self._sync([self._operation()])

    def one_by_one_and_shown(self) -> None:
        self.connect()
        for _ in range(AT_ONCE):
            operation = self._operation()
            self._sync([operation], wanted=[operation["session"]])

    def together(self) -> None:
        self.connect()
        self._sync([self._operation() for _ in range(AT_ONCE)])

    def bare(self) -> None:
        self.connect()
        for _ in range(AT_ONCE):
            session, number = self._next()
            row = self._place(session) | {
                "key": str(uuid.uuid4()), "session_id": session.pk, "chart_version": CHART_VERSION,
                "number": number, "logged_by_id": self.injector.pk,
                "unit_id": self._unit(session), "relative_x_permille": 500,
                "relative_y_permille": 500, "tapped_at": timezone.now().isoformat(),
            }  # fmt: skip
            self._post("/bench/insert/", row)

    def _next(self) -> tuple[TreatmentSession, int]:
        """The session of the next point, and its number there."""
        number = next(self.taken)
        return self.sessions[number // POINTS_A_SESSION], number % POINTS_A_SESSION + 1

    def _unit(self, session: TreatmentSession) -> int:
        return session.tray.all()[0].unit_id

    def _place(self, session: TreatmentSession) -> dict:
        return {
            "view": "front", "x_dmm": 500, "y_dmm": 330, "plane": "supraperiosteal",
            "technique": "bolus", "instrument": "needle", "aspiration": "negative",
            "amount": AMOUNT, "gauge": 27, "length_mm": 13, "region": "zygomatic", "side": "left",
        }  # fmt: skip

    def _operation(self) -> dict:
        session, _ = self._next()
        data = self._place(session) | {
            "key": str(uuid.uuid4()), "unit": self._unit(session), "reach_x_dmm": None,
            "reach_y_dmm": None, "picture": None, "deviation": "", "marking": None,
        }  # fmt: skip
        return {
            "id": str(uuid.uuid4()), "session": str(session.key), "kind": "log", "base": None,
            "made_at": timezone.now().isoformat(), "sequence": next(self.sequence),
            "author": self.injector.pk, "handed_over": False, "data": data,
        }  # fmt: skip

    def _sync(self, operations: list[dict], wanted: list[str] = ()) -> None:
        asked = {
            "device": self.device, "sent_at": timezone.now().isoformat(),
            "operations": operations, "sessions": list(wanted),
        }  # fmt: skip
        answer = self._post("/charting/sync/", asked)
        refused = [each for each in answer["results"] if each["outcome"] != "applied"]
        if refused:
            raise RuntimeError(f"Not stored: {refused[0]['message']}")

    def _post(self, address: str, content: dict) -> dict:
        self.connection.request("POST", address, json.dumps(content), self.headers)
        answer = self.connection.getresponse()
        body = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{address} answered {answer.status}: {body[:300]!r}")
        return json.loads(body)

"""
A clinic whose worker is killed again and again while it tells two patients of their visits, one by
text message (files) and one by e-mail (a mail server of this run).

Workers are real processes, forked from one that has loaded everything, and killed with SIGKILL: by
themselves just before or just after a message is handed over, or from outside at any moment.
"""

import itertools
import os
import random
import select
import signal
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from datetime import time as clock
from pathlib import Path

from django.core.mail.utils import DNS_NAME
from django.db import connections
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.background.worker import ClinicWorker
from clinic.policy.models import ClinicPolicy
from records.appointments.models import Appointment
from records.reminders.models import Message, ReminderPolicy
from records.reminders.services import sending
from records.reminders.services.owning import save_reminder_policy
from tests.factories import make_patient, make_user
from tests.kill.mail_server import start_mail_server

LONGEST_LIFE = 5.0
"""Seconds a worker lives at most that was not killed before, but for the last one."""
PATIENCE = 120
BEFORE, AFTER, AT_ANY_MOMENT, EARLY = "before", "after", "at any moment", "early"
WAYS = (BEFORE, AFTER, AT_ANY_MOMENT, AT_ANY_MOMENT, EARLY)


@dataclass
class Report:
    kills: dict[str, int] = field(default_factory=dict)
    states: dict[str, int] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    seconds: float = 0

    @property
    def summary(self) -> str:
        kills = ", ".join(f"{count} {how}" for how, count in sorted(self.kills.items()))
        states = ", ".join(f"{count} {state}" for state, count in sorted(self.states.items()))
        return (
            f"{sum(self.kills.values())} kills ({kills}); messages: {states}; "
            f"{len(self.problems)} differences; {self.seconds:.0f} s"
        )


def run(
    folder: Path,
    settings,
    *,
    seed: int,
    kills: int,
    visits: int,
    ways: Sequence[str] = WAYS,
    spoil: str = "",
) -> Report:
    """On an empty database, with `settings` that may be changed; files go to `folder`."""
    began, rng, report = time.monotonic(), random.Random(seed), Report()  # noqa: S311
    taken = folder / "taken"
    taken.touch()
    mail_server, port = start_mail_server(taken)
    try:
        _set(settings, folder, port)
        _book(visits)
        for _ in range(kills):
            how = _one_life(rng, ways, spoil)
            report.kills[how] = report.kills.get(how, 0) + 1
        _last_life()
    finally:
        os.kill(mail_server, signal.SIGKILL)
        os.waitpid(mail_server, 0)
    _compare(report, folder, taken.read_text().split(), visits)
    report.seconds = time.monotonic() - began
    return report


def _set(settings, folder: Path, port: int) -> None:
    """Everything as it is served, but quick: what takes minutes takes parts of a second."""
    settings.VAR_DIR = folder
    DNS_NAME._fqdn = "localhost"  # asking for this machine's name can take seconds
    reverse("today")  # loads every page, once for all workers
    settings.TICK_EVERY = timedelta(seconds=0.05)
    settings.MESSAGE_LEASE = timedelta(seconds=0.4)
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT, settings.EMAIL_USE_TLS = "127.0.0.1", port, False


def _book(visits: int) -> None:
    desk, injector, owner = make_user("desk"), make_user("injector"), make_user("owner")
    ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", phone="020 7946 0123", email="hello@larkstone.example",
        quiet_from=clock(3), quiet_until=clock(3),
    )  # fmt: skip
    save_reminder_policy(policy=ReminderPolicy(is_on=True, reminds=False), actor=owner)
    people = [
        make_patient(
            desk, "Ann Text", phone="07700 900123", preferred_channel="sms", agrees_to_sms=True
        ),
        make_patient(
            desk, "Ben Mail", email="ben@mail.example", preferred_channel="email",
            agrees_to_email=True,
        ),
    ]  # fmt: skip
    first = timezone.localdate() + timedelta(days=10)
    Appointment.objects.bulk_create(
        Appointment(
            patient=people[number % 2], practitioner=injector, kind="consultation", minutes=5,
            starts_at=_start(first, number),
        )
        for number in range(2 * visits)
    )  # fmt: skip


def _start(first: date, number: int) -> datetime:
    """One visit after another, a hundred a day."""
    day, place = divmod(number, 100)
    at = datetime.combine(first + timedelta(days=day), clock(9)) + timedelta(minutes=5 * place)
    return timezone.make_aware(at)


def _fork(*, dies: str = "", at_message: int = 0, spoil: str = "") -> tuple[int, int]:
    """
    A worker that kills itself before or after it hands over its first, second, ... message; its
    process, and a pipe that can be read from as soon as it hands the first one over.
    """
    connections.close_all()
    started, says_so = os.pipe()
    process = os.fork()
    if process:
        os.close(says_so)
        return process, started
    status = 1
    try:
        _watch_hand_over(says_so, dies, at_message)
        if spoil:
            _forget_what_is_sent()
        worker = ClinicWorker(worker_id=f"worker-{os.getpid()}", interval=0.01)
        worker.configure_signals()
        worker.work()
        status = 0
    finally:
        os._exit(status)


def _watch_hand_over(says_so: int, dies: str, at_message: int) -> None:
    hand_over, handed = sending._hand_over, itertools.count(1)

    def deadly(message, clinic) -> None:
        os.write(says_so, b".")
        is_last = next(handed) == at_message
        if is_last and dies == BEFORE:
            os.kill(os.getpid(), signal.SIGKILL)
        hand_over(message, clinic)
        if is_last and dies == AFTER:
            os.kill(os.getpid(), signal.SIGKILL)

    sending._hand_over = deadly


def _forget_what_is_sent() -> None:
    """What a worker would do that kept in its own memory alone what it is sending."""
    mark = sending._mark

    def forget(message, *rest) -> None:
        mark(message, *rest)
        Message.objects.filter(pk=message.pk).update(state="waiting")
        message.state = "sending"

    sending._mark = forget


def _one_life(rng: random.Random, ways: Sequence[str], spoil: str) -> str:
    """
    How a worker was killed: just before or after a handing over, by itself; at any moment of the
    sending; or before it had begun to send.
    """
    how = rng.choice(ways)
    process, started = _fork(dies=how, at_message=rng.randint(1, 2), spoil=spoil)
    patience = 0.1 * rng.random() if how == EARLY else LONGEST_LIFE
    has_begun = bool(select.select([started], [], [], patience)[0])
    by_itself = how in (BEFORE, AFTER)
    until = time.monotonic() + (LONGEST_LIFE if by_itself else 0.08 * rng.random())
    while has_begun and time.monotonic() < until:
        if os.waitpid(process, os.WNOHANG)[0]:
            os.close(started)
            return how
        time.sleep(0.001)
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    os.close(started)
    return AT_ANY_MOMENT if has_begun else EARLY


def _last_life() -> None:
    """A worker that is left alone until nothing is to do, and is then asked to stop."""
    (process, _), until = _fork(), time.monotonic() + PATIENCE
    while time.monotonic() < until:
        time.sleep(0.2)
        if not Message.objects.filter(state__in=["waiting", "sending"]).exists():
            break
    os.kill(process, signal.SIGTERM)
    os.waitpid(process, 0)


def _compare(report: Report, folder: Path, taken: list[str], visits: int) -> None:
    """What the clinic believes with what arrived."""
    messages = list(Message.objects.order_by("pk"))
    for message in messages:
        report.states[message.state] = report.states.get(message.state, 0) + 1
    told = {message.appointment_id for message in messages}
    say = report.problems.append
    if len(messages) != 2 * visits or len(told) != 2 * visits:
        say(f"{len(messages)} messages about {len(told)} visits of {2 * visits}")
    files = {file.stem for file in (folder / "text_messages").glob("*.txt")}
    texts = {row.reference: row.state for row in messages if row.route == "sms"}
    for reference in files ^ texts.keys():
        say(f"a text message and its file do not agree: {reference}")
    for reference, state in texts.items():
        if state != "sent":
            say(f"text message {reference} is {state}")
    emails = {row.reference: row.state for row in messages if row.route == "email"}
    for reference, state in emails.items():
        count = taken.count(reference)
        if count > 1:
            say(f"e-mail {reference} was sent {count} times")
        if state not in {"sent", "unsure"} or (state == "sent" and count == 0):
            say(f"e-mail {reference} is {state}, and was taken {count} times")
    for reference in set(taken) - emails.keys():
        say(f"e-mail {reference} is known to nobody")
    events = AuditEvent.objects.filter(action="message.sent").values_list("subject_id", flat=True)
    sent = [str(row.pk) for row in messages if row.state == "sent"]
    if sorted(events) != sorted(sent):
        say("the trail and the messages do not agree about what was sent")
    if not verify_chain().intact:
        say("the trail is broken")

"""Two who write at once, and one that is killed: each letter is written once, none is lost."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from django.core import mail
from django.db import connection

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.policy.models import ClinicPolicy
from records.mailings.models import LetterBatch
from records.mailings.services import letters, starting
from records.mailings.services.steps import write_next
from tests.factories import make_mailing, make_patient, make_user
from tests.postgres import end_with_parent
from tests.records.sessions.services.test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)

ROOT = Path(__file__).parents[3]
# Writes to the end with a printer that needs no WeasyPrint, and kills itself at the named place.
DRIVER = """
import os, signal, sys
import django
django.setup()
from django.db import transaction
from records.mailings.models import LetterBatch, Mailing
from records.mailings.services import emails, ending, letters
from records.mailings.services.steps import write_next

mailing, place = Mailing.objects.get(pk=int(sys.argv[1])), sys.argv[2]
letters.render_pdf = lambda html: b"%PDF " + html.encode()

def die():
    os.kill(os.getpid(), signal.SIGKILL)

def cut_off(owner, name, when):
    act = getattr(owner, name)
    def acts_and_dies(*args, **kwargs):
        if when == "before":
            die()
        result = act(*args, **kwargs)
        if when == "at commit":
            transaction.on_commit(die)
            return result
        die()
    setattr(owner, name, acts_and_dies)

owner, name, when = {
    "before the file is stored": (letters, "locked", "before"),
    "after the file, before its letters": (letters, "note_done", "before"),
    "before the commit": (letters, "close_or_reopen", "after"),
    "after the commit": (letters, "close_or_reopen", "at commit"),
    "while it is being sent": (emails.EmailMessage, "send", "after"),
}[place]
cut_off(owner, name, when)
while not write_next(mailing=mailing, actor=None).is_at_end:
    pass
"""


@pytest.fixture
def owner(monkeypatch):
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 2)
    monkeypatch.setattr(letters, "render_pdf", lambda html: b"%PDF " + html.encode())
    ClinicPolicy.objects.create(name="Larkstone Face Clinic", email="hello@larkstone.example")
    return make_user("owner")


@pytest.fixture
def people(owner):
    return [
        make_patient(owner, f"Number {word}", address="1 Sample Street", email="p@mail.example")
        for word in ("One", "Two", "Three", "Four", "Five")
    ]


def killed_at(mailing, place: str) -> None:
    """Another process writes the mailing and ends by SIGKILL at that place."""
    where = "sqlite://"
    if connection.vendor == "postgresql":
        where = os.environ["DATABASE_URL"].rsplit("/", 1)[0]
    url = f"{where}/{connection.settings_dict['NAME']}"
    env = os.environ | {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", DRIVER, str(mailing.pk), place],
        cwd=ROOT, env=env,
        preexec_fn=end_with_parent, timeout=60, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == -signal.SIGKILL, done.stderr


def each_letter_once(people) -> None:
    """Over all files, every patient's letter stands exactly once, and the trail has it so."""
    printed = b"".join(bytes(batch.pdf) for batch in LetterBatch.objects.all()).decode()
    assert {p.full_name: printed.count(f"Dear {p.full_name},") for p in people} == {
        p.full_name: 1 for p in people
    }
    written = AuditEvent.objects.filter(action="mailing.written")
    assert sorted(written.values_list("patient_id", flat=True)) == [p.pk for p in people]
    assert verify_chain().intact


def to_the_end(mailing, owner) -> int:
    steps = 1
    while not write_next(mailing=mailing, actor=owner).is_at_end:
        steps += 1
    return steps


@pytest.mark.parametrize(
    ("place", "files_kept"),
    [
        ("before the file is stored", 0),
        ("after the file, before its letters", 0),
        ("before the commit", 0),
        ("after the commit", 1),
    ],
)
def test_killed_while_writing_letters_it_goes_on_without_a_gap_or_a_repeat(
    owner, people, place, files_kept
):
    mailing = make_mailing(owner, people)
    killed_at(mailing, place)
    assert mailing.batches.count() == files_kept
    assert mailing.items.filter(state="written").count() == 2 * files_kept
    to_the_end(mailing, owner)
    assert mailing.batches.count() == 3
    each_letter_once(people)


def test_two_who_write_at_once_write_each_letter_once(owner, people):
    mailing = make_mailing(owner, people)
    assert all(type(steps) is int for steps in at_once([lambda: to_the_end(mailing, owner)] * 2))
    assert list(mailing.batches.values_list("number", "letters")) == [(1, 2), (2, 2), (3, 1)]
    each_letter_once(people)


def test_two_who_send_at_once_send_each_e_mail_once(owner, people, settings):
    settings.EMAIL_LEAVES = True
    for number, patient in enumerate(people):
        patient.email = f"p{number}@mail.example"
        patient.save()
    mailing = make_mailing(owner, people, channel="email")
    assert all(type(steps) is int for steps in at_once([lambda: to_the_end(mailing, owner)] * 2))
    assert sorted(message.to[0] for message in mail.outbox) == [p.email for p in people]
    assert mailing.items.filter(state="sent").count() == 5


def test_killed_while_sending_that_one_is_unclear_and_never_sent_by_itself(owner, people, settings):
    """The first e-mail leaves, but whether it did nobody wrote down."""
    settings.EMAIL_LEAVES = True
    mailing = make_mailing(owner, people, channel="email")
    killed_at(mailing, "while it is being sent")
    assert list(mailing.items.values_list("state", flat=True)) == ["sending", *["waiting"] * 4]
    to_the_end(mailing, owner)
    assert list(mailing.items.values_list("state", flat=True)) == ["sending", *["sent"] * 4]
    assert len(mail.outbox) == 4

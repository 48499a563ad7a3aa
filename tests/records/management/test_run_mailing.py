"""`manage.py run_mailing`: the same steps as the page, to the end."""

from smtplib import SMTPResponseException

import pytest
from django.core.management import CommandError, call_command

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from records.mailings.services import letters, starting
from tests.factories import make_mailing, make_patient


@pytest.fixture
def people(desk):
    ClinicPolicy.objects.create(name="Larkstone", email="hello@larkstone.example")
    return [
        make_patient(desk, name, address="1 Sample Street", email="p@mail.example")
        for name in ("Ann Example", "Bo Li", "Cy Young")
    ]


@pytest.fixture(autouse=True)
def quick(monkeypatch, settings):
    monkeypatch.setattr(letters, "render_pdf", lambda html: b"%PDF")
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 2)
    settings.EMAIL_LEAVES = True


def test_letters_are_written_to_the_end_with_a_line_for_each_step(owner, people, desk, capsys):
    mailing = make_mailing(owner, [*people, make_patient(desk, "No Address")])
    call_command("run_mailing", mailing.pk)
    assert capsys.readouterr().out.splitlines() == [
        "Letters: Recall R000001", "  2 of 3", "  3 of 3", "3 written, 1 without an address"
    ]  # fmt: skip
    assert mailing.batches.count() == 2
    assert set(AuditEvent.objects.filter(action="mailing.written").values_list("actor")) == {
        (None,)
    }


def test_run_again_it_changes_nothing(owner, people, capsys):
    mailing = make_mailing(owner, people, is_rehearsal=True)
    call_command("run_mailing", mailing.pk)
    call_command("run_mailing", mailing.pk)
    assert mailing.batches.count() == 2
    assert capsys.readouterr().out.splitlines()[0] == "Letters: Recall R000001 (rehearsal)"


def test_e_mails_that_failed_end_it_with_an_error(owner, people, capsys, monkeypatch):
    def refuse(self):
        raise SMTPResponseException(550, b"no")

    monkeypatch.setattr("records.mailings.services.emails.EmailMessage.send", refuse)
    mailing = make_mailing(owner, people, channel="email")
    with pytest.raises(CommandError, match="Decide on the mailing's page"):
        call_command("run_mailing", mailing.pk)
    assert "3 failed" in capsys.readouterr().out


def test_a_server_that_is_down_ends_it_and_says_how_to_go_on(owner, people, monkeypatch):
    def refuse(self):
        raise ConnectionRefusedError("nobody listens")

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.open", refuse)
    mailing = make_mailing(owner, people, channel="email")
    with pytest.raises(CommandError, match=r"nobody listens Run it again to go on\."):
        call_command("run_mailing", mailing.pk)


def test_a_mailing_that_is_not_there(db):
    with pytest.raises(CommandError, match="There is no mailing 7"):
        call_command("run_mailing", 7)

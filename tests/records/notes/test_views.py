"""The address of the note: for those who treat and for the owner."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.notes import services


@pytest.fixture(autouse=True)
def quick_printer(monkeypatch):
    monkeypatch.setattr(services, "render_pdf", lambda html: b"%PDF-1.7 " + html.encode())


@pytest.fixture
def address(signed) -> str:
    return reverse("note-pdf", kwargs={"pk": signed.pk})


@pytest.mark.parametrize("who", ["injector", "owner"])
def test_it_opens_in_the_browser_as_pdf(request, signed_in, address, signed, who):
    answer = signed_in(request.getfixturevalue(who)).get(address)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="chart-note-{signed.pk}.pdf"'
    assert answer.content == bytes(signed.notes.get().pdf)


def test_the_file_name_tells_nobody_s_name(signed_in, address, owner):
    assert "Example" not in signed_in(owner).get(address)["Content-Disposition"]


def test_a_stranger_is_sent_to_sign_in(client, address):
    answer = client.get(address)
    assert answer.status_code == 302
    assert answer.url == f"{reverse('staff-login')}?next={address}"


def test_front_desk_reads_no_clinical_detail(signed_in, desk, address):
    before = AuditEvent.objects.count()
    assert signed_in(desk).get(address).status_code == 403
    assert not AuditEvent.objects.filter(action__startswith="note.").exists()
    assert AuditEvent.objects.count() == before


def test_an_unknown_session_is_not_found(signed_in, owner):
    assert signed_in(owner).get(reverse("note-pdf", kwargs={"pk": 999_999})).status_code == 404


def test_a_note_cannot_be_posted(signed_in, owner, address):
    assert signed_in(owner).post(address).status_code == 405

"""A clinic that can write and send, and a quick printer where the sheet is not the point."""

import pytest

from clinic.policy.models import ClinicPolicy
from records.mailings import occasions
from records.mailings.services import letters
from tests.factories import make_patient


@pytest.fixture
def policy(db):
    return ClinicPolicy.objects.create(
        name="Larkstone Face Clinic", address="4 Example Lane\nLarkstone LK1 0ZZ",
        phone="020 7946 0123", email="hello@larkstone.example",
    )  # fmt: skip


@pytest.fixture
def printed(monkeypatch):
    """The HTML of each file of letters that was rendered; WeasyPrint is not asked."""
    rendered: list[str] = []

    def render(html: str) -> bytes:
        rendered.append(html)
        return b"%PDF " + html.encode()

    monkeypatch.setattr(letters, "render_pdf", render)
    return rendered


@pytest.fixture
def leaving(settings):
    """E-mails count as sent: Django's own test back end keeps them in `mail.outbox`."""
    settings.EMAIL_LEAVES = True


@pytest.fixture
def people(desk):
    """Three patients who can be reached by letter and by e-mail."""
    names = ["Ann Example", "Zoë Ångström-Łęcki", "عبد الرحمن الفاسي"]
    return [
        make_patient(desk, name, address=f"{number} Sample Street\nLarkstone",
                     email=f"p{number}@mail.example")
        for number, name in enumerate(names, start=1)
    ]  # fmt: skip


@pytest.fixture
def only_occasion(monkeypatch):
    """`only_occasion(words, ...)` is what mailings are about in this test."""
    monkeypatch.setattr(occasions, "_registered", {})
    return lambda *words, **acts: occasions.register(occasions.Occasion("In a test", words, **acts))

"""A mailing that the browser drives: it goes on by itself, and a page that is closed pauses it."""

import threading

import pytest
from playwright.sync_api import expect

from records.mailings.services import letters, starting
from tests.factories import make_mailing, make_patient

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gate(monkeypatch):
    """A letter a file; the printer waits at the gate from the second file on."""
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 1)
    opened, written = threading.Event(), []

    def render(html: str) -> bytes:
        if written:
            assert opened.wait(timeout=30)
        written.append(html)
        return b"%PDF"

    monkeypatch.setattr(letters, "render_pdf", render)
    return opened


def test_it_is_written_to_the_end_though_the_page_was_closed_in_between(
    new_page, sign_in, owner, gate
):
    people = [make_patient(owner, f"Number {n}", address=f"{n} Street") for n in range(4)]
    mailing = make_mailing(owner, people)
    page = new_page()
    sign_in(page, owner)
    page.goto(f"/mailings/{mailing.pk}/")
    page.get_by_role("button", name="Write 4 letters").click()
    expect(page.get_by_text("Keep this page open.")).to_be_visible()
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "1")
    page.close()
    gate.set()

    page = new_page()
    sign_in(page, owner)
    page.goto(f"/mailings/{mailing.pk}/")
    expect(page.get_by_role("heading", name="Paused")).to_be_visible()
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", name="Done")).to_be_visible()
    expect(page.get_by_role("link", name="Letters, file 4")).to_be_visible()
    expect(page.get_by_role("link", name="All letters (zip)")).to_be_visible()
    assert mailing.batches.count() == 4

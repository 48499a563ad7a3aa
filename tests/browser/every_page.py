"""
Every page of the tool, by role, derived from `tests.access_table`.

What counts as a page is found by asking: a GET that answers with a whole HTML document. Fragments,
downloads and routes that take POST alone drop out by themselves; a new page comes in by itself.
"""

import re
from collections.abc import Iterator

from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.test import Client
from playwright.sync_api import Page, expect

from clinic.access.enums import Role
from clinic.staff.models import User
from tests.access_table import TABLE
from tests.browser.chart import PATIENCE_MS
from tests.samples import address

# What opens each sheet of a session under way on the charting screen.
CHARTING_SHEETS = [
    "[data-setting=plane]", "[data-setting=length_mm]", "[data-setting=amount]",
    "[data-open-unit]", "[data-unit-acts]", "[data-sign]", "[data-occlusion]",
]  # fmt: skip
# The same page, showing something else: "sample.attribute" fills the braces.
MORE_STATES = {
    "charting": ["/charting/#{session.key}"],
    "session-detail": ["/sessions/{signed.pk}/"],
    "appointment-create": ["/appointments/new/?patient={patient.pk}"],
    "follow-up": ["/follow-up/?standing=overdue", "/follow-up/?paper=on"],
    "follow-up-review": ["/follow-up/review/{review.pk}/?by=letter"],
    "diary": ["/diary/?day=2026-12-01", "/diary/?day=2026-12-01&by=room"],
    "diary-week": ["/diary/week/?day=2026-12-01&practitioner={user.pk}"],
    "import-detail": ["/imports/{import_checked.pk}/"],
    "trace": [
        "/trace/?lot=LF-7",
        "/trace/?lot=LOT42",
        "/trace/?lot=NOSUCHLOT",
        "/trace/?maker=Example%20Maker",
    ],
    "scanning": [
        "/scanning/?scan=01095212345432131727113010LOT42",
        "/scanning/?scan=01095212345432131717110010L0T4221SER9",
        "/scanning/?scan=10LOT42",
        "/scanning/?scan=LOT42",
    ],
    "adverse-event-create": ["/adverse-events/new/?patient={patient.pk}"],
    "usage": ["/usage/?by=lot", "/usage/?by=month"],
    "dilution": ["/dilution/?content=100&diluent=3&dose=4&marking=10"],
    "stock-list": ["/stock/?q=nothing-like-it"],
}

# What differs from one answer to the next: the token of a form, and the key that stores it once.
NEW_EACH_TIME = re.compile(
    r'name="csrfmiddlewaretoken" value="[^"]*"|[0-9a-f]{8}-?(?:[0-9a-f]{4}-?){3}[0-9a-f]{12}'
)
# Of a part that is fetched by an address of its own.
FETCHED = "data-panel-state"


def documents(
    person: User | AnonymousUser, samples: dict | None, files: set[str] | None = None
) -> Iterator[tuple[str, HttpResponse]]:
    """
    Addresses of all pages that `person` may open, each with what is answered there.

    Args:
        samples: `tests.samples.make_samples`; None for a clinic in which nothing was entered yet.
        files: addresses that answered with a file to somebody else; they are not asked again, as
            printing takes longer than a page. Those met here are added.
    """
    files = set() if files is None else files
    client = Client()
    roles: set[Role] = getattr(person, "roles", set())
    if roles:
        client.force_login(person)
    for url in _addresses(roles, samples):
        if url in files:
            continue
        answer = client.get(url)
        if _is_page(url, answer):
            yield url, answer
        elif answer.status_code == 200 and not _is_html(answer):
            files.add(url)


def _addresses(roles: set[Role], samples: dict | None) -> Iterator[str]:
    for name, rule in TABLE.items():
        open_to_them = bool(roles & set(rule.roles)) if roles else not rule.roles
        if not open_to_them or (rule.args and samples is None):
            continue
        yield address(name, samples or {})
        if samples is not None:
            yield from (url.format(**samples) for url in MORE_STATES.get(name, []))


def _is_page(url: str, answer: HttpResponse) -> bool:
    if answer.status_code == 405:
        return False
    # No page; it says 503 where no worker was seen.
    if url == "/ready/":
        return False
    # One's own session under way is shown by the charting screen, which is among the pages.
    if answer.status_code == 302 and answer["Location"].startswith("/charting/#"):
        return False
    # The list of reviews is a part of the follow-up, which is among the pages; the old address of
    # the day list leads to the diary, which remembers its own.
    if answer.status_code == 302 and answer["Location"].startswith(("/follow-up/", "/diary/")):
        return False
    # A tablet in a patient's hands: test_screening.py and test_outcomes.py look at what it shows.
    in_hand = url.endswith(("/fill/", "/take-back/")) or url.startswith("/outcomes/answer/")
    if answer.status_code == 302 and in_hand:
        return False
    # A redirect would leave its page out without a word: give the table another sample.
    assert answer.status_code == 200, f"{url} answers {answer.status_code}"
    if not _is_html(answer):
        return False
    return answer.content.lstrip()[:15].lower() == b"<!doctype html>"


def _is_html(answer: HttpResponse) -> bool:
    return answer.headers["Content-Type"].startswith("text/html")


class Seen:
    """Which pages were looked at: what two roles are shown word for word is looked at once."""

    def __init__(self) -> None:
        self._shown: set[str] = set()

    def is_new(self, url: str, answer: HttpResponse) -> bool:
        """
        Whether what stands between the rail and the foot of this page was not there before.

        The start page is new to everybody, as it stands for the rail, and so is a page that is
        filled by its own requests or by what follows "#" in its address: that is not seen here.
        """
        page = answer.content.decode()
        main = page[max(0, page.find("<main")) :]
        shown = NEW_EACH_TIME.sub("", main.partition("</main>")[0])
        is_new = url == "/" or "#" in url or FETCHED in shown or shown not in self._shown
        self._shown.add(shown)
        return is_new


def open_whole(page: Page, url: str) -> None:
    """Go to a page and wait for the parts that it fetches by their own addresses."""
    page.goto(url)
    if "/charting/" in url:
        page.reload()  # an address that differs by its "#" alone loads nothing
        shown = "[data-session]" if "#" in url else "[data-day]"
        expect(page.locator(shown)).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(f"[{FETCHED}]")).to_have_count(0, timeout=PATIENCE_MS)

"""A tablet with the whole charting screen on the real server."""

import uuid

from playwright.sync_api import Page, expect

from records.sessions.models import SessionUnit
from tests.factories import (
    PASSWORD,
    consented,
    make_patient,
    make_product,
    make_session_with_unit,
    make_units,
)

CODE = "703915"
LONG_MS = 30_000
PATIENT = "Wilhelmina Unmistakable"
POINT = {
    "view": "front", "x_dmm": 500, "y_dmm": 330, "reach_x_dmm": None, "reach_y_dmm": None,
    "picture": None, "region": "zygomatic", "side": "left", "plane": "supraperiosteal",
    "technique": "bolus", "instrument": "needle", "gauge": 27, "length_mm": 13,
    "aspiration": "negative", "amount": 100, "deviation": "", "marking": None,
}  # fmt: skip
CACHED = """async () => {
    const bodies = {};
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const request of await cache.keys()) {
            bodies[new URL(request.url).pathname] = await (await cache.match(request)).text();
        }
    }
    return bodies;
}"""


def make_sitting(injector):
    """A session under way of a patient whose name stands nowhere else."""
    unit = make_units(injector, make_product())[0]
    patient = consented(injector, make_patient(injector, PATIENT))
    return make_session_with_unit(injector, patient, unit)


class Device:
    def __init__(self, page: Page, session) -> None:
        self.page, self.session = page, session
        # The first visit fetches everything that is kept; a busy machine takes its time over it.
        page.set_default_timeout(LONG_MS)
        self.unit = SessionUnit.objects.get(session=session).unit_id

    def open(self, hash_: str | None = None) -> None:
        self.page.goto(f"/charting/#{self.session.key if hash_ is None else hash_}")
        self.shown()

    def shown(self) -> None:
        expect(self.page.get_by_text(PATIENT).filter(visible=True).first).to_be_visible(
            timeout=LONG_MS
        )

    def kept_for_offline(self) -> None:
        self.page.wait_for_function("() => Boolean(navigator.serviceWorker.controller)")

    def log(self, **fields) -> str:
        """One point by the data layer, on the tablet's disk when this returns."""
        key = str(uuid.uuid4())
        script = """async ([session, data]) => {
            charting.act("log", session, data);
            await charting.queue.write();
        }"""
        data = POINT | {"key": key, "unit": self.unit} | fields
        self.page.evaluate(script, [str(self.session.key), data])
        return key

    def stored(self) -> None:
        """Wait until the clinic has everything."""
        self.page.evaluate("() => charting.flush()")
        self.page.wait_for_function("() => charting.waiting.length === 0")

    def offline(self, off: bool = True) -> None:
        self.page.context.set_offline(off)

    def set_code(self) -> None:
        self.menu("[data-unlock-code]")
        self.page.fill("#code-new", CODE)
        self.page.fill("#code-again", CODE)
        self.page.fill("#code-password", PASSWORD)
        self.page.get_by_role("button", name="Set the code").click()
        expect(self.page.locator("#unlock-code")).to_be_hidden()

    def menu(self, entry: str) -> None:
        self.page.click("[data-user-menu] summary")
        self.page.click(entry)

    def lock(self) -> None:
        self.menu("[data-lock-now]")
        self.locked()

    def locked(self) -> None:
        expect(self.page.locator("[data-lock]")).to_be_visible()
        way = self.page.locator("[data-lock-code]:visible, [data-lock-password]:visible")
        expect(way).to_have_count(1)

    def unlock(self, code: str = CODE) -> None:
        self.page.keyboard.type(code)
        self.page.keyboard.press("Enter")

    def opened(self) -> None:
        expect(self.page.locator("[data-lock]")).to_be_hidden()
        self.shown()

    def databases(self) -> list[str]:
        return self.page.evaluate(
            "async () => (await indexedDB.databases()).map(({ name }) => name).sort()"
        )

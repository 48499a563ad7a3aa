"""The charting screen as an injector works it, for the tests of this folder."""

import re

from playwright.sync_api import Page, expect

SETTINGS = {
    "plane": "Supraperiosteal", "technique": "Bolus", "instrument": "Needle", "gauge": "27 G",
    "length_mm": "13 mm", "aspiration": "Done, negative",
}  # fmt: skip
# The first load of a run draws every view and reads every script, on a machine that does more.
PATIENCE_MS = 60_000
STORED = "All stored in the clinic"
NOTHING_WAITS = """() => new Promise((resolve) => {
    const look = () => charting.waiting.length || resolve(true);
    charting.addEventListener("waiting", look);
    setTimeout(() => resolve(false), 20_000);
    look();
})"""


class Chart:
    """The screen of one session, with fingers. `touches` counts them."""

    def __init__(self, page: Page, key) -> None:
        self.page, self.key, self.touches = page, str(key), 0
        self.open()

    @classmethod
    def at_hand(cls, page: Page, key: str) -> "Chart":
        """The screen as it is shown just now, not loaded anew."""
        chart = cls.__new__(cls)
        chart.page, chart.key, chart.touches = page, key, 0
        chart.wait()
        return chart

    def open(self) -> None:
        """Load the page anew: an address that differs by its "#" alone would load nothing."""
        is_there = "/charting/" in self.page.url
        self.page.goto(f"/charting/#{self.key}", timeout=PATIENCE_MS)
        if is_there:
            self.page.reload(timeout=PATIENCE_MS)
        self.wait()

    def wait(self) -> None:
        front = self.page.locator("[data-figure=front] .face__paper svg")
        expect(front).to_be_visible(timeout=PATIENCE_MS)
        expect(self.page.locator("[data-figure=left] .face__paper svg")).to_be_attached()
        expect(self.page.locator("[data-amount-unit]")).to_be_visible()

    def touch(self, selector, **options) -> None:
        """One touch of a finger on a part of the page."""
        target = self.page.locator(selector) if isinstance(selector, str) else selector
        target.tap(**options)
        self.touches += 1

    def set(self, name: str, label: str) -> None:
        """Two touches: the setting, and the option in its sheet."""
        self.touch(f"[data-setting={name}]")
        sheet = self.page.locator("[data-sheet=choices]")
        self.touch(sheet.get_by_role("radio", name=label, exact=True))

    def type_amount(self, digits: str) -> None:
        """The keypad of the screen: one touch a key."""
        self.touch("[data-setting=amount]")
        self.press_amount(digits)

    def press_amount(self, digits: str) -> None:
        """On the keypad that is open."""
        for digit in digits:
            self.touch(f'[data-sheet=keypad] [data-digit="{digit}"]')
        self.touch("[data-pad-done]")

    def settle(self, amount: str) -> None:
        for name, label in SETTINGS.items():
            self.set(name, label)
        self.type_amount(amount)

    def settle_odd(self, amount: str) -> None:
        """An amount that the screen asks about, and the person is sure of."""
        self.settle(amount)
        self.touch("[data-pad-sure]")

    def at(self, x_mm: float, y_mm: float, view: str = "front") -> tuple[float, float]:
        """Where a place of the drawing is on the screen."""
        script = """([view, x, y]) => {
            const svg = document.querySelector(`[data-figure="${view}"] [data-overlay]`);
            const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
            return [at.x, at.y];
        }"""
        return tuple(self.page.evaluate(script, [view, x_mm, y_mm]))

    def tap(self, x_mm: float, y_mm: float, view: str = "front") -> None:
        self.page.touchscreen.tap(*self.at(x_mm, y_mm, view))
        self.touches += 1

    def says(self, text: str) -> None:
        expect(self.page.locator("[data-said]")).to_have_text(re.compile(re.escape(text)))

    def is_stored(self) -> None:
        """
        Wait until the clinic has everything: by what waits, as the words are drawn a frame after a
        touch and until then say how it stood before.
        """
        assert self.page.evaluate(NOTHING_WAITS), "Something waits on the tablet still."
        expect(self.page.locator("[data-stored]")).to_contain_text(STORED)

    def tab(self, name: str) -> None:
        tab = self.page.get_by_role("tab", name=name)
        tab.tap()
        expect(tab).to_have_attribute("aria-selected", "true")

    @property
    def rows(self):
        return self.page.locator("[data-row]")

    @property
    def waiting(self):
        return self.page.locator("[data-attention]")

    @property
    def setting(self):
        """`setting("plane")`: the key that is chosen, "" for none."""
        return lambda name: self.page.locator(f"[data-setting={name}]").get_attribute("data-value")

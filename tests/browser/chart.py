"""The charting screen as an injector works it, for the tests of this folder."""

import re

from playwright.sync_api import Page, expect

SETTINGS = {
    "plane": "supraperiosteal", "technique": "bolus", "instrument": "needle", "gauge": "27",
    "length_mm": "13", "aspiration": "negative",
}  # fmt: skip


class Chart:
    """The screen of one session, with fingers."""

    def __init__(self, page: Page, url: str) -> None:
        self.page, self.url = page, url
        self.open()

    def open(self) -> None:
        self.page.goto(self.url)
        self.wait()

    def wait(self) -> None:
        expect(self.page.locator("[data-figure=left] svg")).to_be_attached()
        expect(self.page.locator("[data-amount-unit]")).not_to_be_empty()

    def settle(self, amount: str) -> None:
        for name, value in SETTINGS.items():
            self.page.select_option(f"#id_{name}", value)
        self.page.fill("#id_amount", amount)

    def at(self, x_mm: float, y_mm: float, view: str = "front") -> tuple[float, float]:
        """Where a place of the drawing is on the screen."""
        script = """([view, x, y]) => {
            const svg = document.querySelector(`[data-figure="${view}"] svg`);
            const at = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
            return [at.x, at.y];
        }"""
        return tuple(self.page.evaluate(script, [view, x_mm, y_mm]))

    def tap(self, x_mm: float, y_mm: float, view: str = "front") -> None:
        self.page.touchscreen.tap(*self.at(x_mm, y_mm, view))

    def says(self, text: str) -> None:
        expect(self.page.locator("[data-said]")).to_have_text(re.compile(re.escape(text)))

    @property
    def rows(self):
        return self.page.locator("[data-row]")

    @property
    def waiting(self):
        return self.page.locator("[data-waiting] li")

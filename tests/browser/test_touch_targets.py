"""
What a gloved finger presses on the tablet measures at least 44 by 44 CSS pixels.

Source: W3C, Web Content Accessibility Guidelines 2.2, success criterion 2.5.5 (level AAA). Links
within a sentence or a table's text are outside of it there and here; the way back above a heading
and those in the head of a panel or a column of the diary are within.
"""

import pytest
from playwright.sync_api import Page, expect

from clinic.access.enums import Role
from tests.browser.every_page import CHARTING_SHEETS, open_whole
from tests.browser.watch import TABLET, TABLET_UPRIGHT
from tests.samples import make_people, make_samples

# How far a press reaches its control is found by asking the page point by point, from the middle
# outwards: a label counts, and so does a part that a rule spreads over its surroundings. The view
# that is shown already is left out: pressing it does nothing.
SMALL = """() => {
  const places = `button, .button, summary, select, textarea, input, nav a, [role=option],
    .page-head__eyebrow a, .panel__head a, .column__head a`;
  const measure = (one) => {
    one.scrollIntoView({block: "center"});
    const parts = [one, ...(one.labels ?? [])];
    const box = one.getBoundingClientRect();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const reaches = (right, down) => {
      const at = document.elementFromPoint(x + right, y + down);
      return parts.some((part) => part.contains(at));
    };
    const far = (right, down) => {
      let steps = 0;
      while (steps < 44 && reaches(right * (steps + 1), down * (steps + 1))) steps += 1;
      return steps;
    };
    return [far(-1, 0) + far(1, 0) + 1, far(0, -1) + far(0, 1) + 1];
  };
  // What lies behind a dialog cannot be pressed.
  return [...(document.querySelector("dialog[open]") ?? document).querySelectorAll(places)]
    .filter((one) => one.checkVisibility() && !one.disabled && one.type !== "hidden")
    .filter((one) => !one.closest(".visually-hidden"))
    .filter((one) => !one.matches(".view__show[aria-pressed=true]"))
    .filter((one) => {
      const box = one.getBoundingClientRect();
      return box.width < 43.5 || box.height < 43.5;
    })
    .map((one) => [one, ...measure(one)])
    .filter(([one, width, height]) => width < 43 || height < 43)
    .map(([one, width, height]) => `${width} x ${height}: ${one.outerHTML.slice(0, 110)}`);
}"""

OUTSIDE = """() => [...document.querySelectorAll(".menu[open] .menu__item")].filter((item) => {
  const parts = [item, item.closest(".menu__panel")];
  const [box, panel] = parts.map((one) => one.getBoundingClientRect());
  const inside = box.left >= panel.left && box.right <= panel.right && box.right <= innerWidth;
  return !(inside && box.top >= panel.top && box.bottom <= panel.bottom && box.width > 150);
}).map((item) => item.textContent.trim())"""

pytestmark = pytest.mark.django_db(transaction=True)


def too_small(page: Page, urls: list[str]) -> list[str]:
    found = []
    for url in urls:
        open_whole(page, url)
        for screen in (TABLET, TABLET_UPRIGHT):
            page.set_viewport_size(screen)
            size = f"{screen['width']}x{screen['height']}"
            found += [f"{url} at {size}: {one}" for one in page.evaluate(SMALL)]
    return found


def test_targets_of_the_injectors_pages(new_page, sign_in):
    people = make_people()
    samples = make_samples(people)
    patient, session = samples["patient"].pk, samples["session"].pk
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, people[Role.INJECTOR])
    urls = [
        "/",
        "/patients/",
        "/patients/new/",
        f"/patients/{patient}/",
        f"/patients/{patient}/edit/",
        f"/sessions/start/{samples['newcomer'].pk}/",
        "/charting/",
        f"/charting/#{samples['session'].key}",
        f"/sessions/{session}/sign/",
        f"/sessions/{samples['signed'].pk}/",
        f"/counts/{samples['count'].pk}/",
        f"/storage/{samples['fridge'].pk}/",
        f"/fridges/{samples['fridge'].pk}/",
    ]
    found = too_small(page, urls)
    assert not found, "\n".join(found)


def test_targets_of_the_desk_s_pages_and_a_row_s_menu_keeps_them(new_page, sign_in):
    people = make_people()
    samples = make_samples(people)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, people[Role.FRONT_DESK])
    visit = f"/appointments/{samples['appointment'].pk}/"
    found = too_small(page, ["/", visit, f"{visit}cancel/", "/diary/"])
    assert not found, "\n".join(found)
    page.goto("/follow-up/")
    page.locator(".more > summary").first.click()
    page.get_by_role("link", name="Book", exact=True).first.wait_for()
    outside = page.evaluate(OUTSIDE)
    assert not outside, outside


def test_targets_of_the_charting_screens_dialogs(new_page, sign_in):
    people = make_people()
    samples = make_samples(people)
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, people[Role.INJECTOR])
    open_whole(page, f"/charting/#{samples['session'].key}")
    found = []
    for opener in CHARTING_SHEETS:
        page.click(opener)
        expect(page.locator("dialog[open]")).to_be_visible()
        found += page.evaluate(SMALL)
        page.keyboard.press("Escape")
    page.click(".face__layers summary")
    found += page.evaluate(SMALL)
    assert not found, "\n".join(found)


def test_a_small_target_is_noticed(new_page, sign_in, owner):
    page = new_page(viewport=TABLET, has_touch=True)
    sign_in(page, owner)
    page.goto("/")
    assert page.evaluate(SMALL) == []
    page.evaluate("""() => {
        const small = document.createElement("button");
        Object.assign(small.style, {all: "unset", width: "20px", height: "44px"});
        document.querySelector("main").append(small);
    }""")
    width, height = page.evaluate(SMALL)[0].split(":")[0].split(" x ")
    assert (int(width), int(height)) == (pytest.approx(20, abs=1), pytest.approx(44, abs=1))

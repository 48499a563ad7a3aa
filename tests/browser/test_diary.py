"""A visit is moved by mouse and by keyboard, and a colleague's page follows by itself."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests.factories import make_appointment, make_patient, make_user, refreshed

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.main_path]


def next_tuesday() -> str:
    """An open day soon: one far ahead is asked about before a visit is moved to it."""
    today = timezone.localdate()
    return str(today + timedelta(days=7 + (1 - today.weekday()) % 7))


def middle(locator) -> tuple[float, float]:
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_moving_a_visit_and_seeing_it_moved(new_page, sign_in, desk, injector, patient):
    day, lea = next_tuesday(), make_user("lea", is_injector=True)
    visit = make_appointment(desk, patient, injector, f"{day} 10:00")
    taken = make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{day} 12:00")
    at_desk, colleague = new_page(), new_page()
    for page, person in ((at_desk, desk), (colleague, lea)):
        sign_in(page, person)
        page.goto(f"/diary/?day={day}")
    block = at_desk.locator(f"#v{visit.pk}")
    moving = at_desk.get_by_role("group", name="Moving a visit")

    # By mouse, into the other column and half an hour down: shown, asked, sent by one press.
    x, y = middle(block)
    to_x, _ = middle(at_desk.locator("[data-title=Lea] .column__body"))
    at_desk.mouse.move(x, y)
    at_desk.mouse.down()
    at_desk.mouse.move(to_x, y + block.bounding_box()["height"], steps=4)
    at_desk.mouse.up()
    expect(moving).to_contain_text("10:00, Ida Injector")
    expect(moving).to_contain_text("10:30, Lea")
    at_desk.get_by_role("button", name="Move", exact=True).click()
    expect(at_desk.locator(f"[data-title=Lea] #v{visit.pk}")).to_contain_text("10:30")
    assert refreshed(visit).practitioner == lea
    expect(at_desk.get_by_role("button", name="Undo")).to_be_visible()

    # A colleague who touched nothing sees it.
    expect(colleague.locator(f"[data-title=Lea] #v{visit.pk}")).to_contain_text("10:30")

    # By keyboard: picked up, moved back and given up; then sent to a time that is taken.
    block.focus()
    at_desk.keyboard.press("m")
    at_desk.keyboard.press("ArrowDown")
    expect(moving).to_contain_text("10:35, Lea")
    at_desk.keyboard.press("Escape")
    expect(moving).to_be_hidden()
    expect(block).to_be_focused()
    at_desk.keyboard.press("m")
    for key in ("ArrowLeft", *["Shift+ArrowDown"] * 6):
        at_desk.keyboard.press(key)
    expect(moving).to_contain_text("Taken: 12:00 Ben Example")
    # A press on whoever has the time does not lead away.
    at_desk.locator(f"#v{taken.pk}").click()
    expect(moving).to_contain_text("Taken: 12:00 Ben Example")
    at_desk.keyboard.press("Enter")
    answer = at_desk.get_by_role("dialog", name="Not moved yet")
    expect(answer).to_contain_text("has another appointment")
    at_desk.keyboard.press("Escape")
    expect(block).to_be_focused()
    assert refreshed(visit).practitioner == lea

    # What the desk presses in the panel is seen on the board behind it.
    at_desk.locator(f"#v{taken.pk}").click()
    expect(at_desk.get_by_role("dialog", name="Visit")).to_contain_text("Ben Example")

"""
No page scrolls sideways and no button's words are cut, however long the names are.

Each page of each role is measured by `test_every_page.py`.
"""

import pytest
from playwright.sync_api import Page

from tests.browser.watch import TABLET_UPRIGHT
from tests.factories import make_patient, make_product, make_units
from tests.records.recalls.cases import make_case, span, treat

PRODUCT = "Hyaluronic acid filler, firm, cross-linked, with lidocaine, 25 mg/mL, 1 mL"

# A part that is meant to scroll by itself, such as a wide table, does not widen the page.
SIDEWAYS = """() => {
  const root = document.documentElement;
  const over = root.scrollWidth - root.clientWidth;
  if (over <= 0) return [];
  const widest = [...document.body.querySelectorAll("*")]
    .filter((one) => one.getBoundingClientRect().right > root.clientWidth + 1)
    .map((one) => one.outerHTML.slice(0, 120));
  return [`scrolls sideways by ${over} px: ${widest.slice(-1)}`];
}"""
# Words are measured where they are drawn; an ellipsis is a cut that says so.
CUT = """() => [...document.querySelectorAll("button, .button, summary, [role=tab]")]
  .filter((one) => one.checkVisibility())
  .flatMap((one) => {
    const box = one.getBoundingClientRect();
    const words = document.createTreeWalker(one, NodeFilter.SHOW_TEXT);
    const over = [];
    while (words.nextNode()) {
      const holder = words.currentNode.parentElement;
      if (holder.closest(".visually-hidden")) continue;
      const around = [holder, holder.parentElement].map((part) => getComputedStyle(part));
      if (around.some((style) => style.textOverflow === "ellipsis")) continue;
      const range = document.createRange();
      range.selectNodeContents(words.currentNode);
      const drawn = range.getBoundingClientRect();
      if (!drawn.width) continue;
      over.push(drawn.right - box.right, box.left - drawn.left, drawn.bottom - box.bottom);
    }
    const most = Math.max(0, ...over);
    return most > 1 ? [`cut by ${Math.round(most)} px: ${one.outerHTML.slice(0, 120)}`] : [];
  })"""

pytestmark = pytest.mark.django_db(transaction=True)


def faults(page: Page) -> list[str]:
    return [*page.evaluate(SIDEWAYS), *page.evaluate(CUT)]


def test_tables_of_stock_and_recalls_are_whole_on_an_upright_tablet(
    page, sign_in, desk, injector, owner
):
    product = make_product(PRODUCT, lead_time_days=7, units_per_pack=2)
    [unit] = make_units(owner, product, quantity=1)
    patient = make_patient(
        desk, "Amélie Fontaine-Brassard", phone="07700 900123",
        email="amelie.fontaine@mail.example", preferred_channel="email",
    )  # fmt: skip
    treat(injector, patient, unit)
    make_case(owner, span(product), is_drill=True, maker="Fennimore Gel Works and Daughters")
    sign_in(page, owner)
    page.set_viewport_size(TABLET_UPRIGHT)
    cut = "[...document.querySelectorAll('.table-wrap')].some(e => e.scrollWidth > e.clientWidth)"
    for url in ("/reorder/", "/recalls/", f"/trace/{unit.lot_id}/"):
        page.goto(url)
        assert page.evaluate(cut) is False, url
    page.goto("/reorder/")
    reckoned = page.get_by_role("row").nth(1).locator("td").last
    assert reckoned.bounding_box()["width"] > TABLET_UPRIGHT["width"] / 2
    page.goto("/recalls/")
    laps = page.locator(".cases__laps")
    assert laps.bounding_box()["width"] > TABLET_UPRIGHT["width"] / 2


@pytest.mark.parametrize(
    ("tag", "width", "kind"), [("p", "2000px", "scrolls sideways"), ("button", "40px", "cut")]
)
def test_a_fault_is_noticed(page, sign_in, owner, tag, width, kind):
    """The two measurements themselves: on a page in order, then on the same with one fault."""
    sign_in(page, owner)
    page.goto("/")
    assert faults(page) == []
    page.evaluate(
        """([tag, width]) => {
          const fault = document.createElement(tag);
          fault.textContent = "Registerapatient";
          Object.assign(fault.style, {width, whiteSpace: "nowrap"});
          document.querySelector("main").replaceChildren(fault);
        }""",
        [tag, width],
    )
    assert [fault.split(" by ")[0] for fault in faults(page)] == [kind]

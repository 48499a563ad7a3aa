"""A scanner that types, in the field for codes, and what the page around it is told."""

import pytest
from django.template.loader import render_to_string

from tests.scan_cases import GTIN, G, P

PAGE = """([field, attributes]) => {
    document.body.innerHTML = `<form ${attributes}>${field}<button>Save</button></form>`;
    window.told = [];
    window.sent = [];
    const form = document.querySelector("form");
    form.addEventListener("scanned", (event) => {
        told.push([event.detail.text, event.detail.scan.lot, event.detail.scan.serial]);
        if (form.hasAttribute("data-refuses")) event.preventDefault();
    });
    form.addEventListener("submit", (event) => {
        event.preventDefault();
        sent.push(form.elements.scan.value);
    });
    return import("/static/js/scanning/field.js");
}"""


@pytest.fixture
def scan_in(bare_page):
    """`scan_in(*parts, form="...")`: a scanner types the parts, separators between, and Enter."""

    def scan(*parts: str, form: str = "") -> dict:
        field = render_to_string("scanning/_field.html", {"id": "id_scan", "name": "scan"})
        bare_page.evaluate(PAGE, [field, form])
        bare_page.locator("#id_scan").focus()
        for place, text in enumerate(parts):
            if place:
                bare_page.keyboard.press("Control+]")
            bare_page.keyboard.type(text)
        bare_page.keyboard.press("Enter")
        return bare_page.evaluate(
            "() => ({told, sent, said: document.querySelector('[data-scan-said]').textContent,"
            " value: document.querySelector('#id_scan').value})"
        )

    return scan


def test_separator_that_a_scanner_types_is_seen_and_kept(scan_in):
    answer = scan_in(f"{P}10LOT42", "21SER9", "17271130", form="data-scan-submits")
    assert answer["value"] == f"{P}10LOT42|21SER9|17271130"
    assert answer["told"] == [[answer["value"], "LOT42", "SER9"]]
    assert answer["sent"] == [answer["value"]]
    assert answer["said"] == (
        f"Read: product {GTIN}, lot LOT42, expiry 30 November 2027, serial SER9."
    )


def test_enter_of_a_scanner_sends_no_form_that_did_not_ask_for_it(scan_in):
    answer = scan_in(f"{P}10LOT42", "17271130")
    assert (len(answer["told"]), answer["sent"]) == (1, [])


def test_page_can_keep_the_form_from_being_sent(scan_in):
    answer = scan_in(f"{P}10LOT42", form="data-scan-submits data-refuses")
    assert (len(answer["told"]), answer["sent"]) == (1, [])


def test_refusal_is_said_at_once(scan_in):
    assert scan_in("LOT42")["said"].startswith("This is not a GS1 code: scan the square or")


def test_pasted_separator_is_seen_and_kept(bare_page, scan_in):
    scan_in("")
    bare_page.evaluate(
        """(text) => {
            const input = document.querySelector("#id_scan");
            input.focus();
            document.execCommand("insertText", false, text);
        }""",
        f"{P}10LOT42{G}17271130",
    )
    assert bare_page.locator("#id_scan").input_value() == f"{P}10LOT42|17271130"

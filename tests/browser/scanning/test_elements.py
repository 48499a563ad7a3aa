"""What the tablet reads of a code without the server is what planning.scan reads."""

from dataclasses import asdict

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from planning.scan import read_scan
from tests.scan_cases import GTIN, READ, REFUSED, TODAY, G, P

READ_ALL = """async ([texts, today]) => {
    const { readScan } = await import("/static/js/scanning/elements.js");
    return texts.map((text) => readScan(text, today));
}"""
ENTRIES = [
    P, "0119521234543210", "010952123454321", "0100000000000000", f"02{GTIN}", "0009521234", "1",
    "10", "10LOT42", "10L17271130", "21SER9", "21", "11270101", "15271130", "17271130", "17270200",
    "17271331", "17260101", "17770101", "70032711301430", "70032711302500", "240REF-7", "30",
    "3012",
    "3712", "20", "91ours", "710A", "3922100", "8005", "LOT42", GTIN, "9521234543213", "95212340",
]  # fmt: skip
MARKS = [
    G, "|", " ", "\n", "]d2", "]C0", "]E0", "]I1", "]x", "(01)", "(10)", "(17)", "(99)", "(1)", "(",
    ")", "+", "https://", "{GS}", "<gs>", "\\x1d", "é", "٣", "\x00", "#", "A" * 20, "😀",
]  # fmt: skip
TEXTS = st.lists(st.one_of(st.sampled_from(ENTRIES), st.sampled_from(MARKS)), max_size=7).map(
    "".join
)


def by_python(text: str) -> dict:
    scan = asdict(read_scan(text, today=TODAY))
    return {
        "gtin": scan["gtin"],
        "lot": scan["lot"],
        "expiry": scan["expiry"] and scan["expiry"].isoformat(),
        "serial": scan["serial"],
        "produced": scan["produced"] and scan["produced"].isoformat(),
        "expiryTime": scan["expiry_time"] and f"{scan['expiry_time']:%H:%M}",
        "additionalId": scan["additional_id"],
        "warnings": list(scan["warnings"]),
        "error": scan["error"],
        "needsServer": False,
    }


@pytest.fixture
def by_tablet(bare_page):
    """`by_tablet(texts)`: what the browser's module makes of each."""
    return lambda texts: bare_page.evaluate(READ_ALL, [texts, TODAY.isoformat()])


def test_every_known_case_is_read_alike(by_tablet):
    texts = [case.text for case in (*READ, *REFUSED)]
    read = by_tablet(texts)
    left = [text for text, scan in zip(texts, read, strict=True) if scan["needsServer"]]
    assert [text for text in left if "http" not in text.lower() and text != "(24)0REF"] == []
    unlike = [
        (text, scan, by_python(text))
        for text, scan in zip(texts, read, strict=True)
        if text not in left and scan != by_python(text)
    ]
    assert unlike == []


def test_what_is_left_to_the_server_is_refused_with_what_to_do(by_tablet):
    (scan,) = by_tablet([f"https://id.example.org/01/{GTIN}"])
    assert scan["needsServer"]
    assert scan["error"].startswith("The tablet alone cannot read a web address: wait for the")
    assert scan["gtin"] == ""


def test_strings_of_every_kind_are_read_alike(by_tablet):
    texts = []

    @settings(
        max_examples=600,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(TEXTS)
    def gather(text):
        texts.append(text)

    gather()
    read = by_tablet(texts)
    compared = [
        (text, scan, by_python(text))
        for text, scan in zip(texts, read, strict=True)
        if not scan["needsServer"]
    ]
    assert len(compared) > len(texts) * 0.7
    assert [row for row in compared if row[1] != row[2]] == []

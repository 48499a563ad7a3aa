"""What people, scripts and slips put into a field, and what somebody would put on purpose."""

import sys

from hypothesis import strategies as st

# Each a class of trouble: SQL, HTML and templates; text a database cannot hold; numbers beyond a
# row's; days that do not exist or that no zone reaches; digits and spaces that only look like ours.
ODD = [
    "", " ", "\x00", "a\x00b", "\n\r\n", "\u202e\u200f", "\ufeff", "\ud7ff\uffff", "😀" * 20,
    "' OR 1=1 --", '"; DROP TABLE x; --', "%", "_", "\\", "{{ 7*7 }}", "{% debug %}",
    "<script>1</script>", "../../etc/passwd", "O’Brien-Šćepanović", "عبد الرحمن", "1e400", "nan",
    "-inf", "0", "-1", "-0", "0.000000000000000000001", "1,5", "1.5.5", "１２", "٣", "²", "½",
    "0x10", "1_000", "+1", " 1 ", str(2**31), str(2**63 - 1), str(2**63), str(-(2**63) - 1),
    "9" * 400, "True", "null", "[]", "{}", "[1]", '{"a": 1}', "2026-02-30", "0001-01-01",
    "9999-12-31", "10000-01-01", "2026-11-31", "31.12.2026", "2026-03-29", "24:00", "23:59:60",
    "99:99", "2026-12-01T25:00", "9999-12-31T23:59", "0001-01-01T00:00", "2026-03-29T02:30", "x@",
    "a@b", "+49 30 123456", "tel:", "http://", "a" * 5_000,
    "00000000-0000-0000-0000-000000000000", "front:rest", "on", "off", "csrfmiddlewaretoken",
]  # fmt: skip

# Half of a surrogate pair is no text that a browser could send.
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
numbers = st.one_of(
    st.integers(-(2**65), 2**65), st.floats(), st.decimals(allow_nan=True, places=4)
).map(str)
days = st.dates().map(str)
times = st.times().map(lambda time: f"{time:%H:%M}")
moments = st.datetimes().map(lambda moment: f"{moment:%Y-%m-%dT%H:%M}")
odd = st.sampled_from(ODD)
keys = st.uuids().map(str)
any_value = st.one_of(odd, odd, texts, numbers, days, times, moments, keys)

# Parts of an address: what a converter takes and no table holds.
numbers_of_rows = st.sampled_from([0, 1, 2**31, 2**63 - 1, 2**63, 10**30, sys.maxsize + 1])

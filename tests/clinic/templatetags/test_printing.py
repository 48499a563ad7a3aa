import pytest

from clinic.templatetags.printing import unbroken


@pytest.mark.parametrize(
    ("text", "html"),
    [
        ("Needle 27 G, 13 mm", "Needle 27 G,  13 mm"),
        ("Hyaluronidase 1,500 units", "Hyaluronidase 1,500 units"),
        ("No number", "No number"),
    ],
)
def test_a_number_stays_with_its_unit(text, html):
    assert unbroken(text).replace('<span class="nobreak">', "").replace("</span>", "") == text
    parts = [part for part in ("27 G,", "13 mm", "1,500 units") if part in html]
    for part in parts:
        assert f'<span class="nobreak">{part}</span>' in unbroken(text)
    assert unbroken(text).count("<span") == len(parts)


def test_what_is_typed_stays_text():
    assert unbroken("1 <b>mL & 2 <i>") == "1 &lt;b&gt;mL &amp; 2 &lt;i&gt;"

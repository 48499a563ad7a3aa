import pytest

from clinic.templatetags.telephone import dialled


@pytest.mark.parametrize(
    ("typed", "called"),
    [
        ("07700 900123", "07700900123"),
        # RFC 3966, 5.1.1: visual separators carry no meaning, "+" leads a global number.
        ("+44 7700-900.123", "+447700900123"),
        ("+44 (0)20 7946 0018", "+442079460018"),
        ("(020) 7946 0018", "02079460018"),
        ("020 7946 0018 ext. 5", "02079460018"),
        ("Home: 020 7946 0018 or 07700 900123", "02079460018"),
        ("٠٧٧٠٠ ٩٠٠١٢٣", "07700900123"),
        ("none", ""),
    ],
)
def test_a_link_dials_digits_alone(typed, called):
    assert dialled(typed) == called

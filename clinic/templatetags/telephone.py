"""Template filter for telephone numbers, built in to every template."""

import re

from django import template

register = template.Library()

# The first number of what was typed, up to a word such as "ext." or "or".
_NUMBER = re.compile(r"\+?\d[\d\s()./–-]*")
_TRUNK_ZERO = re.compile(r"\(0\)")


@register.filter
def dialled(text: str) -> str:
    """
    What a "tel:" link dials: digits, led by "+" where the country is said (RFC 3966, without its
    visual separators). A zero in brackets is not dialled with the country: "+44 (0)20" is +4420.
    """
    found = _NUMBER.search(text)
    number = found.group() if found else ""
    if number.startswith("+"):
        number = _TRUNK_ZERO.sub("", number)
    digits = "".join(str(int(char)) for char in number if char.isdecimal())
    return f"+{digits}" if number.startswith("+") else digits

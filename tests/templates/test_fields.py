"""
The field pack: what a person who does not see the page is told about a field.

Source: W3C, Web Content Accessibility Guidelines 2.2, success criteria 1.3.1 (label and group),
3.3.1 (an error names its field) and 3.3.2 (help belongs to its field).
"""

import re

import pytest
from crispy_forms.utils import render_crispy_form

from clinic.style.forms import SampleForm


@pytest.fixture
def wrong() -> str:
    """The sample form, sent back with name, date, channel and consent missing."""
    return render_crispy_form(SampleForm({"side": "left", "volume": "1.2"}))


def tag_of(html: str, field_id: str) -> str:
    return re.search(rf'<(?:input|select|textarea)[^>]* id="{field_id}"[^>]*>', html).group()


def element_text(html: str, element_id: str) -> str:
    inner = re.search(rf'id="{element_id}"[^>]*>(.*?)</div>', html, re.DOTALL).group(1)
    return " ".join(re.sub(r"<[^>]+>", " ", inner).split())


def test_help_and_error_are_read_with_their_field(wrong):
    described = re.search(r'aria-describedby="([^"]+)"', tag_of(wrong, "id_name")).group(1)
    assert [element_text(wrong, name) for name in described.split()] == [
        "As the patient writes it, in any script.",
        "This field is required.",
    ]
    assert 'aria-invalid="true"' in tag_of(wrong, "id_name")


def test_a_group_of_choices_is_read_with_its_error(wrong):
    group = re.search(r'<fieldset id="div_id_plane"[^>]*>', wrong).group()
    described = re.search(r'aria-describedby="([^"]+)"', group).group(1)
    assert element_text(wrong, described.strip()) == "This field is required."


def test_the_label_is_the_label_and_no_more(wrong):
    label = re.search(r'<label[^>]* for="id_name">(.*?)</label>', wrong, re.DOTALL).group(1)
    assert re.sub(r"<[^>]+>", "", label) == "Name"


def test_what_was_typed_is_still_there(wrong):
    assert 'value="1.2"' in tag_of(wrong, "id_volume")
    assert " checked" in tag_of(wrong, "id_side_2")


def test_every_label_points_at_a_field(wrong):
    ids = set(re.findall(r'\sid="([^"]+)"', wrong))
    assert [name for name in re.findall(r'\sfor="([^"]+)"', wrong) if name not in ids] == []


def test_a_form_without_mistakes_says_nothing_of_mistakes():
    html = render_crispy_form(SampleForm())
    assert "field--wrong" not in html
    assert "flag--stop" not in html

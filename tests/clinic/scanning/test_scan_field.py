"""A code as a field of a form."""

import pytest
from django import forms

from clinic.database.form_fields import ScanField
from planning.scan import Scan
from tests.scan_cases import GTIN, G, P


class Asked(forms.Form):
    scan = ScanField()


class Offered(forms.Form):
    scan = ScanField(required=False)


def test_code_is_cleaned_to_what_it_says():
    form = Asked({"scan": f"{G}{P}10LOT42{G}"})
    assert form.is_valid()
    scan = form.cleaned_data["scan"]
    assert isinstance(scan, Scan)
    assert (scan.gtin, scan.lot) == (GTIN, "LOT42")


@pytest.mark.parametrize(("text", "said"), [("", "Nothing was read"), ("LOT42", "not a GS1 code")])
def test_what_is_no_code_is_refused_in_the_words_of_the_reader(text, said):
    (error,) = Asked({"scan": text}).errors["scan"]
    assert said in error


def test_field_that_is_not_required_may_stay_empty():
    form = Offered({"scan": "  "})
    assert form.is_valid()
    assert form.cleaned_data["scan"] is None


def test_what_is_no_code_is_refused_there_too():
    assert "scan" in Offered({"scan": "LOT42"}).errors

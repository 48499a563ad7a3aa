"""The form of one code."""

from django import forms

from clinic.database.form_fields import ScanField


class ScanForm(forms.Form):
    scan = ScanField(label="Scan or type the code")

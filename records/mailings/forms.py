"""The form of a template, and the choice of what a preview shows."""

from collections.abc import Callable, Collection

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Submit
from django import forms

from clinic.database.form_fields import name_what_is_required
from planning.merging import MergeError, Placeholder, check_body, check_subject
from records.mailings.models import MailTemplate
from records.mailings.occasions import all_placeholders

FORM_ID = "mail-template"


class MailTemplateForm(forms.ModelForm):
    """A text of the clinic's own; a placeholder that is not known is named on its field."""

    class Meta:
        model = MailTemplate
        fields = ["name", "subject", "body", "is_active"]
        labels = {"body": "Text"}
        help_texts = {
            "name": "For choosing it; patients do not see it.",
            "body": "An empty line begins a new paragraph.",
        }
        widgets = {"body": forms.Textarea(attrs={"rows": 16})}
        error_messages = {
            "name": {"unique": "Another template has this name. Add what tells them apart."}
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.form_id = FORM_ID
        self.helper.attrs = {"data-once": ""}
        self.helper.add_input(Submit("save", "Save template"))

    def clean_subject(self) -> str:
        return _checked(check_subject, self.cleaned_data["subject"])

    def clean_body(self) -> str:
        return _checked(check_body, self.cleaned_data["body"])


def _checked(check: Callable[[str, Collection[Placeholder]], None], text: str) -> str:
    try:
        check(text, all_placeholders())
    except MergeError as error:
        raise forms.ValidationError(str(error)) from error
    return text

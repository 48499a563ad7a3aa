"""Whom a case writes to, how, and with which text."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django import forms

from planning.merging import Placeholder
from records.mailings.enums import MailingChannel
from records.mailings.models import MailTemplate
from records.mailings.occasions import COMMON
from records.mailings.queries import templates_for
from records.recalls.enums import Whom
from records.recalls.queries.mailings import RECALL_WORDS

FORM_ID = "case-mailing"
KNOWN: tuple[Placeholder, ...] = (*COMMON, *RECALL_WORDS)


class CaseMailingForm(forms.Form):
    """Offers the templates in use that a recall can fill."""

    template = forms.ModelChoiceField(
        MailTemplate.objects.none(),
        empty_label="Choose",
        error_messages={"required": "Choose what is written."},
        help_text="Templates that ask for something a recall does not know are not offered.",
    )
    channel = forms.ChoiceField(
        label="By", choices=MailingChannel.choices(), widget=forms.RadioSelect
    )
    whom = forms.ChoiceField(
        label="To",
        choices=Whom.choices(),
        widget=forms.RadioSelect,
        help_text="Whoever wants no further contact is left out in any case.",
    )

    def __init__(self, *args, **kwargs):
        kwargs.setdefault("initial", {"channel": "letter", "whom": Whom.NOT_REACHED.value})
        super().__init__(*args, **kwargs)
        offered = [template.pk for template in templates_for({word.name for word in KNOWN})]
        self.fields["template"].queryset = MailTemplate.objects.filter(pk__in=offered)
        self.helper = FormHelper()
        self.helper.form_id = FORM_ID
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout("template", Field("channel"), Field("whom"))
        self.helper.add_input(Submit("start", "Put them on the list"))

    @property
    def choice(self) -> dict:
        """As `start_case_mailing` takes it; the form is valid."""
        return {
            "template": self.cleaned_data["template"],
            "channel": MailingChannel(self.cleaned_data["channel"]),
            "whom": Whom(self.cleaned_data["whom"]),
        }

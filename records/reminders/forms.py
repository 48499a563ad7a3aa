"""Input of the patient's answer and of the owner's pages."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms

from clinic.database.form_fields import name_what_is_required, say_bounds
from clinic.database.seen_values import SEEN, SeenValuesForm
from planning.merging import MergeError
from records.reminders.enums import AnswerKind, MessageKind, MessageRoute
from records.reminders.models import NOTE_LENGTH, MessageTemplate, ReminderPolicy
from records.reminders.services.owning import check_wording

TEMPLATE_FORM_ID = "message-template"


class AnswerForm(forms.Form):
    """What a patient says; the note belongs to a change alone."""

    kind = forms.ChoiceField(
        label="Your answer",
        choices=[
            (AnswerKind.COMES.value, "I will come"),
            (AnswerKind.CHANGE.value, "I would like another time"),
            (AnswerKind.CANNOT.value, "I cannot come"),
        ],
        widget=forms.RadioSelect,
        error_messages={
            "required": "Choose one of the three.",
            "invalid_choice": "Choose one of the three.",
        },
    )
    note = forms.CharField(
        label="When would suit you?",
        required=False,
        max_length=NOTE_LENGTH,
        strip=True,
        help_text="Nothing about your health, please: call us for that.",
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "off", "dir": "auto"}),
        error_messages={
            "max_length": f"That is too long: at most {NOTE_LENGTH} letters. Or please call us."
        },
    )

    def clean_note(self) -> str:
        # One line of plain letters: line ends and control signs have no say on the desk's list.
        return " ".join(
            "".join(sign if sign.isprintable() else " " for sign in self.cleaned_data["note"])
            .split()
        )  # fmt: skip


class ReminderPolicyForm(SeenValuesForm):
    class Meta:
        model = ReminderPolicy
        fields = ["is_on", "confirms", "reminds", "hours_before", "checks_in"]
        help_texts = {
            "is_on": (
                "Whoever has a booking already when this is turned on gets no confirmation of it."
            ),
            "confirms": (
                "Whoever has a booking already when this is turned on gets no confirmation of it."
            ),
            "hours_before": "Common practice, no source.",
            "checks_in": "At 10:00, by a link. A worry stands first on the follow-up list: turn it "
            "on when somebody looks at that every day.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        say_bounds(self)
        full = "field--full"
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN,
            Fieldset(
                "What is sent",
                Field("is_on", wrapper_class=full),
                Field("confirms", wrapper_class=full),
                Field("reminds", wrapper_class=full),
                AppendedText("hours_before", "hours"),
                Field("checks_in", wrapper_class=full),
            ),
        )
        self.helper.add_input(Submit("save", "Save"))


class MessageTemplateForm(forms.ModelForm):
    """The words of one kind by one route; what is not known is named on its field."""

    class Meta:
        model = MessageTemplate
        fields = ["subject", "text"]
        widgets = {"text": forms.Textarea(attrs={"rows": 10})}
        help_texts = {"subject": "Everybody on the way can read it: no name, nothing clinical."}

    def __init__(self, *args, kind: MessageKind, route: MessageRoute, **kwargs):
        super().__init__(*args, **kwargs)
        self.kind, self.route = kind, route
        name_what_is_required(self)
        if route == MessageRoute.SMS:
            del self.fields["subject"]
        self.helper = FormHelper()
        self.helper.form_id = TEMPLATE_FORM_ID
        self.helper.attrs = {"data-once": ""}
        self.helper.add_input(Submit("save", "Save words"))

    def clean_text(self) -> str:
        return self.cleaned_data["text"].replace("\r\n", "\n")

    def clean(self) -> dict:
        typed = super().clean() or {}
        for field, subject, text in (
            ("subject", typed.get("subject", ""), ""),
            ("text", "-", typed.get("text", "")),
        ):
            if field not in self.fields or field in self.errors:
                continue
            try:
                check_wording(self.kind, self.route, subject, text)
            except MergeError as error:
                self.add_error(field, str(error))
        return typed

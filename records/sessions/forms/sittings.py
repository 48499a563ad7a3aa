"""Starting a session."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Fieldset, Layout, Submit
from django import forms

from clinic.database.form_fields import MomentField
from planning.vocabulary import Jaw

NOW, EARLIER = "now", "earlier"


class StartForm(forms.Form):
    """When it takes place, and the outline that fits the face better."""

    when = forms.ChoiceField(
        label="The treatment",
        choices=[(NOW, "takes place now"), (EARLIER, "was on an earlier day or hour")],
        initial=NOW,
        widget=forms.RadioSelect,
    )
    started_at = MomentField(label="Treated at", required=False)
    late_reason = forms.CharField(
        label="Written down later because",
        required=False,
        max_length=300,
        help_text="Needed when the treatment was not today. The note shows it.",
    )
    jaw = forms.ChoiceField(
        label="Outline of the drawing",
        choices=Jaw.choices(),
        initial=Jaw.AVERAGE,
        widget=forms.RadioSelect,
        help_text="It can be changed until the session is signed.",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("when"),
            Div(
                Field("started_at"),
                Field("late_reason"),
                css_class="form-grid start__earlier",
            ),
            Fieldset("", Field("jaw", wrapper_class="segmented")),
            Div(
                Submit("start", "Start the session", css_class="button button--primary"),
                HTML('<a class="button" href="{{ back }}">Back</a>'),
                css_class="form-actions",
            ),
        )

    def clean(self) -> dict:
        data = super().clean() or {}
        if data.get("when") == EARLIER:
            if not data.get("started_at") and "started_at" not in self.errors:
                self.add_error("started_at", "Say when the treatment took place.")
        else:
            data["started_at"], data["late_reason"] = None, ""
        return data

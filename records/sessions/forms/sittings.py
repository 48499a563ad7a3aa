"""Starting a session."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Fieldset, Layout, Submit
from django import forms
from django.utils import timezone

from clinic.database.form_fields import MomentField
from planning.vocabulary import Jaw
from records.gates.errors import GateError
from records.gates.registry import Gate
from records.gates.services import decide
from records.patients.models import Patient
from records.sessions.queries.gates import gates_of

NOW, EARLIER = "now", "earlier"


class StartForm(forms.Form):
    """
    When it takes place, the outline that fits the face better, and why to go on where a stop stands
    in the way. `gates` is what has to be settled, as of the moment that was typed.
    """

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

    reason = forms.CharField(
        label="Why you go on",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Your decision about what stands above, in writing. Page and note show it as a "
        "flag.",
    )

    def __init__(self, *args, patient: Patient, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.patient = patient
        self.gates = gates_of(patient, timezone.now())

    @property
    def stops(self) -> list[Gate]:
        return [gate for gate in self.gates if gate.is_stop]

    @property
    def helper(self) -> FormHelper:
        """Asks for a reason only where there is a stop, which may depend on the day typed."""
        helper = FormHelper()
        helper.attrs = {"data-once": ""}
        helper.layout = Layout(
            *([Field("reason")] if self.stops else []),
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
        return helper

    def clean(self) -> dict:
        data = super().clean() or {}
        if data.get("when") == EARLIER:
            if not data.get("started_at") and "started_at" not in self.errors:
                self.add_error("started_at", "Say when the treatment took place.")
        else:
            data["started_at"], data["late_reason"] = None, ""
        if "started_at" in data and "started_at" not in self.errors:
            self._decide(data)
        return data

    def _decide(self, data: dict) -> None:
        moment = data.get("started_at")
        if moment:
            self.gates = gates_of(self.patient, moment)
        try:
            data["decisions"] = decide(
                self.stops, reason=data.get("reason", ""), is_done=moment is not None
            )
        except GateError as error:
            self.add_error("reason", str(error))

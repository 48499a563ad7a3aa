"""Input about adverse events."""

from datetime import date
from typing import cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.stock.models import Lot
from planning.atlas.regions import Region
from planning.vocabulary import Side
from records.adverse_events.enums import EventOutcome, Grade
from records.adverse_events.models import AdverseEvent
from records.adverse_events.validators import check_fatal
from records.patients.models import Patient
from records.sessions.models import TreatmentSession
from records.trace.queries.received import Received, by_lot, received_by

SHOWN_REGIONS = 3
_WIDE = "field--full"


class AskedFor(forms.Form):
    """
    What the address of the form names. `case` is that of a recall, whose pages link the event to it
    once it is recorded.
    """

    patient = forms.ModelChoiceField(Patient.objects.all(), required=False)
    session = forms.IntegerField(required=False, min_value=1)
    lot = forms.IntegerField(required=False, min_value=1)
    case = forms.IntegerField(required=False, min_value=1)


class SessionChoice(forms.ModelChoiceField):
    def label_from_instance(self, session: TreatmentSession) -> str:
        return f"{day_text(timezone.localdate(session.started_at))}, {session.injector}"


class LotChoice(forms.ModelChoiceField):
    """The lots that one patient received, each with when and where it was last."""

    def of(self, received: list[Received]) -> None:
        lots = by_lot(received)
        self._latest = {lot.pk: rows[0] for lot, rows in lots}
        self.queryset = Lot.objects.filter(pk__in=self._latest).select_related("product")

    def label_from_instance(self, lot: Lot) -> str:
        row = self._latest[lot.pk]
        day = day_text(timezone.localdate(row.session.started_at))
        more = "" if len(row.regions) <= SHOWN_REGIONS else " and elsewhere"
        where = f"{', '.join(row.regions[:SHOWN_REGIONS])}{more}"
        return f"{lot.number}, {lot.product} ({day}: {where})"


class AdverseEventForm(forms.ModelForm):
    """One event of the patient of the given instance."""

    session = SessionChoice(
        TreatmentSession.objects.none(), required=False, empty_label="Not known, or several"
    )
    lot = LotChoice(
        Lot.objects.none(),
        label="Suspected lot",
        required=False,
        empty_label="None, or not known",
        help_text="Of those this patient received. Whether it was the cause is not said by it.",
    )
    region = forms.ChoiceField(
        required=False, choices=[("", "No single region"), *Region.choices()]
    )
    side = forms.ChoiceField(
        required=False, choices=[("", "Not said"), *Side.choices()], widget=forms.RadioSelect
    )
    onset_on = DayField(label="First signs")
    grade = forms.ChoiceField(choices=Grade.choices(), widget=forms.RadioSelect)
    outcome = forms.ChoiceField(choices=EventOutcome.choices(), initial=EventOutcome.ONGOING)

    class Meta:
        model = AdverseEvent
        fields = [
            "onset_on", "grade", "signs", "session", "lot", "region", "side", "actions", "outcome",
        ]  # fmt: skip
        widgets = {
            "signs": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
            "actions": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        }

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        patient = self.instance.patient
        self.received = received_by(patient)
        sessions = patient.sessions.standing().select_related("injector")
        cast(SessionChoice, self.fields["session"]).queryset = sessions
        cast(LotChoice, self.fields["lot"]).of(self.received)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Fieldset("What happened", "onset_on", "grade", Field("signs", wrapper_class=_WIDE)),
            Fieldset(
                "Where it may come from",
                Field("session", wrapper_class=_WIDE),
                Field("lot", wrapper_class=_WIDE),
                "region",
                Field("side", wrapper_class=_WIDE),
            ),
            Fieldset(
                "What was done, and how it stands",
                Field("actions", wrapper_class=_WIDE),
                "outcome",
            ),
            HTML('{% include "adverse_events/_form_actions.html" %}'),
        )

    def clean_onset_on(self) -> date:
        day, born = self.cleaned_data["onset_on"], self.instance.patient.birth_date
        if day > timezone.localdate():
            raise forms.ValidationError("This day is still to come.")
        if day < born:
            raise forms.ValidationError("The patient was not born by then.")
        return day

    def clean(self) -> dict:
        data = super().clean() or self.cleaned_data
        self._compare_with_session(data)
        if "grade" in data and "outcome" in data:
            try:
                check_fatal(data["grade"], data["outcome"])
            except forms.ValidationError as error:
                self.add_error("outcome", error)
        return data

    def _compare_with_session(self, data: dict) -> None:
        session, lot, onset = (data.get(name) for name in ("session", "lot", "onset_on"))
        if not session:
            return
        treated = timezone.localdate(session.started_at)
        if onset and onset < treated:
            self.add_error(
                "onset_on",
                f"The session was on {day_text(treated)}: signs before it have another cause. "
                "Correct the day, or choose another session.",
            )
        used = {row.lot.pk for row in self.received if row.session.pk == session.pk}
        if lot and lot.pk not in used:
            self.add_error(
                "lot",
                f"Nothing of lot {lot.number} was given in the session of {day_text(treated)}. "
                "Choose another lot or session, or leave the session open.",
            )


class CloseForm(forms.Form):
    """How an event ended."""

    outcome = forms.ChoiceField(
        label="How did it end?",
        choices=[(word.value, word.label) for word in EventOutcome if word.is_final],
        widget=forms.RadioSelect,
        error_messages={"required": "Say how it ended before you close it."},
    )

    def __init__(self, *args, event: AdverseEvent, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.grade, self.back = event.grade, back
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.form_error_title = "Not closed yet: please look at the marked field."
        self.helper.layout = Layout(
            "outcome", HTML('{% include "adverse_events/_close_actions.html" %}')
        )

    def clean_outcome(self) -> EventOutcome:
        check_fatal(self.grade, self.cleaned_data["outcome"])
        return EventOutcome(self.cleaned_data["outcome"])


def day_text(day: date) -> str:
    """ "3 Mar 2026"."""
    return f"{day:%-d %b %Y}"

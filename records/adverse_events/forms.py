"""Input about adverse events."""

from datetime import date
from typing import cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.products.models import Product
from clinic.stock.models import Lot, UnitOfStock
from planning.atlas.regions import Region
from planning.sources import EVENT_CAUSALITY, EVENT_SERIOUSNESS
from planning.vocabulary import Side
from records.adverse_events.enums import Causality, EventOutcome, Grade, Seriousness
from records.adverse_events.models import AdverseEvent
from records.adverse_events.queries import OFFERED_SESSIONS, point_words, points_of
from records.adverse_events.validators import check_fatal
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.received import Received, by_lot, received_by

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


class UnitChoice(forms.ModelChoiceField):
    """The units from which one patient received something."""

    def of(self, received: list[Received]) -> None:
        pks = {row.unit.pk for row in received}
        self.queryset = UnitOfStock.objects.filter(pk__in=pks).select_related("lot__product")

    def label_from_instance(self, unit: UnitOfStock) -> str:
        return f"{unit.label}, lot {unit.lot.number}, {unit.lot.product}"


class PointsChoice(forms.ModelMultipleChoiceField):
    """
    Points of one patient. All of them are taken; offered are those of the event's session, else of
    the latest ones, and those chosen before.
    """

    def of(self, event: AdverseEvent, session_pk: int | None) -> None:
        points = list(points_of(event.patient))
        chosen = set(event.points.values_list("pk", flat=True)) if event.pk else set()
        sessions = list(dict.fromkeys(point.session_id for point in points))
        shown = {session_pk} if session_pk in sessions else set(sessions[:OFFERED_SESSIONS])
        self.queryset = points_of(event.patient)
        self.widget.choices = [
            (point.pk, self.label_from_instance(point))
            for point in points
            if point.session_id in shown or point.pk in chosen
        ]

    def label_from_instance(self, point: InjectionEntry) -> str:
        return point_words(point)


class AdverseEventForm(SeenValuesForm):
    """One event of the patient of the given instance; two may write at once."""

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
    unit = UnitChoice(
        UnitOfStock.objects.none(),
        label="Suspected unit",
        required=False,
        empty_label="None, or not known",
    )
    product = forms.ModelChoiceField(
        Product.objects.none(),
        label="Suspected product",
        required=False,
        empty_label="That of the lot, or not known",
        help_text="Only where the lot is not known.",
    )
    points = PointsChoice(
        InjectionEntry.objects.none(),
        label="Points in question",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Of the session if one is stored, else of the latest ones.",
    )
    region = forms.ChoiceField(
        required=False, choices=[("", "No single region"), *Region.choices()]
    )
    side = forms.ChoiceField(
        required=False, choices=[("", "Not said"), *Side.choices()], widget=forms.RadioSelect
    )
    onset_on = DayField(label="First signs")
    grade = forms.ChoiceField(choices=Grade.choices(), widget=forms.RadioSelect)
    seriousness = forms.ChoiceField(
        required=False,
        choices=[("", "Not assessed yet"), *Seriousness.choices()],
        help_text="The gravest that holds. Severe is not the same as serious. "
        f"Source: {EVENT_SERIOUSNESS}.",
    )
    causality = forms.ChoiceField(
        label="The product as the cause",
        required=False,
        choices=[("", "Not assessed yet"), *Causality.choices()],
        help_text=f"Source: {EVENT_CAUSALITY}.",
    )
    next_check_on = DayField(label="Next check", required=False)
    outcome = forms.ChoiceField(choices=EventOutcome.choices(), initial=EventOutcome.ONGOING)

    class Meta:
        model = AdverseEvent
        fields = [
            "onset_on", "grade", "seriousness", "causality", "signs", "session", "lot", "unit",
            "product", "points", "region", "side", "actions", "next_check_on", "outcome",
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
        cast(UnitChoice, self.fields["unit"]).of(self.received)
        products = Product.objects.filter(pk__in={row.lot.product_id for row in self.received})
        cast(forms.ModelChoiceField, self.fields["product"]).queryset = products
        named = str(self.initial.get("session") or self.data.get("session") or "")
        session_pk = int(named) if named.isdecimal() else None
        cast(PointsChoice, self.fields["points"]).of(self.instance, session_pk)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN,
            Fieldset(
                "What happened",
                "onset_on",
                "grade",
                Field("signs", wrapper_class=_WIDE),
                Field("seriousness", wrapper_class=_WIDE),
            ),
            Fieldset(
                "Where it may come from",
                Field("session", wrapper_class=_WIDE),
                Field("lot", wrapper_class=_WIDE),
                Field("unit", wrapper_class=_WIDE),
                Field("product", wrapper_class=_WIDE),
                Field("points", wrapper_class=_WIDE),
                "region",
                Field("side", wrapper_class=_WIDE),
                Field("causality", wrapper_class=_WIDE),
            ),
            Fieldset(
                "What was done, and how it stands",
                Field("actions", wrapper_class=_WIDE),
                "outcome",
                "next_check_on",
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
        self._compare_suspects(data)
        if data.get("grade") == Grade.DEATH and data.get("seriousness") == Seriousness.NOT_SERIOUS:
            self.add_error("seriousness", "A death is serious: choose “Death”, or another grade.")
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

    def _compare_suspects(self, data: dict) -> None:
        lot, unit, product = (data.get(name) for name in ("lot", "unit", "product"))
        if lot and unit and unit.lot_id != lot.pk:
            self.add_error(
                "unit",
                f"{unit.label} is of lot {unit.lot.number}, not of {lot.number}. Choose a unit of "
                "that lot, or leave the lot open.",
            )
        of_lot = lot or (unit and unit.lot)
        if product and of_lot and of_lot.product_id != product.pk:
            self.add_error(
                "product",
                f"Lot {of_lot.number} is of {of_lot.product}. Leave the product open, or the lot.",
            )
        # A unit names its lot, a lot its product, as the service writes them.
        if of_lot:
            data["lot"], data["product"] = of_lot, None


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

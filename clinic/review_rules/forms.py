"""Forms of a review rule and of how long an effect lasts."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row, Submit
from django import forms

from clinic.database.form_fields import name_what_is_required, say_bounds
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.review_rules.enums import BACKINGS, Rolling
from clinic.review_rules.models import ANY_KIND, ANY_PART, EffectDuration, ReviewRule
from planning.atlas.region_groups import RegionGroup
from planning.review_dates import Interval, IntervalUnit
from planning.review_rules import ReviewEvent
from planning.sources import Confidence
from planning.vocabulary import ProductKind

_FULL = "field--full"


class BackedForm(SeenValuesForm):
    """What both have in common: a part of the body, and where the figures come from."""

    group = forms.ChoiceField(
        label="Part of the body", required=False, choices=[("", ANY_PART), *RegionGroup.choices()]
    )
    backing = forms.ChoiceField(
        label="Known from", choices=[(known.value, known.label) for known in BACKINGS],
        widget=forms.RadioSelect,
        initial=Confidence.CLINIC_POLICY,
    )  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("backing") == Confidence.PUBLISHED and not cleaned.get("source"):
            self.add_error("source", "Name the publication: authors or title, year.")
        return cleaned


class RuleForm(BackedForm):
    kind = forms.ChoiceField(
        label="Product", required=False, choices=[("", ANY_KIND), *ProductKind.choices()]
    )
    event = forms.ChoiceField(label="After", choices=ReviewEvent.choices())
    rolling = forms.ChoiceField(
        label="On a closed day it moves", choices=Rolling.choices(), widget=forms.RadioSelect
    )

    class Meta:
        model = ReviewRule
        fields = [
            "label", "kind", "group", "event", "count", "unit", "early_days", "late_days",
            "rolling", "backing", "source", "is_active",
        ]  # fmt: skip
        labels = {
            "label": "Name",
            "count": "Review after",
            "unit": "Counted in",
            "early_days": "Earliest",
            "late_days": "Latest",
            "source": "Which publication",
            "is_active": "In use",
        }
        help_texts = {
            "label": "The front desk reads it: name the visit, such as “First look”, not what was "
            "done or what is wrong.",
            "late_days": "After this the review counts as overdue.",
            "is_active": "A rule out of use asks for no new review.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["unit"].choices = [one for one in self.fields["unit"].choices if one[0]]
        self.helper.layout = Layout(
            SEEN,
            Fieldset(
                "What it is for", Field("label", wrapper_class=_FULL), "kind", "group", "event"
            ),
            Fieldset(
                "When",
                Row("count", "unit"),
                AppendedText("early_days", "days before"),
                AppendedText("late_days", "days after"),
                Field("rolling", wrapper_class=_FULL),
            ),
            Fieldset(
                "Where it comes from",
                Field("backing", wrapper_class=_FULL),
                Field("source", wrapper_class=_FULL),
            ),
            Field("is_active", wrapper_class=_FULL),
        )
        self.helper.add_input(Submit("save", "Save rule"))

    def clean(self):
        cleaned = super().clean()
        count, unit = cleaned.get("count"), cleaned.get("unit")
        early = cleaned.get("early_days")
        if count and unit and early:
            interval = Interval(count, IntervalUnit(unit))
            if early >= interval.shortest_days:
                self.add_error("early_days", _too_early(interval))
        return cleaned


def _too_early(interval: Interval) -> str:
    days = interval.shortest_days
    least = "" if interval.unit is IntervalUnit.DAY else f" ({days} days at least)"
    return (
        f"Type at most {days - 1}: the review is {interval} after the treatment{least}, and the "
        "first day that suits has to lie after the treatment."
    )


class DurationForm(BackedForm):
    kind = forms.ChoiceField(label="Product", choices=ProductKind.choices())

    class Meta:
        model = EffectDuration
        fields = ["kind", "group", "least_months", "most_months", "backing", "source"]
        labels = {
            "least_months": "Lasts at least",
            "most_months": "Lasts at most",
            "source": "Which publication",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper.layout = Layout(
            SEEN,
            Fieldset("What it is about", "kind", "group"),
            Fieldset(
                "How long",
                AppendedText("least_months", "months"),
                AppendedText("most_months", "months"),
            ),
            Fieldset(
                "Where it comes from",
                Field("backing", wrapper_class=_FULL),
                Field("source", wrapper_class=_FULL),
            ),
        )
        self.helper.add_input(Submit("save", "Save range"))

    def clean(self):
        cleaned = super().clean()
        least, most = cleaned.get("least_months"), cleaned.get("most_months")
        if least and most and most < least:
            self.add_error("most_months", f"Type at least {least}: the range ends no earlier.")
        return cleaned

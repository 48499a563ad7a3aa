"""Which reviews are added up, and by what."""

from django import forms

from planning.outcomes import Rater
from records.outcomes.enums import OutcomeBy
from records.usage.forms import PeriodForm


class OutcomeForm(PeriodForm):
    """From when to when, of which product, who judged, and added up by what."""

    by = forms.ChoiceField(label="Add up by", required=False, choices=OutcomeBy.choices())
    rater = forms.ChoiceField(label="Judged by", required=False, choices=Rater.choices())

    field_order = ["by", "rater", "first", "last", "product"]

    @property
    def chosen(self) -> tuple[OutcomeBy, Rater]:
        data = self.cleaned_data
        return OutcomeBy(data["by"] or OutcomeBy.REGION), Rater(data["rater"] or Rater.INJECTOR)

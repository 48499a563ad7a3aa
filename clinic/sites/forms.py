"""The form of a site."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django import forms

from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.database.form_fields import PhoneField, name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.sites.models import Site


class SiteForm(AsksAboutBooked, SeenValuesForm):
    taking_away = frozenset({"is_active"})

    class Meta:
        model = Site
        fields = ["name", "address", "phone", "is_active"]
        field_classes = {"phone": PhoneField}
        labels = {"name": "Site", "is_active": "In use"}
        help_texts = {
            "name": "What people call it, such as “Harbour Street”.",
            "is_active": "A site out of use stays in the books, but is not offered.",
        }
        error_messages = {"name": {"unique": "There is a site of this name already."}}
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(SEEN, "name", "address", "phone", Field("is_active"), ASK)
        self.helper.add_input(Submit("save", "Save site"))

    def clean_name(self):
        """Two names that differ in capitals alone would be taken for one another."""
        name = self.cleaned_data["name"]
        others = Site.objects.exclude(pk=self.instance.pk)
        if others.filter(name__iexact=name).exclude(name=name).exists():
            raise forms.ValidationError("There is a site of this name already.")
        return name

"""The form of a room."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django.db.models import Q

from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.database.form_fields import name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.rooms.models import Room
from clinic.sites.models import Site


class RoomForm(AsksAboutBooked, SeenValuesForm):
    """A room stays at its site: visits that are booked in it were booked there."""

    taking_away = frozenset({"is_active"})

    class Meta:
        model = Room
        fields = ["site", "name", "is_active"]
        labels = {"name": "Room", "is_active": "In use"}
        help_texts = {
            "name": "What people call it, such as “Room 2”.",
            "is_active": "A room out of use stays in the books, but is not offered. Visits booked "
            "in it stay booked and are listed under “Visits to move”.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        site = self.fields["site"]
        site.queryset = Site.objects.filter(Q(is_active=True) | Q(pk=self.instance.site_id))
        site.empty_label = "Choose"
        if self.instance.pk:
            site.disabled = True
            site.help_text = "A room stays at its site. For another site, add another room."
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(SEEN, "site", "name", Field("is_active"), ASK)
        self.helper.add_input(Submit("save", "Save room"))

    def clean(self):
        """Two names that differ in capitals alone would be taken for one another."""
        typed = super().clean()
        name, site = typed.get("name"), typed.get("site")
        if name and site and "name" in self.changed_data:
            others = Room.objects.filter(site=site, name__iexact=name).exclude(pk=self.instance.pk)
            if others.exclude(name=name).exists():
                self.add_error("name", "This site already has a room of this name.")
        return typed

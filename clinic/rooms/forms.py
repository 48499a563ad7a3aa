"""The form of a room."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django.db.models import Q

from clinic.database.form_fields import name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.rooms.models import Room
from clinic.sites.models import Site


class RoomForm(SeenValuesForm):
    """A room stays at its site: visits that are booked in it were booked there."""

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
        self.helper.layout = Layout(SEEN, "site", "name", Field("is_active"))
        self.helper.add_input(Submit("save", "Save room"))

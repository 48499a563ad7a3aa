"""A photograph as the tablet sends it."""

from django import forms
from django.utils import timezone

from clinic.pictures.cleaning import too_large

# What a device's clock can show, even one that is wrong.
CLOCK_YEARS = range(1970, 3000)


class PictureForm(forms.Form):
    """
    Fields: session (its key), image (the file), taken_at (by the tablet's clock; now without one or
    with one that no clock shows), author (the id of who took it and handed it over to be sent; none
    for one's own).

    Whether the file is a picture is asked of the picture itself, when it is taken apart.
    """

    session = forms.UUIDField(error_messages={"required": "Say which session it belongs to."})
    image = forms.FileField(
        max_length=None,
        error_messages={
            "required": "Choose a picture.",
            "empty": "This file is empty. Choose another picture.",
        },
    )
    taken_at = forms.DateTimeField(
        required=False, input_formats=["%Y-%m-%dT%H:%M:%S.%f%z", "%Y-%m-%dT%H:%M:%S%z"]
    )
    author = forms.IntegerField(required=False, min_value=1, max_value=2**63 - 1)

    def __init__(self, *args, was_too_large: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if was_too_large:
            self.fields["image"].error_messages["required"] = too_large()

    def clean_taken_at(self):
        taken_at = self.cleaned_data["taken_at"]
        return taken_at if taken_at and taken_at.year in CLOCK_YEARS else timezone.now()

"""What is sent and typed about photographs."""

from collections.abc import Iterable
from datetime import date, datetime

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms
from django.utils import timezone

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.pictures.cleaning import too_large
from planning.standard_views import SHOTS, PhotoView, Shot
from records.photographs.enums import OUTSIDE, PictureSource, Use
from records.sessions.forms.pictures import CLOCK_YEARS

_CHECK = "Check the marked fields."


def shot_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """All views with what the face does in them, as a grouped select wants them."""
    return [
        (view.label, [(shot.key, shot.label) for shot in SHOTS if shot.view is view])
        for view in PhotoView
    ]


def shot_field(**options) -> forms.TypedChoiceField:
    unknown = "Choose what the photograph shows."
    return forms.TypedChoiceField(
        label="What it shows",
        choices=shot_choices,
        coerce=Shot.of,
        error_messages={"required": unknown, "invalid_choice": unknown},
        **options,
    )


class AgreedForm(forms.Form):
    """What the patient agrees to, before the first picture is taken."""

    record = forms.BooleanField(
        label="The patient agrees to photographs for the record",
        error_messages={
            "required": "Ask the patient, and tick that they agree: without it no photograph is "
            "kept."
        },
    )
    teaching = forms.BooleanField(label="Also for teaching", required=False)
    teaching_until = DayField(label="Teaching until", required=False)
    publication = forms.BooleanField(label="Also for publication", required=False)
    publication_until = DayField(label="Publication until", required=False)

    def clean(self):
        cleaned = super().clean()
        for use in OUTSIDE:
            until_on = cleaned.get(f"{use}_until")
            if until_on and not cleaned.get(use.value):
                self.add_error(
                    f"{use}_until", f"Tick {use.label.lower()} as well, or leave the day empty."
                )
            elif until_on and until_on < timezone.localdate():
                self.add_error(f"{use}_until", "This day is over. Type today or a later day.")
        return cleaned

    @property
    def uses(self) -> dict[Use, date | None]:
        """Each use that was ticked, with its last day or None."""
        ticked = [use for use in Use if self.cleaned_data[use.value]]
        return {use: self.cleaned_data.get(f"{use}_until") for use in ticked}


class KeepForm(AgreedForm):
    """
    One photograph, as the page of the camera and that of the files send it.

    Whether the file is a picture is asked of the picture itself, when it is taken apart.
    """

    image = forms.FileField(
        # A name of any length: it is read by nobody and kept nowhere.
        max_length=None,
        error_messages={
            "required": "Choose a picture.",
            "empty": "This file is empty. Choose another picture.",
        },
    )
    shot = shot_field()
    source = forms.TypedChoiceField(choices=PictureSource.choices(), coerce=PictureSource)
    session = forms.UUIDField(required=False)
    taken_at = forms.DateTimeField(
        required=False, input_formats=["%Y-%m-%dT%H:%M:%S.%f%z", "%Y-%m-%dT%H:%M:%S%z"]
    )

    def __init__(self, *args, was_too_large: bool = False, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        if was_too_large:
            self.fields["image"].error_messages["required"] = too_large()

    def clean_taken_at(self) -> datetime | None:
        """None, as without one, where no clock shows it."""
        taken_at = self.cleaned_data["taken_at"]
        return taken_at if taken_at and taken_at.year in CLOCK_YEARS else None


class CorrectForm(forms.Form):
    """What a photograph shows, and when it was taken."""

    shot = shot_field()
    taken_on = DayField(label="Taken on")

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.fields["shot"].error_messages["required"] = "Choose what the photograph shows."
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.form_error_title = _CHECK
        self.helper.layout = Layout("shot", "taken_on")

    def clean_taken_on(self) -> date:
        day = self.cleaned_data["taken_on"]
        if day > timezone.localdate():
            raise forms.ValidationError("This day is still to come. Type the day it was taken.")
        return day


class UseForm(forms.Form):
    """One more use that the patient agrees to."""

    use = forms.TypedChoiceField(
        label="Used for", choices=Use.choices(), coerce=Use, widget=forms.RadioSelect,
        error_messages={"required": "Choose what it may be used for."},
    )  # fmt: skip
    until_on = DayField(
        label="Last day", required=False, help_text="Empty: until the patient takes it back."
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.form_error_title = _CHECK
        self.helper.layout = Layout(Field("use", wrapper_class="segmented"), "until_on")


class SeriesForm(forms.Form):
    """The clinic's own series for a kind of product: a field for each view, named as the view."""

    def __init__(self, *args, shots: Iterable[Shot], back: str, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        chosen = [shot.key for shot in shots]
        for view in PhotoView:
            of_view = [shot for shot in SHOTS if shot.view is view]
            self.fields[view.value] = forms.TypedMultipleChoiceField(
                label=view.label,
                choices=[(shot.key, shot.state.label) for shot in of_view],
                initial=[key for key in chosen if key.startswith(f"{view}:")],
                coerce=Shot.of,
                required=False,
                widget=forms.CheckboxSelectMultiple,
            )
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            *self.fields,
            HTML(
                '<div class="form-actions"><button class="button button--primary" type="submit">'
                f'Save series</button><a class="button" href="{back}">Back</a></div>'
            ),
        )

    @property
    def shots(self) -> list[Shot]:
        """All that were ticked, view by view."""
        return [shot for view in PhotoView for shot in self.cleaned_data[view.value]]

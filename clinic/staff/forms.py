"""Forms for members of staff and their passwords."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.contrib.auth.password_validation import validate_password

from clinic.access.enums import Role
from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.sign_in.addresses import address_of
from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.forms import proved
from clinic.sign_in.services import tried
from clinic.staff.models import User

# What AUTH_PASSWORD_VALIDATORS in the settings ask for.
PASSWORD_HELP = "At least 12 characters; no common password, and nothing like the name."  # noqa: S105


class MemberForm(AsksAboutBooked, SeenValuesForm):
    """A member of staff with roles; the password is asked for once, when the person is added."""

    taking_away = frozenset({"is_active"})
    roles = forms.MultipleChoiceField(
        choices=Role.choices(),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Give this member of staff at least one role."},
        help_text="In a small clinic the owner often injects as well.",
    )
    new_password = forms.CharField(
        label="Password",
        strip=False,
        required=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    class Meta:
        model = User
        fields = ["full_name", "username", "registration_number", "is_active"]
        labels = {"is_active": "May sign in"}
        error_messages = {
            "username": {"invalid": "Use letters, digits and @ . + - _ only."},
        }
        help_texts = {
            "username": "For signing in. Letters, digits and @ . + - _",
            "is_active": "Whoever leaves the clinic is deactivated, never removed: the record "
            "keeps the name.",
        }

    def __init__(self, *args, instance, **kwargs):
        roles = [role.value for role in Role if role in instance.roles]
        super().__init__(*args, instance=instance, initial={"roles": roles}, **kwargs)
        password = self.fields["new_password"]
        password.help_text = PASSWORD_HELP
        if self.instance.pk:
            password.label = "New password"
        else:
            password.required = True
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        full = "field--full"
        self.helper.layout = Layout(
            SEEN,
            Fieldset("Person", "full_name", "registration_number"),
            Fieldset("What this person does", Field("roles", wrapper_class=full)),
            Fieldset(
                "Signing in", "username", "new_password", Field("is_active", wrapper_class=full)
            ),
            ASK,
        )
        self.helper.add_input(Submit("save", "Save"))

    def clean_username(self):
        """Two names that differ in capitals alone would be taken for one another."""
        name = self.cleaned_data["username"]
        if User.objects.filter(username__iexact=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("Somebody signs in with this name already.")
        return name

    def clean(self):
        cleaned = super().clean()
        for role in Role:
            setattr(self.instance, f"is_{role}", role in cleaned.get("roles", ()))
        return cleaned

    def _post_clean(self):
        super()._post_clean()
        password = self.cleaned_data.get("new_password")
        if password:
            try:
                validate_password(password, self.instance)
            except forms.ValidationError as error:
                self.add_error("new_password", error)

    def validate_constraints(self):
        """The one about roles has a field of its own here, which says it in place."""
        if "roles" not in self.errors:
            super().validate_constraints()


class SignInForm(AuthenticationForm):
    """User name and password; after a refusal the password is what is typed again."""

    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": "This user name and password do not belong together. Small and capital "
        "letters count. If you forgot the password, the practice owner can give you a new one.",
    }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.is_bound and self.data.get("username"):
            del self.fields["username"].widget.attrs["autofocus"]
            self.fields["password"].widget.attrs["autofocus"] = True

    def clean(self):
        """As Django's, with a limit to guessing."""
        name, password = self.cleaned_data.get("username"), self.cleaned_data.get("password")
        if not (name and password):
            return self.cleaned_data
        try:
            self.user_cache = tried(
                lambda: authenticate(self.request, username=name, password=password),
                name=name,
                address=address_of(self.request),
            )
        except TooManyTries as error:
            raise forms.ValidationError(str(error)) from error
        if self.user_cache is None:
            raise self.get_invalid_login_error()
        self.confirm_login_allowed(self.user_cache)
        return self.cleaned_data


class OwnPasswordForm(PasswordChangeForm):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = PASSWORD_HELP
        self.fields["new_password2"].help_text = ""
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.add_input(Submit("save", "Change password"))

    def clean_old_password(self):
        typed = self.cleaned_data["old_password"]
        if not proved(self.user, typed):
            raise forms.ValidationError(
                self.error_messages["password_incorrect"], code="password_incorrect"
            )
        return typed

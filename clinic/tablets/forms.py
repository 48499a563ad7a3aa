"""Taking a tablet back from a patient."""

from django import forms

from clinic.sign_in.forms import proved


class TakeBackForm(forms.Form):
    """The password of whoever is signed in."""

    password = forms.CharField(
        label="Password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password to open the clinic again."},
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self._user = user
        self.fields["password"].label = f"Password of {user.full_name}"

    def clean_password(self) -> str:
        typed = self.cleaned_data["password"]
        if not proved(self._user, typed):
            raise forms.ValidationError(
                "This is not your password. Small and capital letters count."
            )
        return str(typed)

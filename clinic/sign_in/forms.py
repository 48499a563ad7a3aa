"""For forms that ask whoever is signed in for their password once more."""

from django import forms

from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.services import proves


def proved(user, typed: str) -> bool:
    """
    `clinic.sign_in.services.proves`, in a form's own words.

    Raises:
        ValidationError: too many failed.
    """
    try:
        return proves(user, typed)
    except TooManyTries as error:
        raise forms.ValidationError(str(error)) from error

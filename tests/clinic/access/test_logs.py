"""Patient data never reaches a log line (a rule of the project), not even by way of an error."""

import logging

import pytest
from django.conf import settings
from django.db import IntegrityError

from clinic.access.logs import WithoutMessages
from records.patients.models import Patient


def logged(error: Exception) -> str:
    record = logging.LogRecord(
        "django.request", logging.ERROR, __file__, 1, "Internal Server Error: %s",
        ("/patients/new/",), (type(error), error, error.__traceback__),
    )  # fmt: skip
    return WithoutMessages().format(record)


def test_the_console_uses_it():
    formatters = settings.LOGGING["formatters"]
    assert formatters["withheld"]["()"] == "clinic.access.logs.WithoutMessages"
    assert settings.LOGGING["handlers"]["console"]["formatter"] == "withheld"


@pytest.mark.django_db
def test_a_row_that_the_database_refused_is_not_quoted(patient):
    with pytest.raises(IntegrityError) as caught:
        Patient.objects.create(
            full_name="Zenobia Unmistakable",
            birth_date="1980-05-17",
            record_number=patient.record_number,
        )
    text = logged(caught.value)
    assert "Zenobia" not in text
    assert patient.record_number not in text
    assert "IntegrityError (message withheld" in text
    assert "test_logs.py" in text


@pytest.mark.parametrize(
    "place",
    ["/reminders/answer/", "/calendars/feed/", "/aftercare/page/", "/aftercare/check-in/"],
)
def test_an_address_that_is_a_secret_is_withheld(place):
    record = logging.LogRecord(
        "django.request", logging.WARNING, __file__, 1, "Method Not Allowed (%s): %s",
        ("PUT", f"{place}kQ3secret-_secret/"), None,
    )  # fmt: skip
    assert WithoutMessages().format(record).endswith(f"{place}(withheld)/")


def test_the_errors_behind_an_error_are_withheld_as_well():
    def save() -> None:
        try:
            raise ValueError("Zenobia Unmistakable")
        except ValueError as error:
            raise RuntimeError("could not save Zenobia") from error

    with pytest.raises(RuntimeError) as caught:
        save()
    text = logged(caught.value)
    assert "Zenobia" not in text
    assert text.index("ValueError") < text.index("which led to") < text.index("RuntimeError")

"""Rules about what is typed."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from records.patients.validators import (
    check_birth_date,
    check_full_name,
    missing_contact,
    parse_weight_g,
    phone_doubt,
    weight_kg,
    written_name,
)

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    "born", [date(2026, 11, 24), date(1980, 5, 17), date(1906, 11, 25), date(1905, 11, 26)]
)
def test_birth_date_before_today_and_up_to_120_completed_years(born):
    check_birth_date(born, today=TODAY)


@pytest.mark.parametrize(
    ("born", "said"),
    [
        (date(2026, 11, 25), "before today"),
        (date(2062, 1, 1), "before today"),
        (date(1905, 11, 25), "over 120 years"),
        (date(1080, 5, 17), "over 120 years"),
    ],
)
def test_birth_date_refused(born, said):
    with pytest.raises(ValidationError, match=said):
        check_birth_date(born, today=TODAY)


@pytest.mark.parametrize(
    ("typed", "grams"),
    [("62.5", 62_500), ("62,5", 62_500), ("62", 62_000), (" 62.5 kg ", 62_500),
     ("62.125KG", 62_125), ("20", 20_000), ("400", 400_000), ("100", 100_000)],
)  # fmt: skip
def test_weight_is_kept_in_grams(typed, grams):
    assert parse_weight_g(typed) == grams


@pytest.mark.parametrize(
    "typed",
    ["", "0", "625", "19.999", "400.001", "-62", "62.1234", "62..5", "1e2", "sixty", "10 st", "٦٢",
     "62.5.1", "6 2"],
)  # fmt: skip
def test_weight_refused(typed):
    with pytest.raises(ValidationError):
        parse_weight_g(typed)


@pytest.mark.parametrize(
    ("grams", "shown"), [(62_500, "62.5"), (62_000, "62"), (62_125, "62.125"), (100_000, "100")]
)
def test_weight_is_shown_without_trailing_zeros(grams, shown):
    assert weight_kg(grams) == shown
    assert parse_weight_g(shown) == grams


@pytest.mark.parametrize("name", ["Ann", "X", "李", "محمد", "Ann 3"])
def test_name_that_can_be_found(name):
    check_full_name(name)


@pytest.mark.parametrize("name", ["?", "--", "'", "…"])
def test_name_that_could_never_be_found(name):
    with pytest.raises(ValidationError, match="at least one letter"):
        check_full_name(name)


@pytest.mark.parametrize(
    "typed",
    ["", "020 7946 0018", "+44 20 7946 0018", "+1 202-456-1414", "07700 900123", "07700 900999"],
)
def test_nothing_speaks_against_these_numbers(typed):
    """
    Judged by the lengths that the phonenumbers library knows. 020 7946 0xxx and 07700 900xxx are
    kept for drama by Ofcom ("Telephone numbers for use in TV and radio drama programmes").
    """
    assert phone_doubt(typed, region="GB") == ""


@pytest.mark.parametrize("typed", ["123", "07700 90", "946 0018", "020 7946 0018 99", "ask her"])
def test_number_of_a_length_that_cannot_be_is_asked_about(typed):
    said = "Please read the telephone number back: it does not look complete."
    assert phone_doubt(typed, region="GB") == said


@pytest.mark.parametrize(
    ("channel", "field"),
    [("phone", "phone"), ("sms", "phone"), ("email", "email"), ("letter", "address")],
)
def test_channel_needs_its_contact_detail(channel, field):
    assert missing_contact(channel, {field: " "})[0] == field
    assert missing_contact(channel, {field: "something"}) is None


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Ann  Mary\tLee", "Ann Mary Lee"),
        ("Ann\x07 Lee\x1b", "Ann Lee"),
        ("\u202eeeL nnA\u202c", "eeL nnA"),
        ("\u2066Ann\u2069", "Ann"),
        # The joiners are spelling: Persian and several Indian scripts write names with them.
        ("\u0646\u06cc\u200c\u0646\u0627", "\u0646\u06cc\u200c\u0646\u0627"),
        ("李 小龙", "李 小龙"),
    ],
)
def test_a_name_keeps_what_is_seen_and_nothing_that_turns_or_hides_it(typed, kept):
    """Direction marks: Unicode Standard Annex 9, tables "explicit directional" and "isolate"."""
    assert written_name(typed) == kept

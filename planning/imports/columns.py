"""Our columns of an import, and which heading of a file is likely meant for each of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planning.names import fold
from planning.vocabulary import Term


class Kind(Term):
    """What the rows of a file are."""

    PATIENTS = "patients", "Patients"
    TREATMENTS = "treatments", "Past treatments"


class DateOrder(Term):
    """How the days of a file are written, where they are not written year first."""

    DAY_FIRST = "day", "Day first: 31/12/2024"
    MONTH_FIRST = "month", "Month first: 12/31/2024"


@dataclass(frozen=True, slots=True)
class Column:
    """
    One of our columns.

    Attributes:
        needed: a row without it is refused.
        help: what its cells may hold, for the page and the guide.
        headings: folded headings by which it is known.
    """

    key: str
    label: str
    help: str
    headings: tuple[str, ...]
    needed: bool = False


_FORMER = Column(
    "former_number", "Number in the former record",
    "Whatever the former record calls a patient by. Past treatments find their patient by it.",
    ("former number", "number in the former record", "patient number", "patient no", "patient id",
     "patientid", "id", "number", "no", "client id", "client number", "file number",
     "patientennummer", "patnr"),
)  # fmt: skip
_NAME = Column(
    "full_name", "Name", "The whole name, or the family name where first names stand apart.",
    ("full name", "name", "patient", "patient name", "client", "client name", "surname",
     "last name", "family name", "lastname", "nachname", "nom", "apellidos"), needed=True,
)  # fmt: skip
_FIRST_NAMES = Column(
    "first_names", "First names", "Put before the name. Leave it out where one column has both.",
    ("first name", "first names", "forename", "forenames", "given name", "given names",
     "firstname", "vorname", "prenom", "nombre"),
)  # fmt: skip
_BORN = Column(
    "birth_date", "Date of birth",
    "1980-05-17, 17/05/1980, 17.05.1980 or 17 May 1980; the year with four digits.",
    ("date of birth", "birth date", "born", "birthday", "dob", "d o b", "birthdate",
     "geburtsdatum", "geboren", "date de naissance", "fecha de nacimiento"), needed=True,
)  # fmt: skip
_AT_MOST_NAMED = "Finds the patient where there is no number."

PATIENT_COLUMNS = (
    _FORMER, _NAME, _FIRST_NAMES,
    Column("known_as", "Known as", "What the patient likes to be called.",
           ("known as", "preferred name", "nickname", "called")),
    _BORN,
    Column("sex", "Sex",
           "Female, male or other, also f, m, x, or 1 for male and 2 for female (ISO/IEC 5218).",
           ("sex", "gender", "geschlecht", "sexe", "sexo")),
    Column("phone", "Phone",
           "With all its digits; what a spreadsheet shortened to 4.47E+11 is refused.",
           ("phone", "telephone", "mobile", "mobile phone", "cell", "cell phone", "phone number",
            "tel", "telefon", "handy", "telephone number", "mobile number")),
    Column("email", "E-mail", "One address.",
           ("email", "e mail", "email address", "e mail address", "mail")),
    Column("street", "Address",
           "The whole address, or its street where postcode and town stand apart.",
           ("address", "street", "street address", "address 1", "address line 1", "strasse",
            "adresse", "anschrift")),
    Column("postcode", "Postcode", "Put under the street.",
           ("postcode", "post code", "postal code", "zip", "zip code", "plz")),
    Column("town", "Town", "Put behind the postcode.",
           ("town", "city", "ort", "stadt", "ville", "ciudad")),
    Column("weight", "Weight", "Kilograms, such as 62.5.",
           ("weight", "weight kg", "gewicht", "body weight")),
    Column("warning", "Allergies and warnings",
           "At most 270 characters; becomes an alert, marked as from the former record. “None” is "
           "left out: whether there are allergies is asked anew.",
           ("allergies", "allergy", "alert", "alerts", "warning", "warnings", "medical alert",
            "allergien")),
)  # fmt: skip

TREATMENT_COLUMNS = (
    Column("record_number", "Record number here", "Such as P000123, where the file has it.",
           ("record number",)),
    _FORMER,
    Column("full_name", _NAME.label, f"{_NAME.help} {_AT_MOST_NAMED}", _NAME.headings),
    _FIRST_NAMES,
    Column("birth_date", _BORN.label, f"With the name. {_BORN.help}", _BORN.headings),
    Column("treated_on", "Day of treatment", "As a date of birth. A time behind it is left out.",
           ("date", "treated on", "treatment date", "date of treatment", "day of treatment",
            "visit date", "session date", "datum", "behandlungsdatum"), needed=True),
    Column("product", "Product", "As the former record has it, in words.",
           ("product", "product name", "item", "material", "treatment", "brand", "produkt"),
           needed=True),
    Column("lot", "Lot", "Exactly as printed on the box.",
           ("lot", "lot number", "lot no", "batch", "batch number", "batch no", "charge")),
    Column("region", "Region", "In words.",
           ("region", "area", "site", "location", "treated area", "zone", "areal")),
    Column("amount", "Amount", "A number with mL or units, such as 0.5 mL or 20 units.",
           ("amount", "volume", "dose", "quantity", "units", "ml", "menge", "dosis")),
    Column("injector", "Treated by", "In words.",
           ("injector", "treated by", "practitioner", "clinician", "provider", "doctor", "by",
            "behandler")),
    Column("note", "Note", "At most 500 characters.",
           ("note", "notes", "comment", "comments", "remarks", "notiz", "bemerkung")),
)  # fmt: skip

COLUMNS: Mapping[Kind, tuple[Column, ...]] = {
    Kind.PATIENTS: PATIENT_COLUMNS,
    Kind.TREATMENTS: TREATMENT_COLUMNS,
}
DATE_COLUMNS = ("birth_date", "treated_on")
# What our own file of refused rows puts before theirs.
ERROR_COLUMNS = ("Row", "Column", "Reason")


def guessed_columns(kind: Kind, headings: Sequence[str]) -> dict[str, int]:
    """
    For each of our columns the place of theirs that is likely meant, by its heading alone.

    A heading is given to one column at most; of several that fit, the one that stands first in the
    column's list. What is not certain is left for a person to choose.
    """
    folded = [fold(heading.replace("_", " ")) for heading in headings]
    guessed: dict[str, int] = {}
    for column in COLUMNS[kind]:
        for wanted in (fold(column.label), *column.headings):
            place = next((i for i, name in enumerate(folded) if name == wanted), None)
            if place is not None and place not in guessed.values():
                guessed[column.key] = place
                break
    return guessed


def missing_columns(kind: Kind, mapping: Mapping[str, int]) -> dict[str, str]:
    """What has to be chosen still, as our column's key -> what to say there."""
    missing = {
        column.key: f"Choose which column holds the {column.label.lower()}."
        for column in COLUMNS[kind]
        if column.needed and column.key not in mapping
    }
    if kind is Kind.TREATMENTS:
        by_number = "record_number" in mapping or "former_number" in mapping
        if not by_number and not {"full_name", "birth_date"} <= mapping.keys():
            missing["former_number"] = (
                "Say how the patient is found: choose a number, or name and date of birth."
            )
    return missing

"""
What resources are made of: codes, amounts, moments, extensions.

Names and shapes by HL7 FHIR R4B (4.3.0), hl7.org/fhir/R4B. Own codes and extensions have addresses
under `BASE`, a name that can never be a real host (RFC 2606): they name, they are not fetched.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from planning.amounts import plain_number, unit_of
from planning.atlas.regions import Region
from planning.vocabulary import Measure, Side, Term

Json = dict[str, Any]

BASE = "https://clinic-record.invalid/fhir"
HL7 = "http://terminology.hl7.org/CodeSystem"
UCUM = "http://unitsofmeasure.org"
SNOMED = "http://snomed.info/sct"
GTIN = "https://www.gs1.org/gtin"

# What UCUM calls an amount. Units of toxin and hyaluronidase are defined by each maker's own assay,
# so they are arbitrary ones, which UCUM converts into nothing: two amounts with this code add up
# only where they are of one product. "U" would be wrong, it is the enzyme unit.
# Source: UCUM, table of common codes (both read; that none converts from memory, not checked).
UCUM_CODES = {Measure.VOLUME: "mL", Measure.DOSE: "[arb'U]"}

# SNOMED CT only where the standard itself prints the code: R4B value set
# bodystructure-relative-location. It has none for the midline.
_SIDE_CODES = {
    Side.LEFT: ("419161000", "Unilateral left"),
    Side.RIGHT: ("419465000", "Unilateral right"),
}
# FHIR allows no other sign below a blank in a text.
_CONTROLS = {code: None for code in range(32) if chr(code) not in "\t\r\n"}


def compact(value: Any) -> Any:
    """Without what says nothing: FHIR allows neither null nor an empty text, list or object."""
    if isinstance(value, dict):
        kept = ((name, compact(item)) for name, item in value.items())
        return {name: item for name, item in kept if not _is_empty(item)}
    if isinstance(value, list):
        return [item for item in map(compact, value) if not _is_empty(item)]
    if isinstance(value, str):
        return value.translate(_CONTROLS).strip()
    return value


def _is_empty(value: Any) -> bool:
    return value is None or value in ("", [], {})


def moment(value: datetime) -> str:
    """To the second, by the clinic's clock and with its distance from UTC."""
    return timezone.localtime(value).isoformat(timespec="seconds")


def optional_moment(value: datetime | None) -> str | None:
    return moment(value) if value else None


def coding(system: str, code: str, display: str = "") -> Json:
    return {"system": system, "code": code, "display": display}


def own_coding(name: str, term: Term) -> Json:
    """A word of the record itself, by the code system of that name."""
    return coding(f"{BASE}/CodeSystem/{name}", term.value, term.label)


def concept(text: str, *codings: Json) -> Json:
    return {"coding": list(codings), "text": text}


def own_concept(name: str, term: Term) -> Json:
    return concept(term.label, own_coding(name, term))


def named(name: str, code: str, text: str) -> Json:
    """A concept of an own code system that stands nowhere among the record's words."""
    return concept(text, coding(f"{BASE}/CodeSystem/{name}", code, text))


def amount(base_units: int, measure: Measure) -> Json:
    """Microlitres as mL, hundredths of a unit as units; exact."""
    return {
        "value": Decimal(plain_number(base_units, measure)),
        "unit": unit_of(measure),
        "system": UCUM,
        "code": UCUM_CODES[measure],
    }


def measured(value: Decimal, code: str, unit: str = "") -> Json:
    """A quantity in a UCUM unit."""
    return {"value": value, "unit": unit or code, "system": UCUM, "code": code}


def extension(name: str, kind: str, value: Any) -> Json:
    """One of our own, with a value of a FHIR type: `extension("digest", "String", "…")`."""
    return {"url": f"{BASE}/StructureDefinition/{name}", f"value{kind}": value}


def remark(label: str, text: str) -> list[Json]:
    """Something that FHIR has no element for, in words; nothing where nothing was said."""
    return [extension("remark", "String", f"{label}: {text}")] if text else []


def annotation(text: str, *, at: datetime | None = None, author: Json | None = None) -> Json:
    return {"authorReference": author, "time": optional_moment(at), "text": text}


def notes(*texts: tuple[str, str]) -> list[Json]:
    """An annotation for each (label, text) with a text."""
    return [annotation(f"{label}: {text}") for label, text in texts if text]


def side_concept(side: Side) -> Json:
    """The patient's own side; never the viewer's."""
    snomed = [coding(SNOMED, *_SIDE_CODES[side])] if side in _SIDE_CODES else []
    return concept(side.label, *snomed, own_coding("side", side))


def place_text(region: str, side: str) -> str:
    """ "Zygomatic region (cheekbone), left"."""
    where = [Region(region).full_label] if region else []
    return ", ".join([*where, *([Side(side).label.lower()] if side else [])])


def place_concept(region: str, side: str) -> Json | None:
    """A place on the body with its region's code; None where none was noted."""
    if not region and not side:
        return None
    codings = [own_coding("region", Region(region))] if region else []
    return concept(place_text(region, side), *codings)


def identifier(system: str, value: str) -> Json:
    return {"system": system, "value": value}


def uuid_identifier(key: object) -> Json:
    """What the record itself knows the thing by."""
    return identifier("urn:ietf:rfc:3986", f"urn:uuid:{key}")


def telecom(phone: str, email: str) -> list[Json]:
    found = [("phone", phone), ("email", email)]
    return [{"system": system, "value": value} for system, value in found if value]


def address(text: str) -> list[Json]:
    """As it was typed: the record does not take addresses apart."""
    return [{"text": " ".join(text.split())}] if text.strip() else []


def day(value: date | None) -> str | None:
    return value.isoformat() if value else None


def joined(parts: Iterable[str], between: str = "; ") -> str:
    return between.join(part for part in parts if part)

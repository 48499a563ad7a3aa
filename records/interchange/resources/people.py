"""The patient, the staff and the clinic: Patient, Practitioner, Organization, Location."""

from collections.abc import Iterator

from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from records.adverse_events.enums import EventOutcome, Grade
from records.interchange.parts import (
    HL7,
    Json,
    address,
    coding,
    concept,
    extension,
    identifier,
    telecom,
)
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.patients.enums import Sex

# R4B value set administrative-gender, which has no word for "not stated" but "unknown".
GENDERS = {
    Sex.FEMALE: "female",
    Sex.MALE: "male",
    Sex.OTHER: "other",
    Sex.NOT_STATED: "unknown",
}


def patient(record: PatientRecord, refs: References) -> Json:
    """Named as the patient writes it: the record takes no name apart."""
    person = record.patient
    number = concept("Record number", coding(f"{HL7}/v2-0203", "MR", "Medical record number"))
    names: list[Json] = [{"use": "official", "text": person.full_name}]
    if person.known_as:
        names.append({"use": "usual", "text": person.known_as})
    return {
        "resourceType": "Patient",
        "id": refs.id_of("Patient", person.record_number),
        "extension": [
            extension("preferred-channel", "String", person.get_preferred_channel_display())
        ],
        "identifier": [
            {"type": number, **identifier(refs.system("record-number"), person.record_number)}
        ],
        "name": names,
        "telecom": telecom(person.phone, person.email),
        "gender": GENDERS[Sex(person.sex)],
        "birthDate": person.birth_date.isoformat(),
        "deceasedBoolean": True if _is_deceased(record) else None,
        "address": address(person.address),
        "managingOrganization": refs.clinic,
    }


def _is_deceased(record: PatientRecord) -> bool:
    """A death is known from an adverse event alone; where none tells of it nothing is said."""
    return any(
        event.grade == Grade.DEATH or event.outcome == EventOutcome.FATAL for event in record.events
    )


def clinic(record: PatientRecord, refs: References) -> Json:
    policy = record.policy
    return {
        "resourceType": "Organization",
        "id": refs.id_of("Organization", "clinic"),
        "name": policy.name,
        "telecom": telecom(policy.phone, policy.email),
        "address": address(policy.address),
    }


def staff_and_places(refs: References) -> Iterator[Json]:
    """Those that something of the bundle points at."""
    yield from (_practitioner(person, refs) for person in refs.pointed_at("Practitioner"))
    yield from (_site(site, refs) for site in refs.pointed_at("Location/site"))
    yield from (_room(room, refs) for room in refs.pointed_at("Location/room"))


def _practitioner(person: User, refs: References) -> Json:
    registered = person.registration_number
    return {
        "resourceType": "Practitioner",
        "id": refs.id_of("Practitioner", person.pk),
        # Register and number stand in one field of the record.
        "identifier": [{"value": registered}] if registered else [],
        "active": person.is_active,
        "name": [{"text": person.full_name}],
    }


def _site(site: Site, refs: References) -> Json:
    found = address(site.address)
    return {
        "resourceType": "Location",
        "id": refs.id_of("Location/site", site.pk),
        "status": "active" if site.is_active else "inactive",
        "name": site.name,
        "telecom": telecom(site.phone, ""),
        "address": found[0] if found else None,
        "managingOrganization": refs.clinic,
    }


def _room(room: Room, refs: References) -> Json:
    return {
        "resourceType": "Location",
        "id": refs.id_of("Location/room", room.pk),
        "status": "active" if room.is_active else "inactive",
        "name": room.name,
        "managingOrganization": refs.clinic,
        "partOf": refs.site(room.site_id),
    }

"""
What the standard asks of each resource: elements that must be there, and the codes of its required
value sets, which the reference library does not check.

Source: HL7 FHIR R4B (4.3.0), hl7.org/fhir/R4B, the page of each resource and value set. Typed from
memory but for what is marked read: cardinalities of MedicationAdministration, Device,
DeviceUseStatement, Procedure, AdverseEvent and Appointment, the value sets of an adverse event and
bodystructure-relative-location, and the codes of udi-entry-type.
"""

# Elements of cardinality 1..1 or 1..*; "a|b" is a choice of which one must be there.
REQUIRED = {
    "AdverseEvent": ["actuality", "subject"],
    "AllergyIntolerance": ["patient"],
    "Appointment": ["status", "participant"],
    "BodyStructure": ["patient"],
    "CarePlan": ["status", "intent", "subject"],
    "Consent": ["status", "scope", "category"],
    "Device": [],
    "DeviceUseStatement": ["status", "subject", "device"],
    "DocumentReference": ["status", "content"],
    "Encounter": ["status", "class"],
    "Flag": ["status", "code", "subject"],
    "Immunization": ["status", "vaccineCode", "patient", "occurrenceDateTime|occurrenceString"],
    "Location": [],
    "Medication": [],
    "MedicationAdministration": [
        "status", "subject", "medicationReference|medicationCodeableConcept",
        "effectiveDateTime|effectivePeriod",
    ],
    "Observation": ["status", "code"],
    "Organization": ["name"],  # invariant org-1: a name or an identifier
    "Patient": [],
    "Practitioner": [],
    "Procedure": ["status", "subject"],
    "Provenance": ["target", "recorded", "agent"],
    "Questionnaire": ["status"],
    "QuestionnaireResponse": ["status"],
}  # fmt: skip

# Required elements of what stands inside, by the path to it.
REQUIRED_INSIDE = {
    "Appointment.participant": ["status"],
    "CarePlan.activity.detail": ["status"],
    "Device.deviceName": ["name", "type"],
    "Device.property": ["type"],
    "DocumentReference.content": ["attachment"],
    "DocumentReference.relatesTo": ["code", "target"],
    "MedicationAdministration.performer": ["actor"],
    "AdverseEvent.suspectEntity": ["instance"],
    "Procedure.performer": ["actor"],
    "Procedure.focalDevice": ["manipulated"],
    "Provenance.agent": ["who"],
    "Provenance.signature": ["type", "when", "who"],
    "Questionnaire.item": ["linkId", "type"],
    "QuestionnaireResponse.item": ["linkId"],
    "Observation.component": ["code"],
    "Consent.provision.data": ["meaning", "reference"],
}

# Value sets of required binding, by path.
CODES = {
    "AdverseEvent.actuality": "actual potential",
    "AdverseEvent.severity.coding": "mild moderate severe",
    "AdverseEvent.outcome.coding": (
        "resolved recovering ongoing resolvedWithSequelae fatal unknown"
    ),
    "AllergyIntolerance.clinicalStatus.coding": "active inactive resolved",
    "Appointment.status": (
        "proposed pending booked arrived fulfilled cancelled noshow entered-in-error checked-in "
        "waitlist"
    ),
    "Appointment.participant.status": "accepted declined tentative needs-action",
    "CarePlan.status": "draft active on-hold revoked completed entered-in-error unknown",
    "CarePlan.intent": "proposal plan order option",
    "CarePlan.activity.detail.kind": (
        "Appointment CommunicationRequest DeviceRequest MedicationRequest NutritionOrder Task "
        "ServiceRequest VisionPrescription"
    ),
    "CarePlan.activity.detail.status": (
        "not-started scheduled in-progress on-hold completed cancelled stopped unknown "
        "entered-in-error"
    ),
    "Consent.status": "draft proposed active rejected inactive entered-in-error",
    "Consent.provision.type": "deny permit",
    "Consent.provision.data.meaning": "instance related dependents authoredby",
    "Device.status": "active inactive entered-in-error unknown",
    "Device.udiCarrier.entryType": "barcode rfid manual card self-reported unknown",
    "Device.deviceName.type": (
        "udi-label-name user-friendly-name patient-reported-name manufacturer-name model-name other"
    ),
    "DeviceUseStatement.status": "active completed entered-in-error intended stopped on-hold",
    "DocumentReference.status": "current superseded entered-in-error",
    "DocumentReference.docStatus": "preliminary final amended entered-in-error",
    "DocumentReference.relatesTo.code": "replaces transforms signs appends",
    "Encounter.status": (
        "planned arrived triaged in-progress onleave finished cancelled entered-in-error unknown"
    ),
    "Flag.status": "active inactive entered-in-error",
    "Immunization.status": "completed entered-in-error not-done",
    "Location.status": "active suspended inactive",
    "Medication.status": "active inactive entered-in-error",
    "MedicationAdministration.status": (
        "in-progress not-done on-hold completed entered-in-error stopped unknown"
    ),
    "Observation.status": (
        "registered preliminary final amended corrected cancelled entered-in-error unknown"
    ),
    "Patient.gender": "male female other unknown",
    "Patient.name.use": "usual official temp nickname anonymous old maiden",
    "Patient.telecom.system": "phone fax email pager url sms other",
    "Procedure.status": (
        "preparation in-progress not-done on-hold stopped completed entered-in-error unknown"
    ),
    "Questionnaire.status": "draft active retired unknown",
    "Questionnaire.item.type": (
        "group display question boolean decimal integer date dateTime time string text url choice "
        "open-choice attachment reference quantity"
    ),
    "QuestionnaireResponse.status": "in-progress completed amended entered-in-error stopped",
}

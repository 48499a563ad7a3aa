"""Every page of the clinic. The first part of an address is the name of the folder it lives in."""

from django.urls import include, path

urlpatterns = [
    path("", include("records.today.urls")),
    path("patients/", include("records.patients.urls")),
    path("appointments/", include("records.appointments.urls")),
    path("reviews/", include("records.reviews.urls")),
    path("sessions/", include("records.sessions.urls")),
    path("charting/", include("records.charting.urls")),
    path("notes/", include("records.notes.urls")),
    path("trace/", include("records.trace.urls")),
    path("adverse-events/", include("records.adverse_events.urls")),
    path("elsewhere/", include("records.elsewhere.urls")),
    path("recalls/", include("records.recalls.urls")),
    path("mailings/", include("records.mailings.urls")),
    path("usage/", include("records.usage.urls")),
    path("products/", include("clinic.products.urls")),
    path("stock/", include("clinic.stock.urls")),
    path("scanning/", include("clinic.scanning.urls")),
    path("receiving/", include("clinic.receiving.urls")),
    path("quarantine/", include("clinic.quarantine.urls")),
    path("places/", include("clinic.places.urls")),
    path("storage/", include("clinic.storage.urls")),
    path("counts/", include("clinic.counts.urls")),
    path("fridges/", include("clinic.fridges.urls")),
    path("reorder/", include("clinic.reorder.urls")),
    path("audit/", include("clinic.audit.urls")),
    path("staff/", include("clinic.staff.urls")),
    path("policy/", include("clinic.policy.urls")),
    path("tablets/", include("clinic.tablets.urls")),
    path("style/", include("clinic.style.urls")),
]

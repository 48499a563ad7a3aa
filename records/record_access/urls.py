from django.urls import path

from records.record_access.views import accesses, findings

urlpatterns = [
    path("", findings.unusual_access, name="unusual-access"),
    path("look/", findings.look_now, name="unusual-access-look"),
    path("same/", findings.say_same, name="staff-patient-say"),
    path("patient/<int:pk>/", accesses.of_patient, name="record-access-patient"),
    path("patient/<int:pk>/csv/", accesses.of_patient_csv, name="record-access-patient-csv"),
    path("patient/<int:pk>/pdf/", accesses.of_patient_pdf, name="record-access-patient-pdf"),
    path("person/<int:pk>/", accesses.of_person, name="record-access-person"),
    path("person/<int:pk>/csv/", accesses.of_person_csv, name="record-access-person-csv"),
    path("person/<int:pk>/pdf/", accesses.of_person_pdf, name="record-access-person-pdf"),
    path("person/<int:pk>/own-record/", findings.own_record, name="record-access-own-record"),
]

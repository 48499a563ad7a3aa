from django.urls import path

from records.trace.views import lots, patients, search

urlpatterns = [
    path("", search.trace, name="trace"),
    path("csv/", search.trace_search_csv, name="trace-search-csv"),
    path("<int:pk>/", lots.trace_lot, name="trace-lot"),
    path("<int:pk>/csv/", lots.trace_csv, name="trace-csv"),
    path("<int:pk>/pdf/", lots.trace_pdf, name="trace-pdf"),
    path("patients/<int:pk>/", patients.trace_patient, name="trace-patient"),
    path("patients/<int:pk>/csv/", patients.trace_patient_csv, name="trace-patient-csv"),
    path("patients/<int:pk>/pdf/", patients.trace_patient_pdf, name="trace-patient-pdf"),
    path("for-patient/<int:pk>/", patients.trace_for_patient, name="trace-for-patient"),
]

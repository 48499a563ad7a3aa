from django.urls import path

from records.results import views

urlpatterns = [
    path("waste/", views.waste, name="results-waste"),
    path("waste/csv/", views.waste_csv, name="results-waste-csv"),
    path("for-patient/<int:pk>/", views.results_for_patient, name="results-for-patient"),
]

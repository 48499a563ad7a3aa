from django.urls import path

from records.adverse_events import views

urlpatterns = [
    path("", views.adverse_event_list, name="adverse-event-list"),
    path("new/", views.adverse_event_create, name="adverse-event-create"),
    path(
        "for-patient/<int:pk>/", views.adverse_event_for_patient, name="adverse-event-for-patient"
    ),
    path("<int:pk>/", views.adverse_event_detail, name="adverse-event-detail"),
    path("<int:pk>/edit/", views.adverse_event_edit, name="adverse-event-edit"),
    path("<int:pk>/close/", views.adverse_event_close, name="adverse-event-close"),
    path("<int:pk>/report.pdf", views.adverse_event_report, name="adverse-event-report"),
    path("<int:pk>/report.csv", views.adverse_event_csv, name="adverse-event-csv"),
    path("<int:pk>/reopen/", views.adverse_event_reopen, name="adverse-event-reopen"),
]

from django.urls import path

from records.usage import views

urlpatterns = [
    path("", views.usage, name="usage"),
    path("csv/", views.usage_csv, name="usage-csv"),
    path("events/", views.usage_events, name="usage-events"),
    path("events/csv/", views.usage_events_csv, name="usage-events-csv"),
]

from django.urls import path

from records.calendars import views

urlpatterns = [
    path("", views.calendar_list, name="calendar-list"),
    path("<int:pk>/new/", views.calendar_make, name="calendar-make"),
    path("<int:pk>/revoke/", views.calendar_revoke, name="calendar-revoke"),
    path("feed/<str:secret>/", views.calendar_feed, name="calendar-feed"),
    path("appointment/<int:pk>.ics", views.appointment_download, name="calendar-appointment"),
]

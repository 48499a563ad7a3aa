from django.urls import path

from records.appointments import views

urlpatterns = [
    path("", views.appointment_list, name="appointment-list"),
    path("new/", views.appointment_create, name="appointment-create"),
    path("taken/", views.appointments_taken, name="appointment-taken"),
    path("for-patient/<int:pk>/", views.for_patient, name="appointment-for-patient"),
    path("<int:pk>/arrived/", views.mark_arrived, name="appointment-arrived"),
    path("<int:pk>/not-arrived/", views.mark_booked, name="appointment-not-arrived"),
    path("<int:pk>/done/", views.mark_done, name="appointment-done"),
    path("<int:pk>/did-not-attend/", views.mark_absent, name="appointment-did-not-attend"),
    path("<int:pk>/cancel/", views.cancel, name="appointment-cancel"),
]

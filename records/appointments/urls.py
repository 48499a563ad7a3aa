from django.urls import path

from records.appointments.views import acts, booking, moving, times

urlpatterns = [
    path("", acts.appointment_list, name="appointment-list"),
    path("new/", booking.appointment_create, name="appointment-create"),
    path("times/", times.appointment_times, name="appointment-times"),
    path("for-patient/<int:pk>/", acts.for_patient, name="appointment-for-patient"),
    path("<int:pk>/", acts.appointment_detail, name="appointment-detail"),
    path("<int:pk>/move/", moving.appointment_move, name="appointment-move"),
    path("<int:pk>/late/", acts.mark_late, name="appointment-late"),
    path("<int:pk>/arrived/", acts.mark_arrived, name="appointment-arrived"),
    path("<int:pk>/not-arrived/", acts.mark_booked, name="appointment-not-arrived"),
    path("<int:pk>/in-room/", acts.mark_in_room, name="appointment-in-room"),
    path("<int:pk>/done/", acts.mark_done, name="appointment-done"),
    path("<int:pk>/not-done/", acts.mark_not_done, name="appointment-not-done"),
    path("<int:pk>/did-not-attend/", acts.mark_absent, name="appointment-did-not-attend"),
    path("<int:pk>/cancel/", acts.cancel, name="appointment-cancel"),
    path("<int:pk>/not-cancelled/", acts.mark_not_cancelled, name="appointment-not-cancelled"),
]

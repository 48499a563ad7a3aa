from django.urls import path

from clinic.hours.views import absences, own, working

urlpatterns = [
    path("", working.hours_list, name="hours-list"),
    path("own/", own.own_hours, name="hours-own"),
    path("<int:pk>/", working.hours_detail, name="hours-detail"),
    path("<int:pk>/add/", working.hours_add, name="hours-add"),
    path("<int:pk>/copy/", working.hours_copy, name="hours-copy"),
    path("times/<int:pk>/", working.working_time_edit, name="working-time-edit"),
    path("times/<int:pk>/end/", working.working_time_end, name="working-time-end"),
    path("absences/", absences.absence_list, name="absence-list"),
    path("absences/new/", absences.absence_create, name="absence-create"),
    path("absences/<int:pk>/", absences.absence_edit, name="absence-edit"),
    path("absences/<int:pk>/remove/", absences.absence_remove, name="absence-remove"),
]

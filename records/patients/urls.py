from django.urls import path

from records.patients import views

urlpatterns = [
    path("", views.patient_list, name="patient-list"),
    path("search/", views.patient_search, name="patient-search"),
    path("new/", views.patient_create, name="patient-create"),
    path("<int:pk>/", views.patient_detail, name="patient-detail"),
    path("<int:pk>/edit/", views.patient_edit, name="patient-edit"),
    path("<int:pk>/alerts/new/", views.alert_add, name="alert-add"),
    path("<int:pk>/alerts/none-known/", views.alert_none_known, name="alert-none-known"),
    path("alerts/<int:pk>/end/", views.alert_end, name="alert-end"),
]

from django.urls import path

from records.whole_record import views

urlpatterns = [
    path("for-patient/<int:pk>/", views.whole_record_for_patient, name="whole-record-for-patient"),
    path("ask/<int:pk>/", views.whole_record_ask, name="whole-record-ask"),
    path("<int:pk>/", views.whole_record_detail, name="whole-record-detail"),
    path("<int:pk>/state/", views.whole_record_state, name="whole-record-state"),
    path("<int:pk>/pdf/", views.whole_record_pdf, name="whole-record-pdf"),
]

from django.urls import path

from records.timeline import views

urlpatterns = [
    path("for-patient/<int:pk>/", views.timeline_for_patient, name="timeline-for-patient"),
]

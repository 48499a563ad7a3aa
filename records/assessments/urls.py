from django.urls import path

from records.assessments import views

urlpatterns = [
    path("for-patient/<int:pk>/", views.assessment_for_patient, name="assessment-for-patient"),
    path("new/<int:pk>/", views.assessment_create, name="assessment-create"),
    path("<int:pk>/", views.assessment_detail, name="assessment-detail"),
]

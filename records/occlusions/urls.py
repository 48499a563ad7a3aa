from django.urls import path

from records.occlusions import views

urlpatterns = [
    path("", views.occlusion_list, name="occlusion-list"),
    path("for-patient/<int:pk>/", views.occlusion_for_patient, name="occlusion-for-patient"),
    path("<int:pk>/", views.occlusion_detail, name="occlusion-detail"),
    path("<int:pk>/handover.pdf", views.occlusion_handover, name="occlusion-handover"),
]

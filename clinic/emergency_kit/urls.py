from django.urls import path

from clinic.emergency_kit import views

urlpatterns = [
    path("", views.kit, name="emergency-kit"),
    path("new/", views.item_create, name="emergency-item-create"),
    path("<int:pk>/", views.item_edit, name="emergency-item-edit"),
]

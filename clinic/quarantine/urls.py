from django.urls import path

from clinic.quarantine import views

urlpatterns = [
    path("lots/<int:pk>/", views.lot_quarantine, name="lot-quarantine"),
    path("lots/<int:pk>/release/", views.lot_release, name="lot-release"),
]

from django.urls import path

from clinic.dilution import views

urlpatterns = [
    path("", views.dilution, name="dilution"),
]

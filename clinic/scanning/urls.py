from django.urls import path

from clinic.scanning import views

urlpatterns = [path("", views.scanning, name="scanning")]

from django.urls import path

from clinic.receiving import views

urlpatterns = [path("", views.receiving, name="receiving")]

from django.urls import path

from records.openapi import views

urlpatterns = [path("", views.openapi_document, name="openapi-document")]

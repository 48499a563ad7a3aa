from django.urls import path

from clinic.protocols import views

urlpatterns = [
    path("", views.protocol, name="protocol"),
    path("edit/", views.protocol_edit, name="protocol-edit"),
    path("version/<int:number>/", views.protocol_version, name="protocol-version"),
]

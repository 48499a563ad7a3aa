from django.urls import path

from clinic.audit import views

urlpatterns = [
    path("", views.audit_list, name="audit-list"),
    path("verify/", views.audit_verify, name="audit-verify"),
]

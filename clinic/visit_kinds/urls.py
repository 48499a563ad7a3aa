from django.urls import path

from clinic.visit_kinds import views

urlpatterns = [
    path("", views.kind_list, name="visit-kind-list"),
]

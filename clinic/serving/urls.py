"""At the addresses that machines ask by custom, not below the folder's name."""

from django.urls import path

from clinic.serving import views

urlpatterns = [
    path("health/", views.health, name="health"),
    path("ready/", views.ready, name="ready"),
    path("metrics/", views.metrics, name="metrics"),
]

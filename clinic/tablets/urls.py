from django.urls import path

from clinic.tablets import views

urlpatterns = [path("code/", views.tablet_code, name="tablet-code")]

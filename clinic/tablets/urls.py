from django.urls import path

from clinic.tablets import views

urlpatterns = [
    path("code/", views.tablet_code, name="tablet-code"),
    path("session/", views.tablet_session, name="tablet-session"),
    path("unlock/", views.tablet_unlock, name="tablet-unlock"),
    path("take-back/", views.tablet_take_back, name="tablet-take-back"),
]

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from clinic.staff.access import EVERYONE, allow, public

urlpatterns = [
    path("sign-in/", public(LoginView.as_view()), name="staff-login"),
    path("sign-out/", allow(*EVERYONE)(LogoutView.as_view()), name="staff-logout"),
]

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from clinic.access.rules import public
from clinic.staff import views
from clinic.staff.forms import SignInForm

urlpatterns = [
    path("", views.staff_list, name="staff-list"),
    path("new/", views.staff_create, name="staff-create"),
    path("<int:pk>/", views.staff_edit, name="staff-edit"),
    path("password/", views.staff_password, name="staff-password"),
    path("sign-in/", public(LoginView.as_view(authentication_form=SignInForm)), name="staff-login"),
    path("sign-out/", public(LogoutView.as_view()), name="staff-logout"),
]

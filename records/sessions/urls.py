from django.urls import path

from records.sessions.views import anaesthesia, panels, signing, sittings

urlpatterns = [
    path("", sittings.session_list, name="session-list"),
    path("start/<int:pk>/", sittings.session_start, name="session-start"),
    path("for-patient/<int:pk>/", panels.session_for_patient, name="session-for-patient"),
    path("for-unit/<int:pk>/", panels.session_for_unit, name="session-for-unit"),
    path(
        "checks-for-plan/<int:pk>/",
        panels.session_checks_for_plan,
        name="session-checks-for-plan",
    ),
    path("<int:pk>/", sittings.session_detail, name="session-detail"),
    path("<int:pk>/sign/", signing.session_sign, name="session-sign"),
    path("<int:pk>/anaesthesia/", anaesthesia.session_anaesthesia, name="session-anaesthesia"),
    path("anaesthesia/<int:pk>/remove/", anaesthesia.anaesthesia_remove, name="anaesthesia-remove"),
    path("<int:pk>/set-aside/", sittings.session_set_aside, name="session-set-aside"),
    path("<int:pk>/addendum/", signing.addendum_add, name="addendum-add"),
]

from django.urls import path

from records.sessions.views import panels, points, signing, sittings, tray

urlpatterns = [
    path("", sittings.session_list, name="session-list"),
    path("start/<int:pk>/", sittings.session_start, name="session-start"),
    path("for-patient/<int:pk>/", panels.session_for_patient, name="session-for-patient"),
    path("for-unit/<int:pk>/", panels.session_for_unit, name="session-for-unit"),
    path("drawing/<slug:view>/<slug:jaw>/", panels.session_drawing, name="session-drawing"),
    path("<int:pk>/", sittings.session_detail, name="session-detail"),
    path("<int:pk>/edit/", sittings.session_edit, name="session-edit"),
    path("<int:pk>/points/", points.point_log, name="point-log"),
    path("<int:pk>/points/<uuid:key>/change/", points.point_change, name="point-change"),
    path("<int:pk>/points/<uuid:key>/move/", points.point_move, name="point-move"),
    path("<int:pk>/points/<uuid:key>/remove/", points.point_remove, name="point-remove"),
    path("<int:pk>/tray/choices/", tray.tray_choices, name="tray-choices"),
    path("<int:pk>/tray/open/", tray.tray_open, name="tray-open"),
    path("<int:pk>/tray/<int:unit_pk>/put-back/", tray.tray_put_back, name="tray-put-back"),
    path("<int:pk>/tray/<int:unit_pk>/waste/", tray.tray_waste, name="tray-waste"),
    path("<int:pk>/sign/", signing.session_sign, name="session-sign"),
    path("<int:pk>/addendum/", signing.addendum_add, name="addendum-add"),
]

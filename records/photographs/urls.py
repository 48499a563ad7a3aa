from django.urls import path

from records.photographs.views import acts, owner, pages, pictures, taking

urlpatterns = [
    path("for-patient/<int:pk>/", pages.photograph_for_patient, name="photograph-for-patient"),
    path("of-patient/<int:pk>/", pages.photograph_list, name="photograph-list"),
    path("take/<int:pk>/", taking.photograph_take, name="photograph-take"),
    path("upload/<int:pk>/", taking.photograph_upload, name="photograph-upload"),
    path("keep/<int:pk>/<uuid:key>/", taking.photograph_keep, name="photograph-keep"),
    path("usable/", owner.photograph_usable, name="photograph-usable"),
    path("series/", owner.series_list, name="photograph-series"),
    path("series/<str:kind>/", owner.series_edit, name="photograph-series-edit"),
    path("series/<str:kind>/usual/", owner.series_usual, name="photograph-series-usual"),
    path("<uuid:key>/", pages.photograph_detail, name="photograph-detail"),
    path("<uuid:key>/correct/", acts.photograph_correct, name="photograph-correct"),
    path("<uuid:key>/take-out/", acts.photograph_take_out, name="photograph-take-out"),
    path("<uuid:key>/uses/", acts.use_give, name="photograph-use-give"),
    path("<uuid:key>/uses/<str:use>/withdraw/", acts.use_withdraw, name="photograph-use-withdraw"),
    path("<uuid:key>/file/", pictures.photograph_file, name="photograph-file"),
    path("<uuid:key>/preview/", pictures.photograph_preview, name="photograph-preview"),
    path("<uuid:key>/thumbnail/", pictures.photograph_thumbnail, name="photograph-thumbnail"),
]

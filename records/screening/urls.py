from django.urls import path

from records.screening.views import asking, links, owning, reading

urlpatterns = [
    path("for-patient/<int:pk>/", reading.for_patient, name="screening-for-patient"),
    path("for-patient/<int:pk>/tablet/", asking.begin_on_tablet, name="screening-begin-tablet"),
    path("for-patient/<int:pk>/read-out/", asking.begin_read_out, name="screening-begin-read-out"),
    path("for-patient/<int:pk>/link/", links.link_make, name="screening-link-make"),
    path("for-patient/<int:pk>/unchanged/", asking.unchanged, name="screening-unchanged"),
    path("forms/<int:pk>/", reading.detail, name="screening-detail"),
    path("forms/<int:pk>/check/", reading.check, name="screening-check"),
    path("forms/<int:pk>/read-out/", asking.read_out, name="screening-read-out"),
    path("forms/<int:pk>/fill/", asking.fill, name="screening-fill"),
    path(
        "forms/<int:pk>/fill/unchanged/",
        asking.unchanged_on_tablet,
        name="screening-unchanged-on-tablet",
    ),
    path("links/<int:pk>/", links.link_show, name="screening-link"),
    path("links/<int:pk>/send/", links.link_send, name="screening-link-send"),
    path("by-link/<str:token>/", links.by_link, name="screening-by-link"),
    path("by-link/", links.no_such_link, name="screening-by-link-none"),
    path("by-link/<path:rest>", links.no_such_link, name="screening-by-link-unknown"),
    path("questions/", owning.question_list, name="screening-questions"),
    path("questions/supplied/", owning.questions_take_up, name="screening-questions-take-up"),
    path("questions/edit/", owning.questions_edit, name="screening-questions-edit"),
    path("rules/new/", owning.rule_create, name="screening-rule-create"),
    path("rules/<int:pk>/", owning.rule_edit, name="screening-rule-edit"),
]

from django.urls import path

from records.reminders.views import answers, messages, owning

urlpatterns = [
    path("", messages.message_list, name="reminder-list"),
    path("answer/<str:token>/", answers.answer_page, name="reminder-answer"),
    path("answer/", answers.no_such_page, name="reminder-answer-none"),
    path("answer/<path:rest>", answers.no_such_page, name="reminder-answer-unknown"),
    path("for-appointment/<int:pk>/", messages.for_appointment, name="reminder-for-appointment"),
    path(
        "about-appointment/<int:pk>/",
        messages.about_appointment,
        name="reminder-about-appointment",
    ),
    path("for-patient/<int:pk>/", messages.for_patient, name="reminder-for-patient"),
    path("for-review/<int:pk>/send/", messages.send_review, name="reminder-send-review"),
    path("<int:pk>/called/", messages.called, name="reminder-called"),
    path("<int:pk>/again/", messages.again, name="reminder-again"),
    path("<int:pk>/sent/", messages.was_sent, name="reminder-sent"),
    path("<int:pk>/give-up/", messages.given_up, name="reminder-give-up"),
    path("answers/<int:pk>/settle/", messages.answer_settled, name="reminder-answer-settle"),
    path("policy/", owning.policy_edit, name="reminder-policy"),
    path("templates/", owning.template_list, name="message-template-list"),
    path("templates/<str:kind>/<str:route>/", owning.template_edit, name="message-template-edit"),
    path(
        "templates/<str:kind>/<str:route>/preview/",
        owning.template_preview,
        name="message-template-preview",
    ),
    path(
        "templates/<str:kind>/<str:route>/default/",
        owning.template_drop,
        name="message-template-drop",
    ),
]

from django.urls import path

from records.aftercare.views import giving, owning, pages

urlpatterns = [
    path("page/<str:token>/", pages.sheet_page, name="aftercare-page"),
    path("page/<path:rest>", pages.no_such_page, name="aftercare-page-unknown"),
    path("check-in/<str:token>/", pages.check_in_page, name="aftercare-check-in"),
    path("check-in/<path:rest>", pages.no_such_page, name="aftercare-check-in-unknown"),
    path("for-patient/<int:pk>/", giving.aftercare_for_patient, name="aftercare-for-patient"),
    path("for-session/<int:pk>/", giving.aftercare_for_session, name="aftercare-for-session"),
    path("for-session/<int:pk>/print/", giving.aftercare_print, name="aftercare-print"),
    path("for-session/<int:pk>/send/", giving.aftercare_send, name="aftercare-send"),
    path("for-session/<int:pk>/show/", giving.aftercare_show, name="aftercare-show"),
    path("sheets/<int:pk>/", giving.sheet_detail, name="aftercare-sheet"),
    path("sheets/<int:pk>/pdf/", giving.sheet_pdf, name="aftercare-pdf"),
    path("answers/<int:pk>/", giving.answer_detail, name="aftercare-answer"),
    path("texts/", owning.text_list, name="aftercare-text-list"),
    path("texts/<str:kind>/", owning.text_edit, name="aftercare-text-edit"),
]

from django.urls import path

from records.consents.views import consents, texts

urlpatterns = [
    path("for-patient/<int:pk>/", consents.consents_for_patient, name="consents-for-patient"),
    path("for-patient/<int:pk>/<slug:kind>/", consents.consent_take, name="consent-take"),
    path(
        "for-patient/<int:pk>/<slug:kind>/not-given/",
        consents.consent_not_given,
        name="consent-not-given",
    ),
    path("<int:pk>/", consents.consent_detail, name="consent-detail"),
    path("<int:pk>/withdraw/", consents.consent_withdraw, name="consent-withdraw"),
    path("<int:pk>/paper/", consents.consent_paper, name="consent-paper"),
    path("texts/", texts.text_list, name="consent-text-list"),
    path("texts/<slug:kind>/", texts.text_edit, name="consent-text-edit"),
    path("texts/<slug:kind>/paper/", texts.text_paper, name="consent-text-paper"),
]

from django.urls import path

from records.outcomes.views import handing, owning, records, top_ups

urlpatterns = [
    path("", owning.outcome_rates, name="outcome-rates"),
    path("csv/", owning.outcome_rates_csv, name="outcome-rates-csv"),
    path("new/<int:pk>/", records.outcome_create, name="outcome-create"),
    path("hand-over/<int:pk>/", handing.outcome_hand_over, name="outcome-hand-over"),
    path("answer/<int:pk>/", handing.outcome_answer, name="outcome-answer"),
    path("for-patient/<int:pk>/", records.outcome_for_patient, name="outcome-for-patient"),
    path("for-review/<int:pk>/", records.outcome_for_review, name="outcome-for-review"),
    path("for-session/<int:pk>/", records.outcome_for_session, name="outcome-for-session"),
    path("<int:pk>/", records.outcome_detail, name="outcome-detail"),
    path("<int:pk>/carry-over/", top_ups.outcome_carry, name="outcome-carry"),
]

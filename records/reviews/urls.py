from django.urls import path

from records.reviews.views import acts, dates, lists

urlpatterns = [
    path("", lists.review_list, name="review-list"),
    path("for-patient/<int:pk>/", lists.for_patient, name="review-for-patient"),
    path("recompute/", dates.review_recompute, name="review-recompute"),
    path("<int:pk>/", dates.review_detail, name="review-detail"),
    path("<int:pk>/move/", dates.review_move, name="review-move"),
    path("<int:pk>/book/", acts.review_book, name="review-book"),
    path("<int:pk>/done/", acts.review_done, name="review-done"),
    path("<int:pk>/reopen/", acts.review_reopen, name="review-reopen"),
    path("<int:pk>/excuse/", acts.review_excuse, name="review-excuse"),
]

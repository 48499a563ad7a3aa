from django.urls import path

from records.reviews import views

urlpatterns = [
    path("", views.review_list, name="review-list"),
    path("for-patient/<int:pk>/", views.for_patient, name="review-for-patient"),
    path("<int:pk>/book/", views.review_book, name="review-book"),
    path("<int:pk>/done/", views.review_done, name="review-done"),
    path("<int:pk>/reopen/", views.review_reopen, name="review-reopen"),
    path("<int:pk>/excuse/", views.review_excuse, name="review-excuse"),
]

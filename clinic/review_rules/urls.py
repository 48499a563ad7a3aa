from django.urls import path

from clinic.review_rules import views

urlpatterns = [
    path("", views.rule_list, name="review-rule-list"),
    path("new/", views.rule_create, name="review-rule-create"),
    path("<int:pk>/", views.rule_edit, name="review-rule-edit"),
    path("durations/new/", views.duration_create, name="duration-create"),
    path("durations/<int:pk>/", views.duration_edit, name="duration-edit"),
    path("durations/<int:pk>/remove/", views.duration_remove, name="duration-remove"),
]

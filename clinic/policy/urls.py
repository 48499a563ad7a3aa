from django.urls import path

from clinic.policy import views

urlpatterns = [
    path("", views.policy_edit, name="policy-edit"),
    path("closures/", views.closure_list, name="closure-list"),
    path("closures/<int:pk>/", views.closure_edit, name="closure-edit"),
    path("closures/<int:pk>/remove/", views.closure_remove, name="closure-remove"),
]

from django.urls import path

from clinic.quarantine import views

urlpatterns = [
    path("", views.quarantine_list, name="quarantine-list"),
    path("new/", views.quarantine_create, name="quarantine-create"),
    path("<int:pk>/", views.quarantine_detail, name="quarantine-detail"),
    path("<int:pk>/lift/", views.quarantine_lift, name="quarantine-lift"),
    path("<int:pk>/pull-list.pdf", views.quarantine_pull_list, name="quarantine-pull-list"),
    path("for-lot/<int:pk>/", views.quarantine_for_lot, name="quarantine-for-lot"),
    path("lots/<int:pk>/", views.lot_quarantine, name="lot-quarantine"),
    path("lots/<int:pk>/release/", views.lot_release, name="lot-release"),
]

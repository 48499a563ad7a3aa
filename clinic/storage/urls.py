from django.urls import path

from clinic.storage import views

urlpatterns = [
    path("", views.place_list, name="place-list"),
    path("<int:pk>/", views.place_detail, name="place-detail"),
    path("nowhere/", views.place_nowhere, name="place-nowhere"),
    path("move/", views.unit_move, name="unit-move"),
    path("move/choose/", views.unit_choose, name="unit-choose"),
]

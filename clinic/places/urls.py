from django.urls import path

from clinic.places import views

urlpatterns = [
    path("new/", views.place_create, name="place-create"),
    path("<int:pk>/", views.place_edit, name="place-edit"),
]

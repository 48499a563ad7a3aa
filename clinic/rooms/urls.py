from django.urls import path

from clinic.rooms import views

urlpatterns = [
    path("", views.room_list, name="room-list"),
    path("new/", views.room_create, name="room-create"),
    path("<int:pk>/", views.room_edit, name="room-edit"),
]

from django.urls import path

from records.diary import views

urlpatterns = [
    path("", views.diary, name="diary"),
    path("week/", views.week, name="diary-week"),
    path("visit/<int:pk>/", views.visit, name="diary-visit"),
    path("day-sheet/", views.day_sheet, name="diary-day-sheet"),
]

from django.urls import path

from records.search import views

urlpatterns = [
    path("", views.search, name="search"),
    path("live/", views.search_live, name="search-live"),
]

from django.urls import path

from clinic.sites import views

urlpatterns = [
    path("", views.site_list, name="site-list"),
    path("new/", views.site_create, name="site-create"),
    path("<int:pk>/", views.site_edit, name="site-edit"),
]

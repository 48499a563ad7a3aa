from django.urls import path

from clinic.atlas import views

urlpatterns = [
    path("", views.atlas_list, name="atlas-list"),
    path("drawing/<str:view>/<str:jaw>/", views.atlas_drawing, name="atlas-drawing"),
    path("replace/<str:key>/", views.atlas_replace, name="atlas-replace"),
    path("withdraw/<str:key>/", views.atlas_withdraw, name="atlas-withdraw"),
    path("entries/<int:pk>/", views.atlas_edit, name="atlas-edit"),
    path("entries/<int:pk>/remove/", views.atlas_remove, name="atlas-remove"),
    path("<str:region>/", views.atlas_region, name="atlas-region"),
    path("<str:region>/add/<str:kind>/", views.atlas_add, name="atlas-add"),
]

from django.urls import path

from clinic.products import views

urlpatterns = [
    path("", views.product_list, name="product-list"),
    path("new/", views.product_create, name="product-create"),
    path("<int:pk>/", views.product_edit, name="product-edit"),
]

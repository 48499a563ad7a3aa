from django.urls import path

from records.elsewhere import views

urlpatterns = [
    path("for-patient/<int:pk>/", views.elsewhere_for_patient, name="elsewhere-for-patient"),
    path("add/<int:pk>/", views.elsewhere_add, name="elsewhere-add"),
    path("<int:pk>/withdraw/", views.elsewhere_withdraw, name="elsewhere-withdraw"),
]

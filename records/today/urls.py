from django.urls import path

from records.today import views

urlpatterns = [path("", views.today, name="today")]

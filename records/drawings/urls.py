from django.urls import path

from records.drawings import views

urlpatterns = [path("<slug:view>/<slug:jaw>/", views.drawing, name="drawing")]

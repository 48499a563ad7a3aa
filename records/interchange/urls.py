from django.urls import path

from records.interchange import views

urlpatterns = [path("<int:pk>/record.json", views.record_file, name="interchange-record")]

from django.urls import path

from clinic.style.views import style_index

urlpatterns = [path("", style_index, name="style-index")]

from django.urls import path

from records.charting.views import pictures

urlpatterns = [
    path("pictures/<uuid:key>/", pictures.picture, name="charting-picture"),
]

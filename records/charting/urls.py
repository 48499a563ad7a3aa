from django.urls import path

from records.charting.views import pictures, reference, worker

urlpatterns = [
    path("reference/<slug:seal>/", reference.reference, name="charting-reference"),
    path("worker.js", worker.charting_worker, name="charting-worker"),
    path("manifest.webmanifest", worker.charting_manifest, name="charting-manifest"),
    path("pictures/<uuid:key>/", pictures.picture, name="charting-picture"),
]

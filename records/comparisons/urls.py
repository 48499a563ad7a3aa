from django.urls import path

from records.comparisons.views import choosing, marking, sheets, showing

urlpatterns = [
    path("of-patient/<int:pk>/", choosing.comparison_choose, name="comparison-choose"),
    path("marks/<uuid:key>/", marking.marks_edit, name="comparison-marks"),
    path("pair/<uuid:first>/<uuid:second>/", showing.comparison_pair, name="comparison-pair"),
    path("pair/<uuid:first>/<uuid:second>/sheet/", sheets.pair_sheet, name="comparison-pair-sheet"),
    path("sides/<uuid:key>/<str:side>/", showing.comparison_sides, name="comparison-sides"),
    path("sides/<uuid:key>/<str:side>/sheet/", sheets.sides_sheet, name="comparison-sides-sheet"),
    path("sheets/<int:pk>/", sheets.sheet_pdf, name="comparison-sheet"),
]

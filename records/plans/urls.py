from django.urls import path

from records.plans.views import lines, plans, summaries, templates

urlpatterns = [
    path("", plans.plan_list, name="plan-list"),
    path("for-patient/<int:pk>/", plans.plan_for_patient, name="plan-for-patient"),
    path("new/<int:pk>/", plans.plan_start, name="plan-start"),
    path("<int:pk>/", plans.plan_detail, name="plan-detail"),
    path("<int:pk>/edit/", plans.plan_edit, name="plan-edit"),
    path("<int:pk>/end/", plans.plan_end, name="plan-end"),
    path("<int:pk>/template/", templates.template_save, name="plan-template-save"),
    path("<int:pk>/summary/", summaries.summary_issue, name="plan-summary-issue"),
    path("<int:pk>/stages/", lines.stage_add, name="plan-stage-add"),
    path("stages/<int:pk>/", lines.stage_edit, name="plan-stage-edit"),
    path("stages/<int:pk>/give-back/", lines.stage_give_back, name="plan-stage-give-back"),
    path("stages/<int:pk>/remove/", lines.stage_remove, name="plan-stage-remove"),
    path("stages/<int:pk>/template/", lines.template_apply, name="plan-template-apply"),
    path("stages/<int:pk>/lines/", lines.line_create, name="plan-line-create"),
    path("lines/<int:pk>/", lines.line_edit, name="plan-line-edit"),
    path("lines/<int:pk>/remove/", lines.line_remove, name="plan-line-remove"),
    path("summaries/<int:pk>/", summaries.summary_pdf, name="plan-summary-pdf"),
    path("templates/", templates.template_list, name="plan-template-list"),
    path("templates/<int:pk>/", templates.template_edit, name="plan-template-edit"),
    path(
        "templates/lines/<int:pk>/remove/",
        templates.template_line_remove,
        name="plan-template-line-remove",
    ),
]

from django.urls import path

from records.mailings.views import files, mailings, templates

urlpatterns = [
    path("", mailings.mailing_list, name="mailing-list"),
    path("<int:pk>/", mailings.mailing_detail, name="mailing-detail"),
    path("<int:pk>/step/", mailings.mailing_step, name="mailing-step"),
    path("<int:pk>/again/", mailings.mailing_again, name="mailing-again"),
    path("<int:pk>/letters/", files.letter_zip, name="mailing-letters"),
    path("<int:pk>/letters/<int:number>/", files.letter_file, name="mailing-letter-file"),
    path("items/<int:pk>/again/", mailings.item_again, name="mailing-item-again"),
    path("items/<int:pk>/sent/", mailings.item_sent, name="mailing-item-sent"),
    path("templates/", templates.template_list, name="mail-template-list"),
    path("templates/new/", templates.template_create, name="mail-template-create"),
    path("templates/preview/", templates.template_preview, name="mail-template-preview"),
    path("templates/<int:pk>/", templates.template_edit, name="mail-template-edit"),
]

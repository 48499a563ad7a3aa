from django.urls import reverse

from clinic.templatetags.addresses import of


def test_the_address_of_a_row_is_that_of_the_first_with_its_number():
    for name in ("patient-detail", "waiting-edit", "waiting-next-time"):
        assert of(reverse(name, kwargs={"pk": 0}), 207) == reverse(name, kwargs={"pk": 207})

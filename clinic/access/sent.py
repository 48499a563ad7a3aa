"""What a refused form had in it, so that the answer can hold it and nothing typed is lost."""

from django.http import HttpRequest


def typed_fields(request: HttpRequest) -> list[tuple[str, str]] | None:
    """
    Name and value of every field that was sent; one that holds several values comes again.

    None where nothing may go back: a password is among them. Whoever shows them must know that the
    form is one of ours, for its owner will send it again with one press.
    """
    if any("password" in name for name in request.POST):
        return None
    sent = {name: values for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"}
    return [(name, value) for name, values in sent.items() for value in values]

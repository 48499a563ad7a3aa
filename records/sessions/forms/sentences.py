"""What is wrong with a form, as one text."""

from django import forms


def sentence(form: forms.BaseForm) -> str:
    """All of a form's errors, each once; a field is named where its error does not say which."""
    parts: dict[str, None] = {}
    for name, errors in form.errors.items():
        field = form.fields.get(name)
        label = (field and field.label) or name.replace("_", " ").capitalize()
        for error in map(str, errors):
            is_bare = field is not None and error.startswith(("This field", "Enter", "Ensure"))
            parts[f"{label}: {error}" if is_bare else error] = None
    return " ".join(parts)

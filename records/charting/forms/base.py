"""What the data of every operation has in common."""

from django import forms

LARGEST_KEY = 2**63 - 1
PLAIN = (str, int, float, bool, type(None))


class DataForm(forms.Form):
    """Named values of one operation; anything else than text and numbers is refused."""

    NESTED: frozenset[str] = frozenset()
    NESTED_KINDS: tuple[type, ...] = (dict, type(None))

    def __init__(self, data: dict) -> None:
        self.odd = [
            name
            for name in self.base_fields
            if not isinstance(data.get(name), self.NESTED_KINDS if name in self.NESTED else PLAIN)
        ]
        super().__init__({**data, **dict.fromkeys(self.odd)})

    def clean(self) -> dict:
        for name in self.odd:
            self.add_error(None, f"{name} is not of the kind that was agreed.")
        return super().clean() or {}


class KeyData(DataForm):
    key = forms.UUIDField()

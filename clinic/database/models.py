"""Running numbers that people read: record numbers and labels of units of stock."""

from django.db import models, transaction


class Counter(models.Model):
    """The last number given out for one purpose."""

    name = models.CharField(max_length=40, primary_key=True)
    value = models.PositiveBigIntegerField(default=0)

    class Meta:
        app_label = "clinic"

    def __str__(self) -> str:
        return f"{self.name}: {self.value}"


def next_numbers(name: str, count: int = 1) -> range:
    """The next `count` numbers for `name`, without gaps or repeats, in the caller's transaction."""
    with transaction.atomic():
        Counter.objects.get_or_create(name=name)
        counter = Counter.objects.select_for_update().get(name=name)
        first = counter.value + 1
        counter.value += count
        counter.save(update_fields=["value"])
    return range(first, first + count)

from django.db import migrations

BATCH = 1000


def give_each_its_history(apps, schema_editor):
    """
    A review of before gets the first row of its dates, as of its session's signature, and answers
    the general rule of the policy, the only one there was.
    """
    Review = apps.get_model("records", "Review")
    ReviewAsk = apps.get_model("records", "ReviewAsk")
    ReviewDate = apps.get_model("records", "ReviewDate")
    answered = set()
    asks, dates = [], []
    for review in Review.objects.select_related("session").order_by("id").iterator(BATCH):
        session = review.session
        if review.session_id not in answered:
            answered.add(review.session_id)
            asks.append(ReviewAsk(review_id=review.pk, session_id=review.session_id))
        dates.append(
            ReviewDate(
                review_id=review.pk, earliest_on=review.earliest_on, due_on=review.due_on,
                latest_on=review.latest_on, cause="scheduled", reason=review.rule or "clinic policy",
                at=session.signed_at or session.started_at, by_id=session.signed_by_id,
            )
        )  # fmt: skip
    ReviewAsk.objects.bulk_create(asks, batch_size=BATCH)
    ReviewDate.objects.bulk_create(dates, batch_size=BATCH)


def take_away(apps, schema_editor):
    apps.get_model("records", "ReviewAsk").objects.all().delete()
    apps.get_model("records", "ReviewDate").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("records", "0014_review_windows")]

    operations = [migrations.RunPython(give_each_its_history, take_away)]

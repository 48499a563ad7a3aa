from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("records", "0027_quiet_hours_of_before")]

    operations = [
        migrations.RemoveField("reminderpolicy", "quiet_from"),
        migrations.RemoveField("reminderpolicy", "quiet_until"),
    ]

import datetime

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("clinic", "0019_waiting_list")]

    operations = [
        migrations.RenameField("clinicpolicy", "offer_quiet_from", "quiet_from"),
        migrations.RenameField("clinicpolicy", "offer_quiet_until", "quiet_until"),
        migrations.AlterField(
            model_name="clinicpolicy",
            name="quiet_from",
            field=models.TimeField(
                default=datetime.time(20, 0),
                help_text="Quiet hours: what is due in them waits, and no offer ends in them.",
                verbose_name="nobody is written to from",
            ),
        ),
        migrations.AlterField(
            model_name="clinicpolicy",
            name="quiet_until",
            field=models.TimeField(
                default=datetime.time(8, 0),
                help_text="The same time twice: no quiet hours. Common practice, no source.",
                verbose_name="until",
            ),
        ),
    ]

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("office", "0003_weather_table"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="job",
            index=models.Index(fields=["hidden", "state"], name="job_by_state"),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(fields=["hidden", "touched"], name="job_by_touch"),
        ),
    ]

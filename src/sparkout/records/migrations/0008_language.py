from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0007_season"),
    ]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="language",
            field=models.CharField(default="en", max_length=10),
        ),
    ]

"""What the clinic has of each material."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from gaiter.records.ledger import Row
from gaiter.records.models.account import Account
from gaiter.records.models.bandage import Bandaging
from gaiter.records.models.constraints import above_nothing


class StockItem(Row):
    """One material in one width; sizes replace the catalogue's where they are given."""

    material = models.CharField(max_length=40)
    width_cm = models.FloatField()
    relaxed_length_cm = models.FloatField(null=True)
    thickness_mm = models.FloatField(null=True)
    curve = models.JSONField(null=True)
    rolls = models.IntegerField()
    low_at = models.PositiveIntegerField(default=5)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["material", "width_cm"],
                name="one_item_a_width",
                violation_error_message=_(
                    "This material is on the shelf in that width already: change it there."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(rolls__gte=0),
                name="no_negative_stock",
                violation_error_message=_("The shelf has fewer rolls than that: count it."),
            ),
            above_nothing("width_cm", "a_width_of_something"),
        ]


class StockMove(Row):
    """Rolls that came or went."""

    item = models.ForeignKey(StockItem, on_delete=models.PROTECT, related_name="moves")
    change = models.IntegerField()
    why = models.CharField(max_length=120)
    bandaging = models.ForeignKey(Bandaging, on_delete=models.PROTECT, null=True)
    by = models.ForeignKey(Account, on_delete=models.PROTECT)
    at = models.DateTimeField()

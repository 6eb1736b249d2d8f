"""What one unit on the shelf cost the shop: the weighted average, moved by everything that comes."""

from decimal import ROUND_HALF_UP, Decimal

FINEST = Decimal("0.0001")


def averaged(on_hand: Decimal, average: Decimal, quantity: Decimal, unit_cost: Decimal) -> Decimal:
    """Return what one unit costs after so many came at so much each, or went at it (below 0) [money, 4 digits].

    (on hand * average + quantity * unit cost) / (on hand + quantity), rounded half up. What goes at the average leaves
    it as it is. Where nothing is left, or less than nothing would be its worth, the average before stays.

    References: IAS 2 Inventories, paragraphs 25 and 27: weighted average, worked out as each shipment is received;
    from memory.
    """
    left = on_hand + quantity
    worth = on_hand * average + quantity * unit_cost
    if left <= 0 or worth < 0:
        return average
    return (worth / left).quantize(FINEST, ROUND_HALF_UP)

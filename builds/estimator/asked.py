"""What the customer was asked at the counter, as the build sheet holds it; an answer left out was not given."""

from dataclasses import dataclass

from .specs import Choice, Flag, Number, Text, of


@dataclass(frozen=True, kw_only=True)
class Asked:
    """The answers of one customer; None: not asked, or not answered. None of them is compulsory.

    `hours_dark` is the time on the water in the dark on one trip [h], 0 to 24. `motor` says whether one is wanted,
    `holes` how new holes are felt about. `transport` is the way to the water, `lifters` how many people lift the boat,
    1 to 6. `freezes` says that the place of storage goes below freezing. `battery_now` is what the customer has.
    `own_parts` names the parts that the customer has, in the customer's words. `side` is the side that is preferred.
    """

    hours_dark: float | None = of(Number(low=0, high=24, null=True), None)
    motor: str | None = of(Choice(options=("no", "later", "now"), null=True), None)
    holes: str | None = of(Choice(options=("fine", "few", "none"), null=True), None)
    transport: str | None = of(Choice(options=("roof", "truck_bed", "trailer", "cart"), null=True), None)
    lifters: int | None = of(Number(low=1, high=6, whole=True, null=True), None)
    storage: str | None = of(Choice(options=("indoors", "shed", "outdoors"), null=True), None)
    freezes: bool | None = of(Flag(null=True), None)
    battery_now: str | None = of(Choice(options=("none", "lead_acid", "lithium"), null=True), None)
    own_parts: str | None = of(Text(longest=2000, blank=True, null=True), None)
    side: str | None = of(Choice(options=("port", "starboard"), null=True), None)

"""What a paper says besides the sheet and the estimate: plain values, so that a paper needs no database."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any


@dataclass
class PaperFacts:
    """The ticket, the boat, the shop and the dates of one paper; what is left empty is left out of the paper.

    `bins` names the bin of an accessory type by its id. `initialled` are the places that carry the customer's
    initials, as the acceptance records them; None where nobody recorded any. `base_url` is the shop's own address
    (https://shop.example): without it there is no QR code.

    `most` is what the quoted work may come to by the shop's `rule`, "not_to_exceed" or "tolerance"; with no rule named,
    a `most` above the price is a tolerance. `differences` are sentences on what changed since the version that a quote
    replaces. A work order that follows a change order has its number, its `changes` and the `consent` to them as
    sentences; `before` is the estimate that the work order which it replaces was printed from. The `approver` may
    approve more. `texts` are the shop's own wording by its name, in force since `texts_from`.
    """

    ticket_number: str
    title: str = ""
    hull_name: str = ""
    hull_number: str = ""
    hull_material: str = ""
    customer: str = ""
    shop_name: str = ""
    shop_address: str = ""
    number: str = ""
    version: int = 1
    replaces: int | None = None
    quote_number: str = ""
    issued_at: datetime.datetime | None = None
    valid_until: datetime.date | None = None
    ready_on: datetime.date | None = None
    accepted_at: datetime.datetime | None = None
    accepted_by: str = ""
    initialled: list[str] | None = None
    override_reason: str = ""
    workmanship_days: int = 0
    most: Decimal | None = None
    rule: str = ""
    differences: list[str] = field(default_factory=list)
    change_number: str = ""
    changes: list[str] = field(default_factory=list)
    consent: str = ""
    approver: str = ""
    approver_number: str = ""
    before: Mapping[str, Any] | None = None
    texts: Mapping[str, str] = field(default_factory=dict)
    texts_from: datetime.date | None = None
    base_url: str = ""
    bins: Mapping[str, str] = field(default_factory=dict)

    @property
    def boat(self) -> str:
        """The boat as a reader knows it: its name and its number in the shop."""
        return ", ".join(part.strip() for part in (self.hull_name, self.hull_number) if part)

    @property
    def boat_in_short(self) -> str:
        """The boat for the edge of a page, where its number must not be cut off."""
        return "  ".join(part for part in (self.hull_number, self.hull_name) if part)

    @property
    def bench_url(self) -> str:
        """The ticket's page at the bench, or nothing where the shop's address is not known."""
        return f"{self.base_url.rstrip('/')}/bench/ticket/{self.ticket_number}/" if self.base_url else ""

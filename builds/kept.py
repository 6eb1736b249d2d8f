"""What many tickets' customers agreed to, read at once: sheets, estimates, and the catalogues that they stand on."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from builds.estimator.document import Catalogue, read_sheet
from builds.estimator.rates import Shop
from builds.estimator.specs import Record, read
from builds.models import KeptCatalogue, Ticket

CATALOGUES_AT_MOST = 16
PARTS = ("sheet_json", "estimate_json", "catalogue__sha256")


@dataclass(frozen=True)
class KeptTicket:
    """What holds of a ticket: its sheet without the catalogue, its estimate's document, and the catalogue's hash."""

    pk: int
    number: str
    title: str
    sheet: dict[str, Any]
    estimate: dict[str, Any]
    sha256: str

    @property
    def catalogue(self) -> Catalogue:
        return catalogue_kept(self.sha256)

    @property
    def shop(self) -> Shop:
        return shop_kept(self.sha256)

    @property
    def build_sheet(self):
        """The whole sheet, read."""
        return read_sheet(self.sheet, self.catalogue)


def kept_tickets(pks: Iterable[int]) -> Iterator[KeptTicket]:
    """Yield what tickets agreed to, in the order of their keys: one query, and one for each catalogue not yet read."""
    names = [f"agreed_{paper}__{part}" for paper in ("change", "quote") for part in PARTS]
    rows = Ticket.objects.filter(pk__in=list(pks), agreed_quote__isnull=False).order_by("pk")
    for pk, number, title, *papers in rows.values_list("pk", "number", "title", *names):
        sheet, estimate, sha256 = papers[:3] if papers[0] is not None else papers[3:]
        yield KeptTicket(pk, number, title, json.loads(sheet), json.loads(estimate), sha256)


@lru_cache(maxsize=CATALOGUES_AT_MOST)
def catalogue_kept(sha256: str) -> Catalogue:
    """Return a kept catalogue as the estimator takes it; its hash names its content, so the process may keep it."""
    records = KeptCatalogue.objects.get(sha256=sha256).records
    return Catalogue(records["accessories"], records["shop_operations"], records["shop"])


@lru_cache(maxsize=CATALOGUES_AT_MOST)
def shop_kept(sha256: str) -> Shop:
    shop: Shop = read(Record(cls=Shop), catalogue_kept(sha256).shop_record, "shop")
    return shop

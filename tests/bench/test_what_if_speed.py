"""How long a ticket takes at other rates, in time of the processor; `-s` shows the figures of a run.

The bar of the house: the 2,000 tickets of a year within 10 s on two cores. Measured when this was written, rows and
page included: 1.4 ms a ticket on one core.
"""

import json

from builds.estimator.document import read_sheet
from builds.estimator.estimate import document, estimate
from builds.estimator.files import catalogue, read_document
from builds.estimator.repricing import kept_of, repriced
from tests.bench.test_estimate_speed import best_ms
from tests.estimator.broken import JOBS


def test_a_ticket_at_other_rates_takes_a_third_of_its_estimate_at_most():
    """Both from what is kept: JSON read, then the price, or the sheet read and all of the estimate."""
    shelf = catalogue()
    sheet = read_document(JOBS / "night_lights.json")
    text, kept = json.dumps(sheet), json.dumps(document(estimate(read_sheet(sheet, shelf))))
    shop = read_sheet(sheet, shelf).shop

    def other_rates():
        return repriced(kept_of(json.loads(text), json.loads(kept), shelf.accessories, shop), shop)

    whole_ms = best_ms(lambda: estimate(read_sheet(json.loads(text), shelf)))
    short_ms = best_ms(other_rates)
    print(f"whole {whole_ms:.2f} ms, at other rates {short_ms:.2f} ms")
    assert short_ms < whole_ms / 3

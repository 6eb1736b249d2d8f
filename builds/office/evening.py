"""The page that the owner opens in the evening: what earned, what did not, and why."""

import datetime
from dataclasses import dataclass

from builds.earnings.earned import PHASE
from builds.earnings.figures import Figures
from builds.models import TicketTotals
from builds.office import behind
from builds.office.behind import MOST, Behind
from builds.office.charts import phase_words
from builds.office.keeping import DAYS, MONTH, OUTCOME
from builds.office.periods import Period, moved
from builds.office.standing import InBrief, in_brief
from builds.office.sums import Counted, days_by, days_of, of_views
from catalog.models import ShopRates

LISTED = 12
OF_EACH_END = 5
TREND_MONTHS = 12


@dataclass(frozen=True)
class Evening:
    """Everything on the page, read in a fixed number of queries."""

    period: Period
    tickets: int
    figures: Figures
    phases: dict[str, Counted]
    months: dict[datetime.date, Counted]
    trend: Period
    least: Behind
    ends: list[tuple[str, str, float]]
    under: int
    outcomes: dict[str, int]
    days: dict[int, int]
    now: InBrief

    @property
    def decided(self) -> int:
        return sum(self.outcomes.values())

    @property
    def days_middle(self) -> tuple[int | None, ...]:
        """The days by which a quarter, half and three quarters of the quotes had their yes."""
        return tuple(days_by(share, self.days) for share in (0.25, 0.5, 0.75))

    @property
    def worst_phase(self) -> str:
        """The step that lost most, and by which factor, or nothing."""
        lost = [(figures.why_minutes, phase) for phase, (_, figures) in self.phases.items() if figures.why_minutes < 0]
        if not lost:
            return ""
        phase = min(lost)[1]
        figures = self.phases[phase][1]
        if not figures.estimated_min:
            return f"{phase_words(phase)} took minutes that nobody estimated"
        return f"{phase_words(phase)} took {figures.worked_min / figures.estimated_min:.1f} times its estimate"


def evening(period: Period, rates: ShopRates, months: dict[datetime.date, Counted]) -> Evening:
    """Return what the page says; `months` are the sums of all months in which a boat left."""
    found = of_views((MONTH, PHASE, OUTCOME, DAYS), period)
    tickets, figures = found[MONTH].get("", (0, Figures()))
    trend = Period(moved(period.last, 1 - TREND_MONTHS), period.last)
    rows = TicketTotals.objects.filter(month__gte=period.first, month__lte=period.last)
    least = behind.page_of(MONTH, "", period, most=LISTED)
    return Evening(
        period=period,
        tickets=tickets,
        figures=figures,
        phases=found[PHASE],
        months=months,
        trend=trend,
        least=least,
        ends=ends_of(period, least),
        under=rows.filter(rank__lt=rates.margin_floor).count(),
        outcomes={key: count for key, (count, _) in found[OUTCOME].items()},
        days=days_of(found[DAYS]),
        now=in_brief(rates),
    )


def ends_of(period: Period, least: Behind) -> list[tuple[str, str, float]]:
    """Return number, job and margin of the tickets that earned most and least, the most first."""
    rows = TicketTotals.objects.filter(month__gte=period.first, month__lte=period.last)
    most = rows.order_by(*behind.sorting(MOST)).values_list("ticket__number", "ticket__title", "rank")[:OF_EACH_END]
    ends = dict.fromkeys([*most, *least.ranked[:OF_EACH_END]])
    return sorted(ends, key=lambda row: (-row[2], row[0]))

"""Labour: minutes of each line with set-up shared between lines, their spread, and what is quoted."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from statistics import NormalDist

from .accessory import PHASES, AccessoryType
from .fitted import Fitted
from .rates import Shop
from .runs import Route
from .sheet import BuildSheet, Hull
from .working import Working

PhaseMinutes = dict[str, float]
SLACK = 1e-9


@dataclass(frozen=True)
class LineMinutes:
    """Minutes of one line, or of one operation (`line` is then its id): low, likely, high, PERT mean and sd [min].

    `by_phase` splits the likely minutes; `plain_min` is what the line would take by itself, likely.
    """

    line: str
    low_min: float
    likely_min: float
    high_min: float
    mean_min: float
    sd_min: float
    by_phase: Mapping[str, float] = field(default_factory=dict)
    plain_min: float = 0.0

    @property
    def is_work(self) -> bool:
        return self.high_min > 0


@dataclass(frozen=True)
class Minutes:
    """The labour of a ticket [min]. `lines` are in the sheet's order, then the billable operations.

    `plain_sum_min` is the mean without any sharing, `shared_setup_saved_min` what sharing saves of it.
    """

    lines: tuple[LineMinutes, ...]
    plain_sum_min: float
    shared_setup_saved_min: float
    mean_min: float
    sd_min: float
    p50_min: float
    p80_min: float
    quoted_min: float


def pert_mean(low: float, likely: float, high: float) -> float:
    """Return the PERT mean (a + 4 m + b) / 6 [same unit] (Malcolm et al. 1959)."""
    return (low + 4 * likely + high) / 6


def pert_sd(low: float, high: float) -> float:
    """Return the PERT standard deviation (b - a) / 6 [same unit] (Malcolm et al. 1959)."""
    return (high - low) / 6


def total_sd(sds: list[float], correlation: float) -> float:
    """Return the sd of a sum of equally correlated parts [same unit].

    sd = sqrt(sum s_i^2 + r * sum over i != j of s_i s_j); the second sum is (sum s_i)^2 - sum s_i^2.
    """
    squares = math.fsum(sd * sd for sd in sds)
    return math.sqrt(squares + correlation * max(0.0, math.fsum(sds) ** 2 - squares))


def percentile(mean: float, sd: float, share: float) -> float:
    """Return mean + z sd, z the exact inverse normal of the share (0 to 1, ends excluded)."""
    return mean + NormalDist().inv_cdf(share) * sd


def phase_minutes(kind: AccessoryType) -> PhaseMinutes:
    """Return a type's likely minutes split over its phases by the shares of its steps [min]."""
    total = math.fsum(step.share for step in kind.steps)
    minutes: PhaseMinutes = {}
    for step in kind.steps:
        minutes[step.phase] = minutes.get(step.phase, 0.0) + step.share / total * kind.labour.likely_min
    return minutes


def setup_minutes(kind: AccessoryType, shop: Shop) -> PhaseMinutes:
    """Return the set-up of each phase of a type [min]: u_p = min(setup_share_max * m_p, phase_setup_min[p])."""
    return {
        phase: min(shop.setup_share_max * minutes, getattr(shop.phase_setup_min, phase))
        for phase, minutes in phase_minutes(kind).items()
    }


def phase_factors(phase: str, one: Fitted, hull: Hull) -> tuple[str, ...]:
    """Return the names of the factors that lengthen a phase of a line on a hull (common practice, no source)."""
    no_reach = one.station is not None and not one.station.hand_reach and one.kind.wants_inside_access
    touched = (
        ("no_hand_reach", no_reach, ("drill", "bed", "mount")),
        ("laminate", hull.material == "laminate", ("drill", "bed")),
        ("old_hull", hull.old, ("drill", "mount")),
        ("salt_corroded", hull.salt_corroded, ("terminate", "mount")),
    )
    return tuple(name for name, holds, phases in touched if holds and phase in phases)


def phase_factor(phase: str, one: Fitted, hull: Hull, shop: Shop) -> float:
    """Return by how much hull and place lengthen a phase: the product of the shop's own factors."""
    return math.prod((getattr(shop.factors, name) for name in phase_factors(phase, one, hull)), start=1.0)


def setup_carriers(fitted: tuple[Fitted, ...], shop: Shop) -> dict[str, tuple[str, float]]:
    """Return, for each phase, the line that carries its set-up and how much [min].

    Once a ticket: the first line of each type stands for it; the type with the largest set-up carries, the earlier
    line where two are equal.
    """
    carriers: dict[str, tuple[str, float]] = {}
    seen: set[str] = set()
    for one in fitted:
        if not one.is_new or one.kind.id in seen:
            continue
        seen.add(one.kind.id)
        for phase, minutes in setup_minutes(one.kind, shop).items():
            if phase not in carriers or minutes > carriers[phase][1]:
                carriers[phase] = one.id, minutes
    return carriers


def line_minutes(sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route]) -> list[LineMinutes]:
    """Return the minutes of each line in the sheet's order.

    First unit of a type: m_p - u_p in each phase, and u_p on top for the carrier; further units: repeat_ratio * m_p.
    Runs beyond `run_included_m` add `run_min_per_m` a metre in route. Then the factors of each phase. Low and high
    scale as likely does. What is already fitted takes nothing.
    """
    shop = sheet.shop
    carriers = setup_carriers(fitted, shop)
    first_of_type: set[str] = set()
    lines = []
    for one in fitted:
        if not one.is_new:
            lines.append(LineMinutes(one.id, 0.0, 0.0, 0.0, 0.0, 0.0))
            continue
        plain, setup = phase_minutes(one.kind), setup_minutes(one.kind, shop)
        is_first = one.kind.id not in first_of_type
        first_of_type.add(one.kind.id)
        units = one.kind.labour.repeat_ratio * (one.quantity - is_first)
        run_min = run_minutes(one, routes, shop)
        shared: PhaseMinutes = {}
        alone: PhaseMinutes = {}
        for phase in PHASES:
            minutes = plain.get(phase, 0.0)
            run = run_min if phase == "route" else 0.0
            if phase not in plain and not run:
                continue
            factor = phase_factor(phase, one, sheet.hull, shop)
            carried = setup.get(phase, 0.0) if carriers.get(phase, ("",))[0] == one.id and is_first else 0.0
            first = minutes - setup.get(phase, 0.0) + carried if is_first else 0.0
            shared[phase] = factor * (first + units * minutes + run)
            alone[phase] = factor * (minutes * is_first + units * minutes + run)
        lines.append(spread_of(one, is_first + units, shared, math.fsum(alone.values())))
    return lines


def run_minutes(one: Fitted, routes: Mapping[str, Route], shop: Shop) -> float:
    """Return the minutes that a load's run takes beyond what its labour includes [min]."""
    route = routes.get(one.id)
    return shop.run_min_per_m * max(0.0, route.run_m - shop.run_included_m) if route else 0.0


def spread_of(one: Fitted, units: float, by_phase: PhaseMinutes, plain_min: float) -> LineMinutes:
    """Return a line's minutes with low and high in the proportion of its type's.

    A type whose likely minutes are 0 gives no proportion: each of its units then adds its high minutes as they are.
    """
    labour = one.kind.labour
    likely = math.fsum(by_phase.values())
    low = likely * labour.low_min / labour.likely_min if labour.likely_min else likely
    high = likely * labour.high_min / labour.likely_min if labour.likely_min else likely + units * labour.high_min
    return LineMinutes(one.id, low, likely, high, pert_mean(low, likely, high), pert_sd(low, high), by_phase, plain_min)


def operation_minutes(sheet: BuildSheet) -> list[LineMinutes]:
    """Return the minutes of each billable operation, its quantity in one."""
    found = []
    for row in sheet.operations:
        operation = sheet.shop_operations[row.operation]
        if operation.billable:
            low, likely, high = (
                row.quantity * minutes
                for minutes in (operation.labour.low_min, operation.labour.likely_min, operation.labour.high_min)
            )
            mean, sd = pert_mean(low, likely, high), pert_sd(low, high)
            found.append(LineMinutes(operation.id, low, likely, high, mean, sd, {operation.phase: likely}, likely))
    return found


def labour_of(sheet: BuildSheet, fitted: tuple[Fitted, ...], routes: Mapping[str, Route]) -> Minutes:
    """Return the labour of a ticket.

    Ticket mean = sum of means; sd by `total_sd`; a percentile = mean + z sd; quoted = the shop's percentile, at least
    the minimum charge where there is any work, rounded up to the billing step [min].

    References: PERT, Malcolm et al. 1959; sharing of set-up, correlation and steps: the shop's policy.
    """
    shop = sheet.shop
    lines = [*line_minutes(sheet, fitted, routes), *operation_minutes(sheet)]
    mean = math.fsum(line.mean_min for line in lines)
    sd = total_sd([line.sd_min for line in lines], shop.labour_correlation)
    plain = math.fsum(line.mean_min * (line.plain_min / line.likely_min if line.likely_min else 1.0) for line in lines)
    return Minutes(
        lines=tuple(lines),
        plain_sum_min=plain,
        shared_setup_saved_min=plain - mean,
        mean_min=mean,
        sd_min=sd,
        p50_min=percentile(mean, sd, 0.5),
        p80_min=percentile(mean, sd, 0.8),
        quoted_min=quoted(percentile(mean, sd, shop.labour_percentile), any(line.is_work for line in lines), shop),
    )


def quoted(minutes: float, any_work: bool, shop: Shop) -> float:
    """Return the minutes that the customer pays: at least the minimum charge, rounded up to the billing step [min]."""
    if not any_work:
        return 0.0
    charged = max(minutes, shop.minimum_charge_min)
    return math.ceil(charged / shop.billing_step_min * (1 - SLACK)) * shop.billing_step_min


def workings_of(sheet: BuildSheet, labour: Minutes) -> Iterator[Working]:
    """Yield the working of each figure."""
    shop = sheet.shop
    yield Working(
        "labour.plain_sum_min",
        "sum of the means of every line by itself",
        {f"{line.line} [min]": line.plain_min for line in labour.lines},
        ("catalogue", "pert"),
    )
    yield Working(
        "labour.shared_setup_saved_min",
        "plain sum − mean; a phase's set-up is spent once a ticket",
        {"plain sum [min]": labour.plain_sum_min, "mean [min]": labour.mean_min},
        ("shop_policy",),
    )
    yield Working(
        "labour.mean_min",
        "sum of (low + 4 × likely + high) ÷ 6",
        {f"{line.line} [min]": line.mean_min for line in labour.lines},
        ("pert",),
    )
    yield Working(
        "labour.sd_min",
        "√(sum of s² + r × sum of sᵢ sⱼ), s = (high − low) ÷ 6",
        {"correlation r": shop.labour_correlation},
        ("pert", "shop_policy"),
    )
    for name, share in (("p50_min", 0.5), ("p80_min", 0.8)):
        inputs = {"mean [min]": labour.mean_min, "sd [min]": labour.sd_min, "z": NormalDist().inv_cdf(share)}
        yield Working(f"labour.{name}", "mean + z × sd", inputs, ("pert",))
    yield Working(
        "labour.quoted_min",
        "the shop's percentile, at least the minimum charge, rounded up to the billing step",
        {
            "percentile": shop.labour_percentile,
            "minutes [min]": percentile(labour.mean_min, labour.sd_min, shop.labour_percentile),
            "minimum charge [min]": shop.minimum_charge_min,
            "billing step [min]": shop.billing_step_min,
        },
        ("shop_policy",),
    )

"""The sheet of answers beside a ticket: what the estimate says, in the order in which it is read."""

import datetime
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from builds.estimator.cautions import STOP, Caution
from builds.estimator.estimate import Estimate, workings_of
from builds.estimator.gains import Gain, gain_of
from builds.estimator.placement import Placement
from builds.estimator.sources import SOURCES
from builds.estimator.working import Working
from builds.models import Line, Ticket
from builds.old_prices import in_words, old_lines
from builds.parts import line_words
from builds.planner.promise import Promise, late_by_days
from builds.suiting import asked_of
from shop import units

ENERGY = ("energy_short", "energy_marginal")
SEVERITY_WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}


@dataclass(frozen=True)
class Figure:
    """One row: its name, the band or limit in small, the value with its unit, the verdict, the working behind it."""

    key: str
    name: str
    value: str
    unit: str
    band: str = ""
    verdict: str = "within"
    working: "Opened | None" = None


@dataclass(frozen=True)
class Opened:
    """A working as a reader sees it."""

    formula: str
    inputs: list[tuple[str, str]]
    sources: list[tuple[str, str]]


@dataclass(frozen=True)
class LineRow:
    """One line of the ticket as its table shows it."""

    number: int
    line: Line
    where: str
    holes: str
    minutes: float
    amount: Any
    supplied: str
    bundle: str
    stands: str = ""
    priced_on: datetime.date | None = None


@dataclass(frozen=True)
class Act:
    """A mend as a button: what it does in words, what it costs, and the data that the action takes."""

    words: str
    gain: str
    data: dict[str, Any]

    @property
    def json(self) -> str:
        return json.dumps(self.data)


@dataclass(frozen=True)
class Warned:
    """A caution as it stands on the page."""

    caution: Caution
    word: str
    source: str
    acts: list[Act] = field(default_factory=list)


@dataclass(frozen=True)
class BatteryPlace:
    """One station where a battery may stand, with what would be there, and the mend that moves it there."""

    name: str
    trim_mm: float | None
    heel_deg: float | None
    longest_run_m: float
    drops_pass: bool
    is_best: bool
    is_now: bool
    json: str


@dataclass(frozen=True)
class BatteryPlaces:
    """A battery and every station that holds one."""

    name: str
    places: list[BatteryPlace]


@dataclass(frozen=True)
class Answers:
    """Everything that the sheet of answers and the table of lines show."""

    estimate: Estimate
    promise: Promise | None
    ready_on: datetime.date | None
    rows: list[LineRow]
    operations_min: float
    figures: list[Figure]
    stops: list[Warned]
    cautions: list[Warned]
    notes: list[Warned]
    price_workings: list[tuple[str, Opened]]
    batteries: list[BatteryPlaces]
    old_prices: str = ""

    @property
    def warned(self) -> list[Warned]:
        return [*self.stops, *self.cautions, *self.notes]


def answers_of(ticket: Ticket, found: Estimate, promised: Promise | None, ready_on: datetime.date | None) -> Answers:
    """Return the answers to one ticket. Cost and margin are not among them: the customer sees this page.

    `ready_on` is the promised day, agreed or as it would be today; None where the bench has no time.
    """
    opened = {working.figure: opened_of(working) for working in workings_of(found)}
    warned = [*warned_in(found), *warned_of_date(ticket, ready_on)]
    old = old_lines(ticket)
    names = ("parts", "labour", "consumables", "fees", "discount", "tax.parts", "total", "deposit")
    return Answers(
        estimate=found,
        promise=promised,
        ready_on=ready_on,
        rows=line_rows(ticket, found, old),
        operations_min=sum(line.mean_min for line in found.labour.lines[len(found.fitted) :]),
        figures=list(figures_of(found, opened)),
        stops=[one for one in warned if one.caution.severity == STOP],
        cautions=[one for one in warned if one.caution.severity == "caution"],
        notes=[one for one in warned if one.caution.severity == "note"],
        price_workings=[(name, opened[f"price.{name}"]) for name in names if f"price.{name}" in opened],
        batteries=[battery_places(found, placed) for placed in found.placement if len(placed.options) > 1],
        old_prices=in_words(old),
    )


def warned_in(found: Estimate) -> list[Warned]:
    """Return the cautions of an estimate as the counter sees them, with what each mend costs."""
    return [warned_of(found, caution) for caution in together(found)]


def warned_of_date(ticket: Ticket, ready_on: datetime.date | None) -> Iterator[Warned]:
    """Yield a caution where the boat is ready later than the customer needs it."""
    asked = asked_of(ticket)
    if asked is None or not asked.float_by or not ready_on or not (late := late_by_days(ready_on, asked.float_by)):
        return
    days = "day" if late == 1 else "days"
    sentence = f"Ready {late} {days} after {asked.float_by:%d %b}, when it must float."
    yield Warned(Caution("ready_too_late", "caution", sentence, {"days": late}), SEVERITY_WORDS["caution"], "")


def battery_places(found: Estimate, placed: Placement) -> BatteryPlaces:
    line, stations = found.sheet.line_by_id[placed.battery], found.sheet.hull.station_by_id
    return BatteryPlaces(
        found.sheet.type_of(line).name,
        [
            BatteryPlace(
                name=stations[option.station].name,
                trim_mm=option.trim_mm,
                heel_deg=option.heel_deg,
                longest_run_m=option.longest_run_m,
                drops_pass=option.drops_pass,
                is_best=option.station == placed.best,
                is_now=option.station == line.station,
                json=json.dumps({"do": "move", "line": placed.battery, "station": option.station}),
            )
            for option in placed.options
        ],
    )


def line_rows(ticket: Ticket, found: Estimate, old: Mapping[str, datetime.date]) -> list[LineRow]:
    stations = {station.key: station.name for station in ticket.hull.stations.all()}
    rows, stands = [], line_words(ticket)
    for number, (line, one, minutes, price) in enumerate(
        zip(ticket.lines.all(), found.fitted, found.labour.lines, found.price.lines, strict=False), start=1
    ):
        supplied = "" if line.supplied_by == Line.SuppliedBy.SHOP else line.get_supplied_by_display()
        rows.append(
            LineRow(
                number=number,
                line=line,
                where=stations.get(line.station, "no place yet"),
                holes=holes_of(one),
                minutes=minutes.mean_min,
                amount=price.amount if price.sold else None,
                supplied=supplied,
                bundle=line.bundle.replace("_", " "),
                stands=stands.get(line.key, ""),
                priced_on=old.get(line.key),
            )
        )
    return rows


def holes_of(one) -> str:
    """Return the openings of a line in short: how many, and of which size in millimetres."""
    sizes: dict[str, int] = {}
    for opening in one.openings:
        along, across = opening.size_mm
        size = f"{along:g}" if opening.shape == "round" else f"{along:g} × {across:g}"
        sizes[size] = sizes.get(size, 0) + one.quantity
    if not one.is_new or not sizes:
        return "none"
    return ", ".join(f"{count} × {size}" for size, count in sizes.items()) + f"{units.THIN}mm"


def figures_of(found: Estimate, opened: dict[str, Opened]) -> Iterator[Figure]:
    """Yield the rows of the sheet, the same in every state of the ticket."""
    weights, rated = found.weights, found.sheet.hull.rated_load_kg
    codes = {caution.code: caution.severity for caution in reversed(found.cautions)}
    load = next((codes[c] for c in ("capacity_exceeded", "capacity_high", "capacity_unknown") if c in codes), "within")
    yield Figure(
        "load",
        "Load",
        "not known" if weights.capacity_used is None else f"{weights.capacity_used * 100:.0f}",
        "" if weights.capacity_used is None else "%",
        f"{weights.load_kg:.1f} of {rated:g}{units.THIN}kg" if rated else f"{weights.load_kg:.1f}{units.THIN}kg aboard",
        load,
        opened.get("weights.capacity_used"),
    )
    yield from float_figures(found, codes, opened)
    yield from power_figures(found, codes, opened)
    yield from opening_figures(found, codes, opened)
    labour = found.labour
    yield Figure("half", "Bench, half by", spell(labour.p50_min), "", "", "", opened.get("labour.p50_min"))
    yield Figure("eight", "Bench, 8 in 10 by", spell(labour.p80_min), "", "", "", opened.get("labour.p80_min"))


def float_figures(found: Estimate, codes: dict[str, str], opened: dict[str, Opened]) -> Iterator[Figure]:
    """Yield the rows of how she floats; nothing is said of a boat that does not fit its load."""
    floats = found.flotation
    if not floats.fits:
        words = f"at most {floats.greatest_load_kg:.0f}{units.THIN}kg"
        yield Figure("floats", "Floats", "no", "", words, codes.get("does_not_fit", "stop"))
        return
    band = floats.band
    if floats.deck_freeboard_mm is not None:
        verdict = codes.get("deck_awash") or codes.get("deck_low") or "within"
        yield millimetres(
            "deck_freeboard_mm", "Floor above water", floats.deck_freeboard_mm, band.deck_freeboard_mm, verdict, opened
        )
    yield millimetres("freeboard_mm", "Freeboard", floats.freeboard_mm, band.freeboard_mm, "within", opened)
    trim = floats.trim_mm or 0.0
    name = "Trim by the stern" if trim >= 0 else "Trim by the bow"
    if band.trim_mm and trim < 0:
        band_mm: tuple[float, float] | None = (-band.trim_mm[1], -band.trim_mm[0])
    else:
        band_mm = band.trim_mm
    yield millimetres("trim_mm", name, abs(trim), band_mm, "within", opened)
    heel = floats.heel_deg
    side = "Heel" if not heel else "Heel to starboard" if heel > 0 else "Heel to port"
    verdict = codes.get("stability_low") or codes.get("heel_large") or "within"
    shown_heel = "not known" if heel is None else f"{abs(heel):.1f}"
    yield Figure("heel", side, shown_heel, "" if heel is None else "°", "", verdict, opened.get("flotation.heel_deg"))


def millimetres(
    key: str,
    name: str,
    figure_mm: float | None,
    band_mm: tuple[float, float] | None,
    verdict: str,
    opened: dict[str, Opened],
) -> Figure:
    """Return a row in millimetres with its band."""
    band = f"{whole(band_mm[0])} to {whole(band_mm[1])}" if band_mm else ""
    return Figure(key, name, whole(figure_mm), "mm", band, verdict, opened.get(f"flotation.{key}"))


def whole(figure: float | None) -> str:
    return "–" if figure is None else units.number(figure, 0)


def opening_figures(found: Estimate, codes: dict[str, str], opened: dict[str, Opened]) -> Iterator[Figure]:
    """Yield the row of the opening that is lowest above the water."""
    heights = [
        (one.height_above_water_mm, one.letter) for one in found.openings if one.height_above_water_mm is not None
    ]
    if heights:
        height_mm, letter = min(heights)
        verdict = codes.get("opening_below_water") or codes.get("opening_low") or "within"
        working = opened.get(f"openings.{letter}.height_above_water_mm")
        yield Figure("opening", "Lowest opening", whole(height_mm), "mm", letter, verdict, working)


def power_figures(found: Estimate, codes: dict[str, str], opened: dict[str, Opened]) -> Iterator[Figure]:
    """Yield a row for each battery, and one for the worst drop against its limit."""
    ballo = {one.id: one.place + 1 for one in found.fitted}
    for system in found.power:
        if not system.circuits:
            continue
        short = next((c.severity for c in found.cautions if c.code in ENERGY and c.line == system.battery), "within")
        lasts = "–" if system.hours_planned is None else f"{system.hours_planned:.1f}"
        left = f"{system.charge_after[-1]:.0%} left" if system.charge_after else ""
        name = f"Battery {ballo[system.battery]}, lasts"
        yield Figure("battery", name, lasts, "h", left, short, opened.get(f"power.{system.battery}.hours_planned"))
    legs = [
        (leg.drop_fraction / leg.limit_fraction, leg, system, circuit)
        for system in found.power
        for circuit in system.circuits
        for leg in circuit.legs
        if leg.drop_fraction is not None
    ]
    if legs:
        _, leg, system, circuit = max(legs, key=lambda row: row[0])
        key = f"power.{system.battery}.{circuit.circuit}.{leg.line}.drop_v"
        yield Figure(
            "drop",
            "Worst drop",
            f"{leg.drop_fraction * 100:.1f}",
            "%",
            f"line {ballo[leg.line]}, limit {leg.limit_fraction * 100:g}",
            codes.get("no_conductor", "within"),
            opened.get(key),
        )


def spell(minutes: float) -> str:
    return f"{int(minutes // 60)}{units.THIN}h{units.THIN}{int(minutes % 60):02d}"


def opened_of(working: Working) -> Opened:
    sources = [(SOURCES[key].kind, describe(key)) for key in working.sources if key in SOURCES]
    return Opened(working.formula, [(name, shown(value)) for name, value in working.inputs.items()], sources)


def describe(key: str) -> str:
    source = SOURCES[key]
    return ", ".join(part for part in (source.title, source.section, source.year) if part)


def shown(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:,.4g}" if abs(value) < 1000 else f"{value:,.1f}"
    return "–" if value is None else str(value)


def together(found: Estimate) -> Iterator[Caution]:
    """Yield the cautions for the counter; parts that lack the same thing are named in one sentence."""
    lacking: dict[tuple, list[Caution]] = {}
    for caution in found.cautions:
        if caution.code == "missing_part":
            offers = tuple(mend["accessory"] for mend in caution.mends)
            lacking.setdefault((caution.severity, offers), []).append(caution)
    for caution in found.cautions:
        if caution.figures.get("staff_only"):
            continue
        if caution.code != "missing_part":
            yield caution
            continue
        offers = tuple(mend["accessory"] for mend in caution.mends)
        group = lacking.pop((caution.severity, offers), [])
        if group:
            yield replace(caution, sentence=joined_sentence(found, group)) if len(group) > 1 else caution


def joined_sentence(found: Estimate, group: list[Caution]) -> str:
    names = list(dict.fromkeys(found.sheet.type_of(found.sheet.line_by_id[c.line or ""]).name for c in group))
    verb, rest = ("need", " needs ") if group[0].severity == STOP else ("usually have", " usually has ")
    return f"{', '.join(names[:-1])} and {names[-1]} {verb} {group[0].sentence.split(rest, 1)[-1]}"


def warned_of(found: Estimate, caution: Caution) -> Warned:
    acts = [act for mend in caution.mends[:6] if (act := act_of(found, mend))]
    source = "" if caution.source in ("common_practice", "catalogue", "sheet") else describe(caution.source)
    return Warned(caution, SEVERITY_WORDS[caution.severity], source, acts)


def act_of(found: Estimate, mend: Any) -> Act | None:
    """Return a mend as a button with what it costs, or None where the counter cannot press it."""
    words = words_of(found, mend)
    if words is None:
        return None
    gain = gain_of(found.sheet, found, mend)
    return Act(words, gain_in_words(gain), dict(mend))


def gain_in_words(gain: Gain) -> str:
    """Return what a mend changes: price with tax and minutes, signed."""
    parts = []
    if gain.price:
        parts.append(f"{'+' if gain.price > 0 else '−'}{abs(gain.price):,}")
    if round(gain.minutes):
        parts.append(f"{'+' if gain.minutes > 0 else '−'}{abs(gain.minutes):.0f}{units.THIN}min")
    return ", ".join(parts) or "no charge"


def words_of(found: Estimate, mend: Any) -> str | None:
    kinds = found.sheet.accessories
    names = {one.id: f"{one.place + 1} {one.kind.name}" for one in found.fitted}
    what = mend["do"]
    if what == "add" and mend["accessory"] in kinds:
        extra = len([code for code in mend.get("brings", []) if code in kinds])
        return f"Add {kinds[mend['accessory']].name}" + (f" and {extra} more" if extra else "")
    if what == "replace" and mend["accessory"] in kinds:
        return f"Take {kinds[mend['accessory']].name}"
    if what == "remount":
        return f"Fix line {names[mend['line']]} by {mend['mounting'].replace('_', ' ')}"
    if what == "move" and mend.get("station"):
        return f"Move line {names[mend['line']]} to {found.sheet.hull.station_by_id[mend['station']].name}"
    return f"Remove line {names[mend['line']]}" if what == "remove" else None


def swapped_in_words(before: Estimate, after: Estimate, key: str) -> str:
    """Return what another part on a line does: to the price, to the time, and to the set-up that lines share."""
    old, new = (found.sheet.type_of(found.sheet.line_by_id[key]).name for found in (before, after))
    gain = Gain(after.price.total - before.price.total, after.labour.mean_min - before.labour.mean_min)
    saved = [found.labour.shared_setup_saved_min for found in (before, after)]
    shared = f"Shared set-up saves {spell(saved[1])}"
    if round(saved[0]) != round(saved[1]):
        shared += f", before {spell(saved[0])}"
    return f"{new} instead of {old}: {gain_in_words(gain)}. {shared}."

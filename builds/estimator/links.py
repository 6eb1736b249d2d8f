"""Which battery feeds a line."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .sheet import BuildSheet, Line


def candidates(sheet: "BuildSheet", line: "Line") -> list["Line"]:
    """Return the battery lines that feed a line which names none: one, or none, or several (a fault).

    A propulsion load takes the only drive battery, else the only house battery; all else the only house battery.
    """
    load = sheet.type_of(line).load
    if load and load.propulsion and sheet.batteries_by_role["drive"]:
        return sheet.batteries_by_role["drive"]
    return sheet.batteries_by_role["house"]


def battery_of(sheet: "BuildSheet", line: "Line") -> "Line | None":
    """Return the battery line that feeds a line, or None where the ticket has none for it."""
    if line.battery is not None:
        return sheet.line_by_id[line.battery]
    found = candidates(sheet, line)
    return found[0] if len(found) == 1 else None

"""The lines of a sheet as a paper names them: number, type, how many, where, and who brings it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .figures import bound


@dataclass(frozen=True)
class Part:
    """One line. `kind` is its type's record, `where` its station's name, `mounting` how it is held."""

    number: int
    id: str
    accessory: str
    name: str
    quantity: int
    where: str
    supplied_by: str
    mounting: str
    kind: Mapping[str, Any]

    @property
    def is_new(self) -> bool:
        return self.supplied_by != "already_fitted"


def parts_of(sheet: Mapping[str, Any]) -> dict[str, Part]:
    """Return the lines of a sheet document by their id, in the sheet's order."""
    stations = {station["id"]: station.get("name") or station["id"] for station in sheet["hull"].get("stations", ())}
    parts = {}
    for number, line in enumerate(sheet.get("lines", ()), start=1):
        kind = sheet.get("accessories", {}).get(line["accessory"], {})
        parts[line["id"]] = Part(
            number=number,
            id=line["id"],
            accessory=line["accessory"],
            name=bound(kind.get("name") or line["accessory"].replace("_", " ")),
            quantity=line.get("quantity") or 1,
            where=bound(stations.get(line.get("station") or "", "")),
            supplied_by=line.get("supplied_by") or "shop",
            mounting=line.get("mounting") or next(iter(kind.get("mountings") or ("",))),
            kind=kind,
        )
    return parts

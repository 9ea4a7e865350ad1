"""The parts on a car as a sheet has them, and those that could be."""

from uuid import UUID

from cars.models import Part, PartFitted, Reading, Sheet

# The step of the order of work in which each sort of part is looked at.
STEPS = {
    "springs-dampers": (Part.Sort.SPRING, Part.Sort.DAMPER),
    "tyres": (Part.Sort.TYRE,),
    "gearing": (Part.Sort.CHAIN, Part.Sort.ENGINE, Part.Sort.SPROCKET),
}


def parts_by_code(sheet: Sheet, sorts: tuple[Part.Sort, ...]) -> list[Part]:
    """The team's parts of these sorts in the order of their codes; those without one last."""
    parts = Part.objects.filter(team_id=sheet.team_id, sort__in=sorts).select_related("code")
    return sorted(parts, key=lambda part: (code_of(part) is None, code_of(part) or ""))


def code_of(part: Part) -> str | None:
    """The team's private name for a part; None where it has none, or the viewer may not see it."""
    code = getattr(part, "code", None)
    return code.code if code else None


def parts_on(sheet: Sheet) -> dict[tuple[str, str], UUID | None]:
    """The ids of the parts on the car, by sort and spot."""
    rows = PartFitted.objects.current().filter(sheet=sheet)
    return {(row.sort, row.spot): row.part_id for row in rows}


def spring_rates_read(sheet: Sheet) -> dict[str, Reading]:
    """The spring rates that stand on the sheet, by corner."""
    rows = Reading.objects.current().filter(sheet=sheet, measure="spring-rate", take=1)
    return {row.spot: row for row in rows.select_related("measure")}

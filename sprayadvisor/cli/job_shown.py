"""Jobs as the terminal shows them: in half a line, as a table, and with all there is to say."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sprayadvisor.advice.model import Job, Panel, Site


def in_short(job: Job) -> str:
    """Return a job in half a line."""
    return f"{job.ref}: {job.site.name}, {job.day:%a} {job.day}, {window(job)}"


def window(job: Job) -> str:
    """Return the arrival window."""
    return f"{job.arrive_from:%H:%M}-{job.arrive_to:%H:%M}"


def panels(job: Job) -> str:
    """Return the panels in words."""
    return ", ".join(
        f"{panel.part} {panel.colour} {panel.material}{_surface(panel)}" for panel in job.panels
    )


def _surface(panel: Panel) -> str:
    """Return what a panel's surface is, where it is not paint."""
    return "" if panel.surface.value == "paint" else f" {panel.surface}"


def print_table(jobs: tuple[Job, ...]) -> None:
    """Print jobs as a table."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False)
    for heading in ("Job", "Day", "Arrival", "Site", "Process", "Panels", "State"):
        table.add_column(heading, no_wrap=heading in {"Job", "Day", "Arrival"})
    for job in jobs:
        panels = ", ".join(panel.part.value for panel in job.panels)
        state = f"{job.state}{'' if job.may_move else ', fixed'}"
        cells = (
            job.ref,
            str(job.day),
            window(job),
            job.site.name,
            job.process,
            panels,
            state,
        )
        table.add_row(*map(Text, cells))  # Text: a site's name is no markup
    Console().print(table)


def lines(job: Job) -> list[tuple[str, str]]:
    """Return all about a job as pairs of a name and a text, without what is not known."""
    site, customer = job.site, job.customer
    moved = {0: "", 1: ", moved once"}.get(job.times_moved, f", moved {job.times_moved} times")
    kerb = ", at the kerb" if site.kerb else ""
    lines = [
        ("Job", f"{job.ref}, {job.state}{moved}{'' if job.may_move else ', fixed'}"),
        ("When", f"{job.day:%A} {job.day}, arrival {window(job)}, {site.zone}"),
        ("Car", _car_there(job)),
        ("Process", job.process),
        ("Panels", panels(job)),
        ("Area", f"{job.repair_area_m2:g} m²"),
        ("Heading", _heading(job)),
        ("Site", f"{site.name} ({site.latitude:g}, {site.longitude:g}{_height(site)})"),
        ("", f"{site.surroundings}, {site.ground}, {site.cover}{kerb}, power: {site.power}"),
        ("Shade", _shade(site)),
        ("Downwind", ", ".join(f"{side}: {what}" for side, what in site.downwind.items())),
        ("Customer", ", ".join(filter(None, (customer.name, customer.phone, customer.email)))),
        ("Note", customer.note),
    ]
    return [(name, text) for name, text in lines if text]


def _car_there(job: Job) -> str:
    """Return from when and until when the car is there, and what was done to it before."""
    since = f"there from {job.car_there_from:%H:%M}" if job.car_there_from else ""
    until = f"back by {job.back_by:%H:%M}" if job.back_by else ""
    driven = f"driven until {job.driven_until:%H:%M}" if job.driven_until else ""
    washed = f"washed until {job.washed_until:%H:%M}" if job.washed_until else ""
    return ", ".join(filter(None, (since, until, driven, washed)))


def _heading(job: Job) -> str:
    """Return where the nose points."""
    if job.heading_deg is None:
        return "not said, so the worst way it may stand counts"
    return f"{job.heading_deg:g}°"


def _height(site: Site) -> str:
    """Return the elevation, where it is known."""
    return "" if site.elevation_m is None else f", {site.elevation_m:g} m"


def _shade(site: Site) -> str:
    """Return when a house shades the car."""
    until = f"until {site.shade_before:%H:%M}" if site.shade_before else ""
    since = f"from {site.shade_after:%H:%M}" if site.shade_after else ""
    return ", ".join(filter(None, (until, since)))

"""Sheets and processes to read: each number with the page and revision it stands on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from fastapi import APIRouter, HTTPException, Response

from sprayadvisor.web.desk import Wanted

router = APIRouter()
T = TypeVar("T")


@router.get("/sheets")
def catalogue(desk: Wanted) -> Response:
    """List what there is, and what is wrong with the files that could not be read."""
    found, library = desk.services.catalogue, desk.services.library
    return desk.show(
        "sheets/list.html.j2",
        sheets=[library.sheet(found.sheets[name]) for name in sorted(found.sheets)],
        processes=[found.processes[name] for name in sorted(found.processes)],
        faults=found.faults,
    )


@router.get("/sheets/{name}")
def sheet(desk: Wanted, name: str) -> Response:
    """Show one sheet."""
    wanted = _one(desk.services.catalogue.sheets, name)
    return desk.show("sheets/sheet.html.j2", told=desk.services.library.sheet(wanted))


@router.get("/processes/{name}")
def process(desk: Wanted, name: str, without_lamp: str = "", plastic: str = "") -> Response:
    """Show one process, as it goes with or without a lamp, on metal or plastic."""
    wanted = _one(desk.services.catalogue.processes, name)
    told = desk.services.library.process(wanted, lamp=not without_lamp, plastic=bool(plastic))
    return desk.show(
        "sheets/process.html.j2",
        told=told,
        without_lamp=bool(without_lamp),
        plastic=bool(plastic),
    )


def _one(known: Mapping[str, T], name: str) -> T:
    if name not in known:
        raise HTTPException(404)
    return known[name]

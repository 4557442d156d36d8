"""Asking for settings on the terminal, group by group, until the answers can stand."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from sprayadvisor.cli.questions import PLACE, PLACE_NAME, PLACE_ZONE, Question, Values
from sprayadvisor.errors import Fault, InputError, SettingsError, SprayadvisorError
from sprayadvisor.services.coordinates import coordinates

if TYPE_CHECKING:
    from sprayadvisor.services.places import Places
    from sprayadvisor.services.ports.places import FoundPlace
    from sprayadvisor.settings import Settings


def loaded(values: Values, environ: Mapping[str, str]) -> Settings:
    """Return the settings as the loader would read them from a file with these values.

    Raises:
        SettingsError: with every fault.
    """
    from sprayadvisor.settings import load_settings, settings_toml

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "sprayadvisor.toml")
        path.write_text(settings_toml(values), encoding="utf-8")
        return load_settings(environ, path)


@dataclass(slots=True)
class Asker:
    """Takes answers from options as long as there are some, and asks for the rest.

    Attributes:
        given: answers that came as options, by setting; each is used once.
        silent: nothing is asked; what is not given has its usual answer.
        values: the answers so far, nested as in the file.
    """

    given: dict[str, str]
    silent: bool
    values: Values = field(default_factory=dict)

    def group(self, questions: tuple[Question, ...]) -> None:
        """Ask some questions; ask those again whose answers cannot stand.

        Raises:
            SettingsError: they cannot, and nothing may be asked.
        """
        wanted = {question.setting for question in questions}
        asked: set[str] = set()
        while True:
            for question in questions:
                if not question.when(self.values):
                    question.drop(self.values)
                    asked.discard(question.setting)
                elif question.setting in wanted or question.setting not in asked:
                    question.drop(self.values)
                    question.put(self.values, self._answer(question))
                    asked.add(question.setting)
            if not (faults := self._faults(questions)):
                return
            self.complain(SettingsError(faults))
            wanted = {fault.field for fault in faults} & asked or asked

    def complain(self, error: SprayadvisorError) -> None:
        """Say what is wrong before asking anew.

        Raises:
            SprayadvisorError: this one, if nothing may be asked.
        """
        if self.silent:
            raise error
        faults = error.faults if isinstance(error, SettingsError) else ()
        told = [f"{fault.field}: {fault.problem}; {fault.remedy}." for fault in faults]
        for sentence in told or [str(error)]:
            typer.echo(sentence, err=True)

    def line(self, question: Question, usual: str | None) -> str:
        """Return one answer.

        Raises:
            InputError: it must be given and nothing may be asked.
        """
        if (given := self.given.pop(question.setting, None)) is not None:
            return given
        if not self.silent:
            # Typed by a program there is no echo to hide, and asking for none would warn of it.
            hide = question.hidden and sys.stdin.isatty()
            shown = bool(usual) and not question.hidden
            asked = typer.prompt(question.text, default=usual, hide_input=hide, show_default=shown)
            return str(asked)
        if usual is None:
            raise InputError(
                f"{question.setting} is not given; add {question.option}, or leave --yes out to "
                "be asked."
            )
        return usual

    def _answer(self, question: Question) -> str:
        return self.line(question, question.usual(self.values))

    def _faults(self, questions: tuple[Question, ...]) -> list[Fault]:
        """Return what is wrong with the answers to these questions."""
        about = {question.setting.partition(".")[0] for question in questions}
        missing = [
            Fault("", question.setting, "nothing was given", "give at least one")
            for question in questions
            if question.when(self.values)
            and question.usual(self.values) is None
            and not question.is_in(self.values)
        ]
        try:
            loaded(self.values, {})
        except SettingsError as error:
            return [f for f in error.faults if f.field.partition(".")[0] in about] + missing
        return missing


def ask_for_base(asker: Asker, places: Places) -> None:
    """Ask where the van sleeps, until it is a place in a time zone.

    Raises:
        SprayadvisorError: it is none, and nothing may be asked.
    """
    while True:
        text = asker.line(PLACE, None)
        try:
            asker.values["base"] = _base(asker, text, places)
            loaded(asker.values, {})
        except SprayadvisorError as error:
            asker.complain(error)
        else:
            return


def _base(asker: Asker, text: str, places: Places) -> Values:
    """Return the base's table."""
    found = None if _has_digits(text) else _chosen(asker, text, places)
    if found is None:
        latitude, longitude = coordinates(text, "place")
        zone = asker.line(PLACE_ZONE, _zone_here())
        where: Values = {"latitude": latitude, "longitude": longitude, "zone": zone}
    else:
        where = {"latitude": found.latitude, "longitude": found.longitude, "zone": found.zone}
        if found.elevation_m is not None:
            where["elevation_m"] = found.elevation_m
    name = asker.line(PLACE_NAME, found.name if found else "Base")
    return {"name": name, **where}


def _has_digits(text: str) -> bool:
    """Return whether a text is meant as coordinates: no town has a digit in its name."""
    return any(letter.isdigit() for letter in text)


def _chosen(asker: Asker, name: str, places: Places) -> FoundPlace:
    """Return the place that is meant by a name.

    Raises:
        InputError: there is none, none of them is meant, or there are several and nobody to ask.
        WeatherError: the search cannot be had.
    """
    from sprayadvisor.services.ports.places import CREDIT

    found = places.find(name)
    if not found:
        raise InputError(f"place: {name!r} is not known; try a town near by, or give coordinates.")
    if asker.silent and len(found) > 1:
        raise InputError(f"place: {name!r} may be {len(found)} places; give coordinates.")
    if asker.silent:
        return found[0]
    for number, place in enumerate(found, 1):
        where = ", ".join((place.name, *place.within))
        typer.echo(f"  {number}  {where} ({place.latitude:.3f}, {place.longitude:.3f})")
    typer.echo(f"  0  none of these\n{CREDIT}")
    picked = str(typer.prompt("Which")).strip()
    if picked not in map(str, range(1, len(found) + 1)):
        raise InputError("place: none of these; try another town, or paste coordinates of a map.")
    return found[int(picked) - 1]


def _zone_here() -> str | None:
    """Return this computer's time zone, None if it has no name."""
    import tzlocal

    try:
        return str(tzlocal.get_localzone_name())
    except (LookupError, ValueError, OSError):
        return None

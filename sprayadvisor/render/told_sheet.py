"""A product sheet in words: each number with the page and revision it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sprayadvisor.advice.checks import QUANTITY_WORDS
from sprayadvisor.advice.sheet import Limit, Sheet
from sprayadvisor.advice.sheet_base import Printed
from sprayadvisor.advice.sheet_mixing import Choice
from sprayadvisor.units import Display

INVENTED = "invented values, for trials only"


@dataclass(frozen=True, slots=True)
class ToldSheet:
    """One sheet in words.

    Attributes:
        id: name used by processes.
        name: what stands on the tin.
        kind: what it is for, what it is borne by, whether isocyanates are in it.
        revision: of the sheet.
        invented: a warning where nobody has printed the values, else empty.
        limits: each limit: quantity, inside the sheet, where to stop, where that stands.
        tables: all else: table, what, as printed, where that stands.
        remarks: what else the painter should know.
    """

    id: str
    name: str
    kind: str
    revision: str
    invented: str
    limits: tuple[tuple[str, str, str, str], ...]
    tables: tuple[tuple[str, str, str, str], ...]
    remarks: str


def tell_sheet(sheet: Sheet, display: Display) -> ToldSheet:
    """Return a sheet in words."""
    pack = "two-pack (isocyanates)" if sheet.two_pack else "no isocyanates"
    return ToldSheet(
        id=sheet.id,
        name=sheet.name,
        kind=f"{sheet.kind}, {sheet.carrier}-borne, {pack}",
        revision=sheet.revision,
        invented=INVENTED if sheet.invented else "",
        limits=tuple(
            _limit_row(quantity, limit, sheet, display) for quantity, limit in sheet.limits.items()
        ),
        tables=tuple(
            (table, what, text, _where(of, sheet))
            for table, what, text, of in _table_rows(sheet, display)
        ),
        remarks=sheet.remarks,
    )


def _where(table: Printed, sheet: Sheet) -> str:
    """Return page and revision of a table."""
    return f"p. {table.page}, rev. {table.revision or sheet.revision}"


def _limit_row(
    quantity: str, limit: Limit, sheet: Sheet, display: Display
) -> tuple[str, str, str, str]:
    """Return one limit as a row."""
    low, high, least, most = (
        None if bound is None else _amount(quantity, bound, display)
        for bound in (limit.inside_min, limit.inside_max, limit.stop_min, limit.stop_max)
    )
    inside = f"{low} to {high}" if low and high else _one_sided("at least", low, "at most", high)
    stop = _one_sided("below", least, "above", most) or "never"
    return QUANTITY_WORDS[quantity].label, inside, stop, _where(limit, sheet)


def _one_sided(under: str, low: str | None, over: str, high: str | None) -> str:
    """Return bounds in words, as far as there are any."""
    said = [f"{word} {bound}" for word, bound in ((under, low), (over, high)) if bound]
    return ", ".join(said)


def _amount(quantity: str, value: float, display: Display) -> str:
    """Return a value in the unit the user wants, without digits that nobody printed."""
    unit = QUANTITY_WORDS[quantity].unit
    shows = {"°C": display.temp, "K": display.difference, "m/s": display.speed}
    if unit not in shows:
        return f"{value:g} {unit}"
    return shows[unit](value, 1).replace(".0 ", " ")


def _temp(temp_c: float, display: Display) -> str:
    return _amount("panel_temp_c", temp_c, display)


def _table_rows(sheet: Sheet, display: Display) -> Iterator[tuple[str, str, str, Printed]]:
    """Yield everything but the limits: table, what, value, and the table it stands in."""
    coats, flash = sheet.coats, sheet.flash
    allowed = str(coats.least) if coats.least == coats.most else f"{coats.least} to {coats.most}"
    yield "Coats", "allowed", allowed, coats
    yield "Flash-off", "between coats", f"{flash.between_min:g} min", flash
    yield "", "before the next product", f"{flash.before_next_min:g} min", flash
    for name, minutes in (
        ("between coats", flash.blower_between_min),
        ("before the next", flash.blower_before_next_min),
    ):
        if minutes is not None:
            yield "", f"{name}, blower", f"{minutes:g} min", flash
    if flash.latest_min is not None:
        yield "", "covered or lamped within", f"{flash.latest_min:g} min", flash
    yield "", "however warm, at least", f"{flash.quickest_share * 100:g} % of it", flash
    reference = f"{_temp(flash.reference_temp_c, display)}, {flash.reference_rh_pct:g} %"
    yield "", "printed for", reference, flash
    yield from _drying_rows(sheet, display)
    yield from _use_rows(sheet, display)
    for choice in sheet.choices:
        yield choice.what.capitalize(), choice.name, _suited(choice, display), choice


def _suited(choice: Choice, display: Display) -> str:
    """Return what a hardener, thinner or additive is made for."""
    bounds = [
        f"{word} {_temp(bound, display)}"
        for word, bound in (("from", choice.from_c), ("below", choice.below_c))
        if bound is not None
    ]
    drier = choice.or_drier_than_pct
    dry = f" or below {drier:g} %" if drier is not None else ""
    return (", ".join(bounds) or "any") + dry


def _use_rows(sheet: Sheet, display: Display) -> Iterator[tuple[str, str, str, Printed]]:
    """Yield how much is mixed, how soon an edge is blended, when to key again."""
    spread, edge, recoat = sheet.spread, sheet.edge, sheet.recoat
    if spread is not None:
        yield "Amount", "a coat", f"{spread.ml_m2_coat:g} ml/m²", spread
        yield "", "left in cup and gun", f"{spread.left_ml:g} ml", spread
        yield "", "mix at least", f"{spread.least_ml:g} ml", spread
    if edge is not None:
        yield "Edge", "blended within", f"{edge.within_min:g} min", edge
        if edge.hot_within_min is not None and edge.hot_from_c is not None:
            hot = f"{edge.hot_within_min:g} min"
            yield "", f"from {_temp(edge.hot_from_c, display)} within", hot, edge
    if recoat is not None:
        yield "Recoat", "key again after", f"{recoat.rekey_after_h:g} h", recoat


def _drying_rows(sheet: Sheet, display: Display) -> Iterator[tuple[str, str, str, Printed]]:
    """Yield air-drying, bake and pot life, where the sheet has them."""
    cure, lamp, pot = sheet.cure, sheet.lamp, sheet.pot_life
    if cure is not None:
        yield "Air-dry", "dust-free", f"{cure.dust_free_min:g} min", cure
        yield "", "rain-safe", f"{cure.rain_safe_min:g} min", cure
        yield "", "sand or polish", f"{cure.workable_min:g} min", cure
        yield "", "printed for", _temp(cure.reference_temp_c, display), cure
        yield "", "stands still below", _temp(cure.stall_temp_c, display), cure
        yield "", "activation energy", f"{cure.activation_kj_mol:g} kJ/mol", cure
    if lamp is not None:
        yield "Lamp", "flash-off first", f"{lamp.flash_first_min:g} min", lamp
        baked = f"{lamp.bake_min:g} min at {_temp(lamp.metal_temp_c, display)}"
        yield "", "bake on metal", baked, lamp
        if lamp.plastic_bake_min is not None and lamp.plastic_temp_c is not None:
            baked = f"{lamp.plastic_bake_min:g} min at {_temp(lamp.plastic_temp_c, display)}"
            yield "", "bake on plastic", baked, lamp
        yield "", "never hotter than", _temp(lamp.most_temp_c, display), lamp
    if pot is not None:
        yield "Pot life", f"at {_temp(20.0, display)}", f"{pot.at_20_c_min:g} min", pot
        yield "", f"at {_temp(30.0, display)}", f"{pot.at_30_c_min:g} min", pot

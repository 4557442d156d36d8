"""What the first coat of one product meets, and what is mixed for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sprayadvisor.advice.mixing import Mix
from sprayadvisor.advice.sheet_mixing import Choice


@dataclass(frozen=True, slots=True)
class CoatLine:
    """The first coat of one product in the best play, and what it meets there.

    Attributes:
        role: role of the product in the process: primer, base, clear …
        sheet_name: name of its sheet.
        at: when its first coat begins, UTC.
        panel_temp_c: panel temperature then.
        dew_point_c: dew point then.
        dew_margin_k: panel temperature above the dew point then.
        flash_printed_min: flash-off behind it as the sheet prints it, under the blower if one runs.
        flash_expected_min: what it comes to in this play; None where there is none.
        choices: hardener, thinner or additive made for the panel as the coat meets it, warmed or
            not.
        pot_life_min: pot life in a cup kept in the shade, warm; None where the sheet has none.
        warmed_to_c: what the lamp warms the panel to right before it; None where it does not.
        met_temp_c: what the coat then meets: less than that where hands came between; None
            unless warmed.
        single: whether nothing of the same is sprayed over it, so that its flash-off is for the
            next product.
        mixes: each cup of it in the best play.
        two_pack: hardened with isocyanate.
        water_borne: spoilt by frost.
        edge_min: for a blended edge, how soon after the coat below.
    """

    role: str
    sheet_name: str
    at: datetime
    panel_temp_c: float
    dew_point_c: float
    dew_margin_k: float
    flash_printed_min: float
    flash_expected_min: float | None
    choices: tuple[Choice, ...]
    pot_life_min: float | None
    warmed_to_c: float | None = None
    met_temp_c: float | None = None
    single: bool = False
    mixes: tuple[Mix, ...] = ()
    two_pack: bool = False
    water_borne: bool = False
    edge_min: float | None = None

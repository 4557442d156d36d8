"""Members: the weathers that may come, each as likely as the next, on one grid of quarter hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.outlook import Floats, Outlook, Times


@dataclass(frozen=True, slots=True)
class Members:
    """Possible weathers at one site.

    Attributes:
        starts_utc: (step,) beginnings of the steps, UTC.
        values: one (member, step) array for each name in ``science.quantities.QUANTITIES``.
        wet_hour_mm: (member, step) rain of the whole hour a step lies in, mm.
        sky_emissivity_offset: (member,) added to the sky's emissivity.
        ln_convection: (member,) logarithm of what convection is multiplied with.
    """

    starts_utc: Times
    values: dict[str, Floats]
    wet_hour_mm: Floats
    sky_emissivity_offset: Floats
    ln_convection: Floats

    def __len__(self) -> int:
        """Return the number of members."""
        return len(self.ln_convection)

    def __getitem__(self, quantity: str) -> Floats:
        """Return the (member, step) array of one quantity."""
        return self.values[quantity]


def single(outlook: Outlook) -> Members:
    """Return the forecast, or a measured reading, as the only member."""
    return Members(
        outlook.starts_utc,
        {name: array[np.newaxis] for name, array in outlook.values.items()},
        outlook.wet_hour_mm[np.newaxis],
        np.zeros(1),
        np.zeros(1),
    )

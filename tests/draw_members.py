"""Draw ten members of an invented forecast, to look at: ``python tests/draw_members.py out.png``.

Numbers hold in tests/advice/test_members.py; whether the curves look like weather, an eye must say.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent / "support"))
from days import outlook

from sprayadvisor.advice.members import draw

SHOWN = {
    "air_temp_c": "air, °C",
    "dew_point_c": "dew point, °C",
    "wind_10m_ms": "wind at 10 m, m/s",
    "cloud_fraction": "cloud, share",
    "ghi_wm2": "radiation, W/m²",
    "wet_hour_mm": "rain of the hour, mm",
}


def main(path: Path) -> None:
    """Write the picture."""
    from matplotlib.figure import Figure

    weather = outlook(
        5,
        rain_probability_pct=lambda h: np.where((h > 12) & (h < 18), 40.0, 10.0),
        cloud_fraction=0.6,
        rh_pct=70.0,
    )
    members = draw(weather, 10, seed=4, origin=weather.begins)
    hours = np.arange(len(weather)) / 4.0
    figure = Figure((11, 13), layout="constrained")
    places = figure.subplots(len(SHOWN), 1, sharex=True)
    for place, (name, label) in zip(places, SHOWN.items(), strict=True):
        rows = members.wet_hour_mm if name == "wet_hour_mm" else members[name]
        place.plot(hours, rows.T, linewidth=0.8)
        own = weather.wet_hour_mm if name == "wet_hour_mm" else weather[name]
        place.plot(hours, own, color="black", linewidth=2)
        place.set_ylabel(label)
        place.grid(alpha=0.3)
    places[-1].set_xlabel("hours since the forecast was made; black: the forecast")
    figure.savefig(path, dpi=80)


if __name__ == "__main__":
    main(Path(sys.argv[1]))

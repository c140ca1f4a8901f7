"""Invented workshops of drying bricks, wider than the practice data, in its CSV shape: a second opinion.

    python -m tests.bench.brick_workshops FOLDER [workshops] [seed] [width]
    python -m tests.bench.bench_cure FOLDER

Some have a crust, a fifth a humid season of weeks, sensors are off by a few per cent, makers round and slip.
"""

import csv
import sys
from pathlib import Path

import numpy as np

from tests.bench.brick import Soap, dry

LOAVES, BARS, DAYS = 4, 3, 200
OILS = {"standard": 0.5, "palm_lard": 0.2, "castile": 0.12, "high_coconut": 0.1, "salt_bar": 0.08}
# Logs of the middle soap, and spreads between workshops, recipes of a workshop, loaves of a recipe.
MIDDLE = {"diffusivity": np.log(1.7), "exchange": np.log(3.0), "crust": np.log(0.4), "balance": np.log(0.10)}
SPREADS = {
    "diffusivity": (0.40, 0.20, 0.15),
    "exchange": (0.50, 0.15, 0.20),
    "crust": (1.00, 0.00, 0.40),
    "balance": (0.22, 0.12, 0.06),
}


class Workshop:
    def __init__(self, name, rng, width):
        self.name, self.rng = name, rng
        self.soap = {key: MIDDLE[key] + rng.normal(0, width * SPREADS[key][0]) for key in MIDDLE}
        self.slope, self.power, self.underside = (
            rng.uniform(0, 7),
            rng.normal(0.85, 0.1),
            rng.uniform(0.3, 0.9),
        )
        self.before_cut = np.log(0.015) + rng.normal(0, 0.3)
        self.water, self.density = rng.uniform(0.20, 0.34), 1.05e-3 * np.exp(rng.normal(0, 0.04))
        self.size = np.array([rng.uniform(65, 92), rng.uniform(45, 68), rng.uniform(19, 33)])
        self.rounding = 5 if rng.uniform() < 0.3 else 1
        self.step = rng.choice([1.0, 0.1, 0.01], p=[0.5, 0.42, 0.08])
        self.has_sensor, self.sensor_off = rng.uniform() < 0.6, rng.normal(0, 2.5)
        self.rh, self.temp_c = self._room(width)
        self.recipes = {}

    def _room(self, width):
        rng, days = self.rng, np.arange(420)
        turn = 2 * np.pi / 365
        phase, forgets = rng.uniform(0, 365), np.exp(-1 / rng.uniform(2, 8))
        rh = rng.normal(58, 8 * width) + rng.normal(0, 5 * width) * np.cos((days - phase) * turn)
        weather, warmth = np.zeros(420), np.zeros(420)
        blows = rng.uniform(2.5, 6) * np.sqrt(1 - forgets**2)
        for day in days[1:]:
            weather[day] = forgets * weather[day - 1] + blows * rng.normal()
            warmth[day] = 0.8 * warmth[day - 1] + 0.7 * rng.normal()
        since = (days - rng.uniform(0, 365)) % 365
        lasts, rises = rng.uniform(40, 110), rng.uniform(8, 18) * (rng.uniform() < 0.2)
        humid = rises * np.clip(since / 10, 0, 1) * np.clip((lasts - since) / 10, 0, 1)
        temp = (
            rng.normal(20, 2)
            + abs(rng.normal(0, 2)) * np.cos((days - phase + rng.normal(0, 25)) * turn)
            + warmth
        )
        return np.clip(rh + weather + humid, 22, 86), temp

    def loaf(self, number):
        rng = self.rng
        oil = str(rng.choice(list(OILS), p=list(OILS.values())))
        own = self.recipes.setdefault(oil, {key: rng.normal(0, SPREADS[key][1]) for key in MIDDLE})
        soap = {key: self.soap[key] + own[key] + rng.normal(0, SPREADS[key][2]) for key in MIDDLE}
        start, waits = (
            int(10 + 45 * number + rng.uniform(0, 15)),
            int(rng.choice([1, 2, 3], p=[0.6, 0.3, 0.1])),
        )
        water = max(self.water + rng.normal(0, 0.015) - 0.09 * (oil == "salt_bar"), 0.10)
        lost = np.exp(self.before_cut + rng.normal(0, 0.25)) * np.sqrt(waits)
        size = self.size * np.exp(rng.normal(0, 0.04, 3))
        for place in range(BARS):
            true_size = size * np.exp(rng.normal(0, 0.02, 3))
            noted = np.round(true_size / self.rounding) * self.rounding
            row = {
                "bar_id": f"{self.name}-{number}-{place}",
                "workshop": self.name,
                "loaf": f"{self.name}-{number}",
                "start_day": start,
                "oil": oil,
                "water_frac": round(water * (1 + rng.normal(0, 0.01)), 3),
                "superfat": round(rng.uniform(0.02, 0.09), 3),
                "gel": int(rng.uniform() < 0.5),
                "days_pour_to_cut": waits,
                **dict(zip(("length_mm", "width_mm", "thickness_mm"), noted, strict=True)),
                "scale_resolution_g": self.step,
                "has_room_sensor": int(self.has_sensor),
            }
            share = (water - min(lost, 0.4 * water)) / (1 - min(lost, 0.4 * water))
            yield Bar(
                self, row, true_size, share / (1 - share), {key: np.exp(value) for key, value in soap.items()}
            )


class Bar:
    def __init__(self, workshop, row, size, moisture, soap):
        self.workshop, self.row, self.size, self.moisture, self.soap = workshop, row, size, moisture, soap
        self.seen = slice(row["start_day"], row["start_day"] + DAYS + 1)

    def readings(self, weight_at):
        """Honest and wrong ones: (day, weight as read, kind of error)."""
        rng, step = self.workshop.rng, self.row["scale_resolution_g"]
        day, often = rng.uniform(0.02, 1.5), rng.choice([1, 3, 7, 10])
        while day < DAYS - 1:
            weight, kind = weight_at(day), ""
            if rng.uniform() < 0.015:
                kind = str(rng.choice(["wrong_bar", "typo", "tray"]))
                wrong = {
                    "wrong_bar": np.exp(rng.normal(0, 0.08)),
                    "typo": rng.choice([10, 0.1, 1.1, 0.9]),
                    "tray": 1,
                }
                weight = weight * wrong[kind] + rng.uniform(20, 300) * (kind == "tray")
            yield round(day, 2), round(np.round((weight + rng.normal(0, 0.3 * step)) / step) * step, 2), kind
            day += (often if day < 14 else 7) * rng.uniform(0.8, 1.2)


def settled_day(weights):
    """First day from 28 on with at most 4 % of W(t) lost in 28 days; `weights` daily, without handling."""
    excess = weights[:-28] / weights[28:] - 1.04
    first = int(np.argmax(excess <= 0)) if (excess <= 0).any() else len(excess) - 1
    back = excess[first] / (excess[first] - excess[first - 1]) if first and excess[first] < 0 else 0.0
    return 28 + first - back


def dried(bars):
    """Times and true weights without handling, a row per bar."""
    together = {key: np.array([bar.soap[key] for bar in bars]) for key in MIDDLE}
    own = {
        key: np.array([getattr(bar.workshop, key) for bar in bars]) for key in ("slope", "power", "underside")
    }
    at_cut = np.array([bar.moisture for bar in bars])
    rh, temp = (np.array([getattr(bar.workshop, air)[bar.seen] for bar in bars]) for air in ("rh", "temp_c"))
    size = np.array([bar.size for bar in bars])
    times, moisture = dry(Soap(**together, **own), size, at_cut, rh, temp, DAYS)
    weight_g = size.prod(axis=1) * np.array([bar.workshop.density for bar in bars])
    return times, weight_g[:, None] * (1 + moisture) / (1 + at_cut[:, None])


def written(folder, bars, rng):
    times, weights = dried(bars)
    tables = {"bars": [bar.row for bar in bars], "truth": [], "readings": [], "climate": []}
    for bar, course in zip(bars, weights, strict=True):
        name, daily = bar.row["bar_id"], np.interp(np.arange(DAYS + 1), times, course)
        planed_on, left = (
            (int(rng.uniform(5, 60)), 1 - rng.uniform(0.006, 0.03)) if rng.uniform() < 0.05 else (999, 1)
        )

        def weight_at(day, course=course, planed_on=planed_on, left=left):
            return np.interp(day, times, course) * (left if day >= planed_on else 1)

        dated = {f"weight_{day}": round(weight_at(day), 2) for day in (42, 56, 90, 180)}
        truth = {
            "bar_id": name,
            "ready_day": round(settled_day(daily), 1),
            "weight_at_cut_g": round(daily[0], 2),
        }
        tables["truth"].append({**truth, **dated, "handling_step_day": planed_on if planed_on < 999 else ""})
        for day, weight_g, kind in bar.readings(weight_at):
            tables["readings"].append(
                {"bar_id": name, "day": day, "weight_g": weight_g, "gross_error_kind": kind}
            )
    for bar in bars[::BARS]:
        if bar.workshop.has_sensor:
            said = zip(
                bar.workshop.rh[bar.seen] + bar.workshop.sensor_off,
                bar.workshop.temp_c[bar.seen],
                strict=True,
            )
            for day, (rh, temp) in enumerate(said):
                row = {"loaf": bar.row["loaf"], "day": day, "rh_percent": round(rh), "temp_c": round(temp, 1)}
                tables["climate"].append(row)
    folder.mkdir(parents=True, exist_ok=True)
    for table, rows in tables.items():
        with (folder / f"{table}.csv").open("w", newline="") as file:
            writer = csv.DictWriter(file, rows[0])
            writer.writeheader()
            writer.writerows(rows)


def main(folder, workshops=30, seed=1, width=1.0):
    rng = np.random.default_rng(int(seed))
    makers = [Workshop(f"W{number:02d}", rng, float(width)) for number in range(int(workshops))]
    written(Path(folder), [bar for maker in makers for n in range(LOAVES) for bar in maker.loaf(n)], rng)


if __name__ == "__main__":
    main(*sys.argv[1:])

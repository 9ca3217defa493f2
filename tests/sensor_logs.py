"""Invented sensor logs with a known truth, built sample by sample.

The shipped example is ``csv_text(example())``; a test compares the two.
"""

from dataclasses import dataclass

import numpy as np

from gaiter.core.landmark import Landmark
from gaiter.core.sensor.log import SensorLog


@dataclass(frozen=True)
class Truth:
    """A leg that lies, stands, moves its foot, and stands again for a moment.

    Pressures are mmHg, times s, frequency 1/s.
    """

    rest: float = 40.0
    standing: float = 54.0
    swing: float = 24.0
    drift_per_h: float = 0.0
    noise_sd: float = 0.5
    seed: int = 7
    interval: float = 0.2
    rest_until: float = 330.0
    standing_until: float = 390.0
    moving_until: float = 450.0
    until: float = 465.0
    cycles_per_s: float = 0.5

    def times(self) -> np.ndarray:
        return np.arange(round(self.until / self.interval) + 1) * self.interval

    def pressures(self) -> np.ndarray:
        time = self.times()
        pressure = self.rest + self.drift_per_h * time / 3600
        # Getting up takes a second.
        up = np.clip(time - self.rest_until, 0, 1)
        pressure = (1 - up) * pressure + up * self.standing
        moving = (time > self.standing_until) & (time <= self.moving_until)
        phase = 2 * np.pi * self.cycles_per_s * (time[moving] - self.standing_until)
        pressure[moving] += self.swing / 2 * np.sin(phase)
        return pressure + np.random.default_rng(self.seed).normal(0, self.noise_sd, time.size)

    def log(self, site: Landmark = Landmark.GAITER) -> SensorLog:
        return SensorLog(self.times(), {site: self.pressures()})


def example() -> SensorLog:
    """Gaiter and calf of one leg; the calf's sensor drops out for 3 s while the foot moves."""
    gaiter = Truth(rest=41.0, standing=55.0, swing=26.0, drift_per_h=-6.0)
    calf = Truth(rest=31.0, standing=39.0, swing=16.0, drift_per_h=-4.0, seed=8)
    pressure = calf.pressures()
    pressure[(gaiter.times() > 420) & (gaiter.times() < 423)] = np.nan
    return SensorLog(gaiter.times(), {Landmark.GAITER: gaiter.pressures(), Landmark.CALF: pressure})


EXAMPLE_HEAD = (
    "# invented",
    "# 330 s lying, a second to get up, 59 s standing, 60 s of foot movements at 0.5 per second,",
    "# 15 s standing; the calf's sensor drops out for 3 s;",
    "# levels, sine swing, drift and normal noise (SD 0.5 mmHg) as in tests/sensor_logs.py",
    "time (s),gaiter (mmHg),calf (mmHg)",
)


def csv_text(log: SensorLog) -> str:
    """The example as a file."""
    rows = [
        f"{time:.1f}," + ",".join("" if np.isnan(p) else f"{p:.1f}" for p in values)
        for time, *values in zip(log.time_s, *log.pressure_mmhg.values(), strict=True)
    ]
    return "\n".join((*EXAMPLE_HEAD, *rows)) + "\n"

"""What air, sun and light count on a day: each the less, the further it is ahead of the one that is most behind.

A batch is hardened when the last of the three is there, so what is ahead can wait: somebody who can carry only
early and late has to choose between a whole day in deep shade, which earns air, and the light of the lamp. All
numbers here are ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hardenoff.ramp.finish import CLEAR_DAY_OVER_CAP, NEAR_END, light_done
from hardenoff.ramp.state import UP_DAYS, State
from hardenoff.records import Batch

LIGHT_WORTH = 1.5
"""Score of a day with as much light as the leaves can take, where light is most behind; air and sun count 1."""
AHEAD_DAYS, AHEAD_WORTH = 1.5, 0.3
"""From so many days ahead on air and sun count this share, and light nothing; in between, in proportion."""
DONE_WORTH = 0.2
"""Score of an axis that is at the rule's end already, as a share of what it counts before."""
LIGHT_GAIN = 0.3
"""Share of the light between what the leaves are used to and the light cap that a usual day brings."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What a whole day on each axis adds to the score."""

    air: float = 1.0
    sun: float = 1.0
    light: float = 0.0


@dataclass(frozen=True, slots=True)
class DaysLeft:
    """Days until each axis is done, if every one of them earns its usual step; 0: done."""

    air: float
    sun: float
    light: float

    @classmethod
    def of(cls, batch: Batch, state: State, clear_day_mol: float, indoor_mol: float) -> DaysLeft:
        """From the state on a morning; `clear_day_mol`: light of a clear day at the planting spot [mol/m2/d]."""
        end = batch.rule.length - NEAR_END
        done = light_done(batch, state, clear_day_mol, indoor_mol)
        return cls(
            air=max(0.0, end - state.air),
            sun=max(0.0, end - state.sun),
            light=0.0 if done else light_days(batch, state.light_mol, clear_day_mol),
        )


def light_days(batch: Batch, light_mol: float, clear_day_mol: float) -> float:
    """Days in which the leaves get used to enough light for a clear day [mol/m2/d] to be no leap."""
    growth, step = batch.rule.light_growth, batch.rule.light_step_mol
    share = LIGHT_GAIN * (1.0 - math.exp(-1.0 / UP_DAYS))
    needed = (clear_day_mol / CLEAR_DAY_OVER_CAP - step) / (1.0 + growth)
    if growth * share < 1e-9:
        return max(0.0, (needed - light_mol) / (share * step))
    return max(0.0, math.log((growth * needed + step) / (growth * light_mol + step)) / math.log1p(share * growth))


def weights(left: DaysLeft) -> Weights:
    """What each axis counts with so many days left."""
    longest = max(left.air, left.sun, left.light)

    def ahead(days: float) -> float:
        return min(1.0, (longest - days) / AHEAD_DAYS)

    def worth(days: float) -> float:
        return DONE_WORTH if days <= 0.0 else 1.0 - (1.0 - AHEAD_WORTH) * ahead(days)

    return Weights(
        air=worth(left.air),
        sun=worth(left.sun),
        light=0.0 if left.light <= 0.0 else LIGHT_WORTH * (1.0 - ahead(left.light)),
    )

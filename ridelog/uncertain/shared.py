"""How much of a number's uncertainty it shares with numbers of other rides: the signed effect of each shared error.

A number's trials are regressed on those of the errors that rides share, such as the zero of one logger. The effect of
an error on the number is its sensitivity times the standard uncertainty (JCGM 100, 5.1.2), with its sign: an error that
raises one number and lowers another does not cancel in their difference.

Where a ride has told something of an error by itself, its trials lie closer than what was known before, and may go
together with others. What rides still share is what was known before: with the covariance S of the chosen trials, the
standard uncertainty u before and the sensitivities g, the effect is (g S)/u. Of a variance v that was u² the part v/u²
is so shared; the rest is how the ride by itself told it wrongly, which is its own. With nothing told, S is u², and the
effect is g u. This holds for normal distributions (the error after is (S/u²) times the error before, and what the ride
added), and is an approximation for others.
"""

from collections.abc import Collection, Mapping

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.trials import combined

OWN = "own"  # of the effects on a number, what is the ride's own


@dataclass(frozen=True, eq=False)
class SharedError:
    """An error that rides share: its trials on this ride, shape (m,), and its standard uncertainty before the ride."""

    trials: Floats
    u: float

    @classmethod
    def drawn(cls, trials: Floats) -> "SharedError":
        """One of which the ride tells nothing."""
        return cls(trials, float(trials.std()))

    def only(self, trials: NDArray[np.integer]) -> "SharedError":
        """By some of the trials."""
        return SharedError(self.trials.take(trials), self.u)


def shared_effects(
    number: Floats, errors: Mapping[str, SharedError], *, chosen: Collection[str] = ()
) -> dict[str, float]:
    """The signed effect of one standard uncertainty of each shared error on a number, and what is left.

    Parameters
    ----------
    number : its trials, shape (m,)
    errors : what rides share, trial by trial, by name
    chosen : those whose trials the ride chose, so that they may go together; others were drawn independently, and go
        together by chance alone, which does not count

    Returns
    -------
    By name [unit of the number], but for errors that do not vary; `OWN` is the standard uncertainty of what is left.

    References
    ----------
    JCGM 100:2008, 5.1.2 and 5.1.3. JCGM 101:2008, 7.
    """
    variance = float(number.var())
    moving = {name: error for name, error in errors.items() if error.u > 0 and float(np.ptp(error.trials)) > 0}
    if not moving or not variance > 0:
        return {OWN: float(np.sqrt(variance))}
    u = np.array([error.u for error in moving.values()])
    inputs = [(error.trials - error.trials.mean()) / error.u for error in moving.values()]
    moments = np.stack([*inputs, number - number.mean()])
    moments = combined(moments[:-1], moments.T) / len(number)
    covariance, with_number = moments[:, :-1], moments[:, -1]
    sensitivity = np.linalg.lstsq(covariance, with_number, rcond=None)[0]
    free = np.array([name not in chosen for name in moving])
    together = np.where((free[:, None] | free[None, :]) & ~np.eye(len(u), dtype=bool), 0.0, covariance)
    effects = together @ sensitivity
    own = float(np.sqrt(max(variance - float((effects**2).sum()), 0.0)))
    return {**dict(zip(moving, effects.tolist(), strict=True)), OWN: own}

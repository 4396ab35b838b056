"""What entering the mass would give: the ride measured once more as if the value that was assumed had been weighed."""

from ridelog.answer.ride import Answer
from ridelog.errors import BikeFileError
from ridelog.settings.bike_form import with_entries
from ridelog.uncertain.quantity import Quantity
from ridelog.web.tray.tray import Text

WEIGHED_LIMIT_KG = 3.0  # bathroom scales, clothes and a bag that is not the same each day


def mass_is_assumed(answer: Answer) -> bool:
    """Whether nobody entered the mass."""
    return answer.bike.total_mass_kg.source == "assumed"


def with_mass(answer: Answer | None, bike: Text | None) -> Text | None:
    """A bike file that states the mass that was assumed; ``None`` where entering it would change nothing."""
    if answer is None or not mass_is_assumed(answer) or answer.braking.captured_pct is None:
        return None
    value = answer.bike.total_mass_kg.value
    if not isinstance(value, float):
        return None
    entries = {"bike.total_mass_kg": value, "bike.total_mass_limit_kg": WEIGHED_LIMIT_KG}
    try:
        return Text("bike.toml", with_entries("" if bike is None else bike.text, entries))
    except BikeFileError:
        return None


def captured_if_entered(answer: Answer | None) -> Quantity | None:
    """What was captured, in an answer for such a bike file."""
    return None if answer is None else answer.braking.captured_pct

"""What the words and the unit of a header say, or why they say nothing that is used."""

from collections.abc import Sequence

from ridelog.tell.numbers import as_logged, plain

EMPTY = "the header is empty"
NOTHING_NAMED = "the words name nothing that is used here"
NOT_ITS_SAMPLES = "says something about the quantity, not its samples"
STRANGE_UNIT = "nothing that is used here is measured in its unit"
CELL_WITHOUT_NUMBER = "cell voltages are told apart by a number"

# Why a column is left out of which the words are understood.
THROTTLE_NO_SHARE = "the throttle is read as a share, not in this unit"
POWER_OF_MOTOR = "power of the motor is not power at the battery terminals"
POWER_OF_AIR = "power against the air is not power at the battery terminals"
VOLTAGE_OF_MOTOR = "voltage of the motor is not voltage at the battery terminals"
RPM_OF_WHAT = "revolutions per minute of what? only wheel and pedals are used"
REVOLUTIONS_OF_WHAT = "revolutions of what? only those of the wheel are used"
CAPACITY = "a capacity may be rated, remaining or counted; it is not used"
SPEED_OF_MOTOR = "speed of the motor is not speed over ground"
SPEED_OF_AIR = "speed through the air is not speed over ground"
SPEED_AVERAGED = "an average speed is that of a stretch, not of the moment"
TEMPERATURE_OF_WHAT = "temperature of what? battery, motor, controller and air are told apart"

# Of a track's fields alone.
TIME_IS_THE_FORMATS = "the time of a sample is the format's own"
BARE_TEMPERATURE = "a temperature that does not say of what is the air's in a track"


def words_say(quantity: str, *, into: bool | None = None) -> str:
    """The quantity that the words name, and whether positive is into the battery; ``None`` where they do not say."""
    way = "" if into is None else f", positive {'into' if into else 'out of'} the battery"
    return f"the words say {quantity}{way}"


def not_measured_in(quantity: str, unit: str) -> str:
    """A unit that does not fit the words."""
    return f"the words say {quantity}, which is not measured in {unit}"


def no_such_unit(stated: str) -> str:
    """A unit of nothing that is used."""
    return f"“{stated}” is not a unit in which anything used here is measured"


def strange_words(words: Sequence[str]) -> str:
    """Words that no table knows, in a field that must be understood whole."""
    return f"the name also says “{' '.join(words)}”, which is not understood"


def several_at_once(nouns: Sequence[str]) -> str:
    """A name of more than one quantity."""
    return f"the name says {' and '.join(nouns)} at once"


def units_disagree(of_name: str, beside_it: str) -> str:
    """A field with two units."""
    return f"its name says {of_name}, and the unit beside it is {beside_it}"


def map_says(what: str) -> str:
    """The quantity or the unit that the column map states."""
    return f"the map says {what}"


def map_says_sign(sign: int) -> str:
    """The sign that the column map states."""
    return f"the map says sign {'+' if sign > 0 else ''}{plain(sign)}"


def map_says_factor(factor: float) -> str:
    """What the column map states that a written 1 stands for."""
    return f"the map says factor {as_logged(factor)}"


MAP_LEAVES_OUT = "the map leaves it out"

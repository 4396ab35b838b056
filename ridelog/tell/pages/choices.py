"""The words of what a visitor may choose about units, numbers and times."""

from ridelog.tell.pages.clocks import CLOCKS

TITLE = "Units and times"
SHOW = "Show it so"
UNITS, NUMBERS, TIMES = "Units", "Numbers", "Times"
UNIT_CHOICES = (("metric", "km, m"), ("imperial", "mi, ft"))
NUMBER_CHOICES = (("point", "1.5"), ("comma", "1,5"))
TIME_CHOICES = CLOCKS
KEPT = (
    "Kept in this browser, for all pages. Where the files do not tell the clock that you chose, times count from the "
    "start. The place's local time is that of the zone in the column map, or of the zone that the log was set to."
)

BENEATH = "Beneath the power"
POINT = "Point"
POINT_HINT = (
    "Arrow keys move the point. Enter marks the braking event or hill at it in every chart. Escape takes the marks "
    "away."
)
EVENT = "Braking event"

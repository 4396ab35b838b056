"""Metres per degree on the WGS 84 ellipsoid at the equator."""

# pi/180 * 6378137 * (1 - e2) northwards (closed form: radius of curvature of the meridian), pi/180 * 6378137 eastwards
# (the equator is a circle).
NORTH_M, EAST_M = 110574.276, 111319.491

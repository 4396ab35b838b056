"""The sample rides: roads in and around the invented town of Quillmoor, the bikes there, and who rides them.

Town, island, people and bikes are fictitious; the place is open sea.
"""

from dataclasses import replace
from datetime import UTC, datetime

from sample_rides.machine import Machine, Motor, Pack, Rider
from sample_rides.route import Bend, Route, Stop, Stretch
from sample_rides.simulation import Scenario


def commute() -> Scenario:
    """From the harbour of Quillmoor up to the school and back, over three hills."""
    out = Route(
        stretches=(
            Stretch(260, 0.0, 30),  # Herring Quay
            Stretch(180, 0.2, -45),  # Ropewalk
            Stretch(240, 5.5, 15),  # Chandler's Brae
            Stretch(420, 0.3, 50),  # the Terrace
            Stretch(200, -4.8, -30),  # Fennel Lane
            Stretch(520, 0.2, -55),  # Mill flats
            Stretch(260, 4.5, 25),  # Long Hill
            Stretch(330, 6.5, 60),
            Stretch(120, 4.0, -20),
            Stretch(450, -0.3, 35),  # the Ridge
            Stretch(210, -5.5, -70),  # down to the burn
            Stretch(380, 0.1, 20),  # Burnside
            Stretch(380, 5.2, 45),  # Schoolhouse Hill
            Stretch(260, 0.2, -15),
        ),
        stops=(
            Stop(425, 14, 1.2),
            Stop(1090, 6, 1.0),
            Stop(1760, 18, 1.4),
            Stop(2950, 9, 1.1),
            Stop(3560, 5, 0.9),
            Stop(4210, 215, 1.0),  # at school
        ),
        bends=(Bend(1290, 5.0), Bend(3190, 4.5)),
        start_height_m=3.0,
        start_latitude_deg=46.5021,
        start_longitude_deg=-32.0134,
    )
    road = out.there_and_back(
        stops_back=(
            Stop(640, 8, 1.3),
            Stop(1235, 12, 1.0),
            Stop(2455, 16, 1.5),
            Stop(3130, 5, 1.1),
            Stop(3795, 20, 1.2),
        ),
        bends_back=(Bend(1010, 5.0), Bend(2900, 4.5), Bend(3960, 4.8)),
    )
    return Scenario(
        road,
        machine=Machine(mass_kg=108.0, rotating_kg=2.2, cda_m2=0.55, crr=0.0075, motor_drag_n=2.0),
        motor=Motor(regen_nm=12.0, regen_limit_a=4.0, resistance_ohm=0.28),
        pack=Pack(cells_in_series=13, capacity_ah=14.0, resistance_ohm=0.13, start_soc=0.83, start_temperature_c=17.0),
        rider=Rider(power_w=65.0, cruise_mps=6.6, descent_mps=9.2),
        start=datetime(2026, 5, 4, 9, 12, tzinfo=UTC),
        seed=4,
    )


def errand() -> Scenario:
    """Round the level harbour town with a loaded cargo bike: a dozen stops and a while at the chandler's."""
    turns = (35, -60, 80, 25, -40, 75, 30, -55, 70, 45, -30, 85)
    lengths = (420, 310, 380, 450, 290, 510, 360, 400, 330, 470, 350, 390)
    grades = (0.1, -0.2, 0.3, 0.0, -0.3, 0.2, 0.1, -0.1, 0.3, -0.3, -0.2, 0.1)
    stretches = tuple(Stretch(length, grade, turn) for length, grade, turn in zip(lengths, grades, turns, strict=True))
    stops = (
        Stop(240, 12, 1.1),
        Stop(610, 20, 1.3),
        Stop(980, 7, 0.9),
        Stop(1320, 25, 1.4),
        Stop(1690, 5, 1.2),
        Stop(2080, 280, 1.0),  # at the chandler's
        Stop(2390, 15, 1.5),
        Stop(2720, 9, 1.1),
        Stop(3100, 22, 1.0),
        Stop(3450, 6, 1.6),
        Stop(3830, 17, 1.2),
        Stop(4210, 11, 1.1),
    )
    bends = (Bend(800, 4.0), Bend(1850, 4.2), Bend(2930, 3.8), Bend(4020, 4.0))
    route = Route(
        stretches,
        stops,
        bends,
        start_height_m=6.0,
        start_latitude_deg=46.4987,
        start_longitude_deg=-32.0102,
        start_heading_deg=280.0,
    )
    return Scenario(
        route,
        machine=Machine(mass_kg=168.0, rotating_kg=3.0, cda_m2=0.72, crr=0.0085, motor_drag_n=2.2),
        motor=Motor(regen_nm=30.0, regen_limit_a=9.0, resistance_ohm=0.18, drive_nm=48.0, drive_limit_a=22.0),
        pack=Pack(cells_in_series=13, capacity_ah=19.0, resistance_ohm=0.10, start_soc=0.71, standby_a=0.08),
        rider=Rider(power_w=70.0, cruise_mps=6.0, descent_mps=7.5, start_mps2=0.7, coast_s=2.0),
        start=datetime(2026, 5, 6, 12, 30, tzinfo=UTC),
        seed=9,
    )


def winter() -> Scenario:
    """From the hut on Beacon Down, where the pack was charged overnight, down to the town in frost."""
    route = Route(
        stretches=(
            Stretch(120, 0.0, 10),
            Stretch(420, -4.8, -40),  # the moor road
            Stretch(560, -8.5, 85),  # the hairpins
            Stretch(280, -6.0, -50),
            Stretch(1400, -0.1, 30),  # Mill flats
            Stretch(300, 4.5, -60),  # Chandler's Brae from behind
            Stretch(420, 0.2, 40),
            Stretch(260, -5.0, 20),
            Stretch(1500, 0.1, -45),
        ),
        stops=(Stop(1820, 15, 1.0), Stop(3360, 10, 1.2), Stop(4100, 12, 1.1), Stop(4820, 9, 1.3)),
        bends=(Bend(760, 5.2, decel_mps2=0.7), Bend(960, 5.2, decel_mps2=0.7)),
        start_height_m=104.0,
        start_latitude_deg=46.5142,
        start_longitude_deg=-31.9921,
        start_heading_deg=205.0,
    )
    return Scenario(
        route,
        machine=Machine(mass_kg=112.0, rotating_kg=2.2, cda_m2=0.60, crr=0.0095, air_density=1.31, motor_drag_n=2.4),
        motor=Motor(regen_nm=24.0, regen_limit_a=8.0, resistance_ohm=0.24),
        pack=Pack(
            cells_in_series=13,
            capacity_ah=14.0,
            resistance_ohm=0.21,
            start_soc=0.985,
            standby_a=0.07,
            start_temperature_c=-4.0,
            trip_cell_v=4.27,
        ),
        rider=Rider(power_w=80.0, cruise_mps=5.9, descent_mps=7.0, coast_s=2.0),
        start=datetime(2026, 1, 14, 9, 40, tzinfo=UTC),
        seed=21,
    )


def no_return() -> Scenario:
    """From the harbour over Chandler's Brae and Long Hill to the allotments, on another bike."""
    way = commute().route
    part = replace(way, stretches=(*way.stretches[:10], Stretch(400, -5.0, -40), Stretch(420, 0.2, 30)))
    route = replace(
        part,
        stops=(Stop(425, 10, 1.1), Stop(1090, 8, 1.2), Stop(1760, 14, 1.3), Stop(2960, 7, 1.0), Stop(3480, 9, 1.2)),
        bends=(Bend(1290, 5.0), Bend(3200, 5.0)),
    )
    return Scenario(
        route,
        machine=Machine(mass_kg=101.0, rotating_kg=2.0, cda_m2=0.52, crr=0.0075, motor_drag_n=1.8),
        motor=Motor(regen_nm=18.0, regen_limit_a=6.0),
        pack=Pack(cells_in_series=10, capacity_ah=15.0, resistance_ohm=0.11, start_soc=0.76),
        rider=Rider(power_w=95.0, cruise_mps=6.7, descent_mps=8.4),
        start=datetime(2026, 5, 9, 15, 5, tzinfo=UTC),
        seed=33,
    )
